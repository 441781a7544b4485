package estimate

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync/atomic"

	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// The names of the lines that a curve is compared with. A median is that of
// the qualified pitchers' rates, a rate is the pooled one. A pitcher qualifies
// with 25 events in the line's own pool, be it the pitch type over all matchups,
// one hand, one matchup or a stratum: a rate needs that many events behind it
// wherever it is taken.
const (
	TypeMedian    = thresholds.HeadlineReference // headline: the pitch type over all matchups
	TypeRate      = "pitch_type_rate"
	HandMedian    = "hand_median" // the pitch type within the pitcher's hand
	HandRate      = "hand_rate"
	MatchupMedian = "matchup_median" // the cell itself
	MatchupRate   = "matchup_rate"
	LeagueMedian  = "league_median" // all pitch types
	LeagueRate    = "league_rate"
	StratumMedian = "stratum_median" // the pitch type within the stratum; strata only
	StratumRate   = "stratum_rate"
	Fixed         = "fixed" // given from outside
)

// lineKey names a line; a field left empty is not held fast.
type lineKey struct {
	name    string
	stratum string
	typ     pitch.Type
	hand    pitch.Hand
	side    pitch.Side
	metric  int
}

// scopes are the pools that lines are taken over, in the order of every table.
var scopes = []struct {
	median, rate string
	strata       bool                    // of the cells of strata, else of all pitches
	of           func(k CellKey) lineKey // the pool of a cell
}{
	{TypeMedian, TypeRate, false, func(k CellKey) lineKey { return lineKey{typ: k.Type} }},
	{HandMedian, HandRate, false, func(k CellKey) lineKey { return lineKey{typ: k.Type, hand: k.Hand} }},
	{MatchupMedian, MatchupRate, false, func(k CellKey) lineKey { return lineKey{typ: k.Type, hand: k.Hand, side: k.Side} }},
	{LeagueMedian, LeagueRate, false, func(CellKey) lineKey { return lineKey{} }},
	{StratumMedian, StratumRate, true, func(k CellKey) lineKey { return lineKey{typ: k.Type, stratum: k.Stratum} }},
}

// lineRank is the place of a line's name in every table.
func lineRank(name string) int {
	for i, s := range scopes {
		switch name {
		case s.median:
			return 2 * i
		case s.rate:
			return 2*i + 1
		}
	}
	return 2 * len(scopes)
}

// LinesOf lists the lines that a cell is compared with, headline ones first.
func (e *Estimate) LinesOf(k CellKey, metric int) []*Line {
	var out []*Line
	add := func(key lineKey, names ...string) {
		key.metric = metric
		for _, key.name = range names {
			if l := e.index[key]; l != nil {
				out = append(out, l)
			}
		}
	}
	for _, s := range scopes {
		add(s.of(k), s.median, s.rate)
	}
	add(lineKey{typ: k.Type}, Fixed)
	return out
}

// addLines computes the lines of every pool, one pool per task.
func (e *Estimate) addLines(ctx context.Context) error {
	type task struct {
		scope int
		key   lineKey // without a name
	}
	var tasks []task
	seen := map[task]bool{}
	for i := range e.cells {
		k := e.cells[i].key
		for scope, s := range scopes {
			if s.strata != (k.Stratum != tally.AllStrata) {
				continue
			}
			for metric := range outcome.Metrics {
				at := task{scope, s.of(k)}
				at.key.metric = metric
				if !seen[at] {
					seen[at] = true
					tasks = append(tasks, at)
				}
			}
		}
	}
	lines := make([][2]*Line, len(tasks))
	var done atomic.Int64
	err := parallel.Each(ctx, runtime.GOMAXPROCS(0), len(tasks), func(_, i int) error {
		k, s := tasks[i].key, &scopes[tasks[i].scope]
		p := e.pool(k.metric, func(c tally.Cell) bool {
			return c.Stratum == k.stratum && (s.median == LeagueMedian || c.Type == k.typ) &&
				(k.hand == pitch.UnknownHand || c.Hand == k.hand) &&
				(k.side == pitch.UnknownSide || c.Side == k.side)
		})
		at := Line{Type: k.typ, Hand: k.hand, Side: k.side, Stratum: k.stratum}
		lines[i] = e.lines(p, k.metric, s.median, s.rate, at)
		if n := int(done.Add(1)); e.options.Progress != nil {
			e.options.Progress(n, len(tasks))
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("estimate: %w", err)
	}
	for _, pair := range lines {
		e.addLine(pair[0])
		e.addLine(pair[1])
	}
	for _, f := range e.options.Fixed {
		typ, _ := pitch.NamedType(f.PitchType) // checked by Validate
		if !typ.Common() && !slices.ContainsFunc(e.cells, func(c cell) bool { return c.key.Type == typ }) {
			return fmt.Errorf("estimate: fixed line: %s is neither a common pitch type nor one that was thrown", typ)
		}
		e.addLine(&Line{Name: Fixed, Type: typ, Metric: outcome.MetricIndex(f.Outcome), Value: f.Value,
			Lo: nan, Hi: nan, RateMinusMedian: nan})
	}
	slices.SortFunc(e.lines_, func(a, b *Line) int {
		return cmp.Or(cmp.Compare(a.Stratum, b.Stratum), a.Type.Compare(b.Type),
			cmp.Compare(a.Metric, b.Metric), cmp.Compare(lineRank(a.Name), lineRank(b.Name)),
			cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Side, b.Side))
	})
	return nil
}

func (e *Estimate) addLine(l *Line) {
	e.lines_ = append(e.lines_, l)
	e.index[lineKey{l.Name, l.Stratum, l.Type, l.Hand, l.Side, l.Metric}] = l
}

// MinQualified is how many qualified pitchers a line needs behind it.
const MinQualified = 5

// rateGap is the difference of pooled rate and median above which a line warns.
const rateGap = .010

// Line is a value that curves are compared with, and its joint replicates.
type Line struct {
	Name      string
	Type      pitch.Type // UnknownType for the league's
	Hand      pitch.Hand // UnknownHand for both
	Side      pitch.Side // UnknownSide for both
	Stratum   string
	Metric    int
	Value     float64   // NaN where there is no line
	Rep       []float64 // by replicate; nil for a given line, which has no error
	Lo, Hi    float64   // 95 % limits, NaN where there are none
	Qualified int       // pitchers with enough events
	Pitchers  int       // pitchers with an event
	Events    int64
	// RateMinusMedian is the pooled rate less the median pitcher's, NaN where
	// there is no median.
	RateMinusMedian float64

	pool   *pool             // the events behind the line; nil for a given one
	second *stats.LineSecond // what batters do to it; nil where unknown or the line is given
	sorted []member          // the qualified by rate, for a median
}

// Stats returns the line as curves are compared with it.
func (l *Line) Stats() stats.Line { return stats.Line{Value: l.Value, Rep: l.Rep, Second: l.second} }

// Headline tells whether the line is one of those that people read first.
func (l *Line) Headline() bool { return l.Name == TypeMedian || l.Name == TypeRate }

// Usable tells whether curves can be compared with the line: it is given, or
// enough qualified pitchers stand behind it.
func (l *Line) Usable() bool {
	return !math.IsNaN(l.Value) && (l.Name == Fixed || l.Qualified >= MinQualified)
}

// Outside tells whether the line is taken over more than the cell itself, so
// that a cell can lie above or below it as a whole.
func (l *Line) Outside() bool { return l.Name != MatchupMedian && l.Name != MatchupRate }

// RateAboveMedian tells whether pooled rate and median differ so much that
// talent must go with workload.
func (l *Line) RateAboveMedian() bool { return math.Abs(l.RateMinusMedian) > rateGap }

// pool sums the events of the pitchers of each hand over some cells, whether
// or not a variable is known.
type pool struct {
	n [3][]int64 // by hand and index in the set
	y [3][]float64
	// second is what batters do to the pool's rate; nil where too few events have
	// a batter, or batters are not to count.
	second *stats.LineSecond
}

func (e *Estimate) pool(metric int, keep func(tally.Cell) bool) *pool {
	p := &pool{}
	var all int64
	batters := stats.NewSums(len(e.tally.Batters))
	for h := range e.pitchers {
		p.n[h] = make([]int64, e.pitchers[h].size)
		p.y[h] = make([]float64, e.pitchers[h].size)
	}
	for i := range e.tally.Cells {
		t := &e.tally.Cells[i]
		if !keep(t.Cell) {
			continue
		}
		h := t.Cell.Hand
		for j := range t.Totals {
			r := &t.Totals[j]
			n, y, _ := r.Values(metric, &e.scoring)
			k := e.pitchers[h].local[r.Cluster]
			p.n[h][k] += n
			p.y[h][k] += y
			all += n
		}
		e.addBatters(&batters, t.BatterTotals, metric)
	}
	if e.options.Batters && batters.Events() >= minBattersKnown*float64(all) {
		p.second = stats.NewLineSecond(batters.N, batters.Y, batters.YY)
	}
	return p
}

// member is one pitcher of a pool.
type member struct {
	hand pitch.Hand
	i    int32
	rate float64
}

// lines returns the median and the rate of a pool. The qualified are those
// with enough events in the pool; the set is the same in every replicate.
func (e *Estimate) lines(p *pool, metric int, median, rate string, at Line) [2]*Line {
	m := outcome.Metrics[metric]
	var qualified []member
	var n, n2, y float64
	at.Metric = metric
	for h := range p.n {
		for i, k := range p.n[h] {
			if k == 0 {
				continue
			}
			at.Pitchers++
			at.Events += k
			n += float64(k)
			n2 += float64(float64(k) * float64(k))
			y += p.y[h][i]
			if k >= int64(m.QualifyEvents) {
				qualified = append(qualified, member{pitch.Hand(h), int32(i), p.y[h][i] / float64(k)})
			}
		}
	}
	slices.SortStableFunc(qualified, func(a, b member) int { return cmp.Compare(a.rate, b.rate) })
	at.Qualified, at.pool, at.second = len(qualified), p, p.second
	at.Value, at.Lo, at.Hi, at.RateMinusMedian = math.NaN(), math.NaN(), math.NaN(), math.NaN()
	med, avg := at, at
	med.Name, avg.Name = median, rate
	if n > 0 {
		avg.Value = y / n
		avg.Rep = e.pooledRates(p, avg.Value)
		avg.interval(n*n/n2 - 1)
	}
	if len(qualified) >= MinQualified {
		med.Value, med.Rep = e.medians(qualified)
		med.sorted = qualified
		med.interval(float64(len(qualified) - 1))
		med.RateMinusMedian = avg.Value - med.Value
		avg.RateMinusMedian = med.RateMinusMedian
	}
	return [2]*Line{&med, &avg}
}

// interval sets the limits: t on the replicates' variance, times G/(G−1) as that of
// a resampled mean of G pitchers falls short by it, and what batters add.
func (l *Line) interval(df float64) {
	if l.Pitchers < 2 {
		return
	}
	g := float64(l.Pitchers)
	_, variance := stats.MeanVariance(l.Rep)
	half := float64(stats.TQuantile(.975, max(1, df)) * math.Sqrt(float64(variance*g/(g-1))+l.second.Own()))
	l.Lo, l.Hi = l.Value-half, l.Value+half
}

// medians returns the median of the sorted members and, per replicate, the
// median weighted by how often each was drawn. Where none was, the replicate
// takes the median itself.
func (e *Estimate) medians(sorted []member) (float64, []float64) {
	rates := make([]float64, len(sorted))
	for k, m := range sorted {
		rates[k] = m.rate
	}
	weight := slices.Repeat([]uint8{1}, len(sorted))
	value, _ := stats.WeightedMedian(rates, weight)
	reps := make([]float64, e.options.Replicates)
	for r := range reps {
		for k, m := range sorted {
			weight[k] = e.pitchers[m.hand].weights.Row(r)[m.i]
		}
		v, ok := stats.WeightedMedian(rates, weight)
		if !ok {
			v = value
		}
		reps[r] = v
	}
	return value, reps
}

// pooledRates returns ΣwY/Σwn per replicate; the pool's own rate where none of
// its pitchers was drawn.
func (e *Estimate) pooledRates(p *pool, value float64) []float64 {
	reps := make([]float64, e.options.Replicates)
	for r := range reps {
		var n, y float64
		for h := range p.n {
			c := &e.pitchers[h]
			if c.size == 0 {
				continue
			}
			for i, w := range c.weights.Row(r) {
				if w != 0 {
					n += float64(float64(w) * float64(p.n[h][i]))
					y += float64(float64(w) * p.y[h][i])
				}
			}
		}
		reps[r] = value
		if n > 0 {
			reps[r] = y / n
		}
	}
	return reps
}
