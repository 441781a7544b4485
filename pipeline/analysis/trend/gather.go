package trend

import (
	"cmp"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
)

// thrower is one pitcher's pitch type. The keys of a tally tell a pitcher's hands
// apart.
type thrower struct {
	pitcher string
	hand    pitch.Hand
	typ     pitch.Type
}

// number is the pitcher of a key without his hand, as the source names him.
func number(key string) string {
	return pitch.ParsePitcherKey(key).ID
}

func (a thrower) compare(b thrower) int {
	return cmp.Or(a.typ.Compare(b.typ), cmp.Compare(a.hand, b.hand), cmp.Compare(a.pitcher, b.pitcher))
}

// sums are of n values: Σx and Σx².
type sums struct{ n, x, xx float64 }

func (s *sums) add(n, x, xx float64) {
	s.n += n
	s.x += x
	s.xx += xx
}

func (s sums) mean() float64 { return s.x / s.n }

// squares is the sum of squares about the mean.
func (s sums) squares() float64 { return max(0, s.xx-float64(s.x*s.x)/s.n) }

// metrics is the number of outcomes that are followed, the first of outcome.Metrics.
const metrics = 2

// record is what one window holds of a thrower: his pitches, every quality over the
// swings at them, and every outcome by batter's side.
type record struct {
	pitches   int64
	qualities []sums // by variable
	outcomes  [pitch.RightSide + 1][metrics]sums
}

// sides are those of a batter.
var sides = []pitch.Side{pitch.LeftSide, pitch.RightSide}

// Window is one end of a trend.
type Window struct {
	Name    string // such as "lantern v1.0.0" or "2031"
	Tally   *tally.Tally
	Seasons []int16 // of the tally that count; nil for all
}

// cells are the window's cells over all pitches whose type is known.
func (w *Window) cells() []*tally.CellTable {
	var out []*tally.CellTable
	for i := range w.Tally.Cells {
		c := &w.Tally.Cells[i]
		known := c.Cell.Type != pitch.UnknownType && c.Cell.Type != pitch.OtherType
		if known && c.Cell.Stratum == tally.AllStrata && (w.Seasons == nil || slices.Contains(w.Seasons, c.Cell.Season)) {
			out = append(out, c)
		}
	}
	return out
}

// variable is one that both windows count alike: its index in either.
type variable struct {
	tally.Variable
	at       [2]int
	title    string
	decimals int
	smallest float64 // smallest change of interest
}

// smallest are the smallest changes of interest that are not a bin's usual width:
// those beyond which an instrument is in doubt too.
var smallest = map[string]float64{"vertical_approach_angle": .25, "neutral_approach_angle": .25, "horizontal_approach_angle": .25}

// shared lists the variables that both windows count by one definition.
func shared(from, to *Window) (out []variable, missing []string) {
	for i, v := range from.Tally.Variables {
		k := to.Tally.VariableIndex(v.Name)
		if k < 0 || to.Tally.Variables[k].Definition != v.Definition || to.Tally.Variables[k].PerUnit != v.PerUnit {
			missing = append(missing, v.Name)
			continue
		}
		s := answer.Variable(v.Name)
		x := variable{Variable: v, at: [2]int{i, k}, title: s.Title, decimals: s.Decimals,
			smallest: cmp.Or(smallest[v.Name], s.Width, v.Width())}
		out = append(out, x)
	}
	return out, missing
}

// gather sums a window by thrower; end is 0 for the earlier window, 1 for the later.
func gather(w *Window, end int, vars []variable, scoring *outcome.Scoring) map[thrower]*record {
	out := map[thrower]*record{}
	of := func(c *tally.CellTable, cluster int32) *record {
		k := thrower{w.Tally.Pitchers[cluster], c.Cell.Hand, c.Cell.Type}
		r := out[k]
		if r == nil {
			r = &record{qualities: make([]sums, len(vars))}
			out[k] = r
		}
		return r
	}
	for _, c := range w.cells() {
		for i := range c.Totals {
			row := &c.Totals[i]
			r := of(c, row.Cluster)
			r.pitches += int64(row.Pitches)
			for m := range metrics {
				if n, y, yy := row.Values(m, scoring); n > 0 && c.Cell.Side <= pitch.RightSide {
					r.outcomes[c.Cell.Side][m].add(float64(n), y, yy)
				}
			}
		}
		for v := range vars {
			at := vars[v].at[end]
			counted := &w.Tally.Variables[at]
			curve := &c.Curves[at]
			for b := curve.Known(); b < len(curve.Bins); b++ {
				low := counted.Lower(curve.Bins[b])
				for _, row := range curve.Bin(b) {
					if row.Swings == 0 {
						continue
					}
					n, d, dd := float64(row.Swings), float64(row.SwingD)/float64(counted.PerUnit), float64(row.SwingD2)/float64(counted.PerUnit)/float64(counted.PerUnit)
					of(c, row.Cluster).qualities[v].add(n, float64(n*low)+d, float64(n*low*low)+float64(2*low*d)+dd)
				}
			}
		}
	}
	return out
}

// pair is a thrower in both windows, with what is told of each of his qualities and
// outcomes.
type pair struct {
	thrower
	ends      [2]*record
	qualities []track // by variable
	outcomes  [pitch.RightSide + 1][metrics]track
	moved     bool // in some quality
}

// both lists the throwers of both windows in their order, and how many pitchers
// they are.
func both(ends [2]map[thrower]*record) (out []pair, pitchers int) {
	seen := map[string]bool{}
	for k, r := range ends[0] {
		if s := ends[1][k]; s != nil {
			out = append(out, pair{thrower: k, ends: [2]*record{r, s}, qualities: make([]track, len(r.qualities))})
			seen[k.pitcher] = true
		}
	}
	slices.SortFunc(out, func(a, b pair) int { return a.compare(b.thrower) })
	return out, len(seen)
}

// moderated is how many swings of the league a thrower's own spread is drawn toward.
const moderated = 20

// meanVariance is the sampling variance of the mean of a quality: the thrower's own
// spread, drawn toward the league's (Smyth 2004, SAGMB 3:3, with a fixed weight), and
// at least that of rounding to whole quanta.
func meanVariance(s sums, league, perUnit float64) float64 {
	spread := (s.squares() + float64(moderated*league)) / (s.n - 1 + moderated)
	return max(spread, 1/(perUnit*perUnit)) / s.n
}

// rateVariances are the sampling variances of both ends of an outcome. A whiff's is
// p(1−p) at the thrower's rate over both ends, drawn toward the league's by 50
// swings, so that luck at one end does not make it look sure of itself; that of
// wOBA is the league's.
func rateVariances(metric int, ends [2]sums, mean, league float64) [2]float64 {
	v := league
	if metric == outcome.Whiff {
		const drawn = 50
		p := (ends[0].x + ends[1].x + float64(drawn*mean)) / (ends[0].n + ends[1].n + drawn)
		v = p * (1 - p)
	}
	return [2]float64{v / ends[0].n, v / ends[1].n}
}
