package opponents

import (
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// Size is the difference of the opponents from the league's that is told, by
// outcome, where its interval leaves 0 out.
var Size = []float64{.010, .010}

// Faced says who was facing the pitchers of a cell, or of a stretch of a quality.
type Faced struct {
	Cell
	Metric   int
	Events   int64
	Pitchers int64   // with an event
	Batters  int64   // with an event
	Rate     float64 // of the cell
	League   float64 // rate of the matchup over all pitch types
	// Opponents is the mean rate of the batters faced, each without the pitcher
	// concerned, on the scale of League; Difference is Opponents − League, with its
	// 95 % limits; Adjusted is Rate − Difference. NaN where too few pitchers tell.
	Opponents, Difference, Lo, Hi, Adjusted float64
	// Shrunk is Difference with every batter's rate shrunk toward the league's
	// batters: nearer 0 by what is not known of single batters.
	Shrunk float64
}

// Clear tells whether the batters were clearly better or worse than the league's,
// by an amount worth telling.
func (f *Faced) Clear() bool {
	return math.Abs(f.Difference) >= Size[f.Metric] && (f.Lo > 0 || f.Hi < 0)
}

// The least sample for which a difference is told.
const (
	minPitchers  = 5
	minEffective = 3
)

// Measure says of every cell and outcome who was facing, in the order of cells. The
// pairs are sorted as Counter.Pairs returns them, pitchers and batters numbered
// below the sizes given.
func Measure(pairs []Pair, s *outcome.Scoring, pitchers, known int) []Faced {
	var out []Faced
	for _, m := range pitch.Matchups {
		for metric := range outcome.Metrics {
			g := newMatchup(pairs, m, metric, s, pitchers, known)
			if g == nil {
				continue
			}
			for _, c := range g.cells {
				if c.Type == pitch.UnknownType {
					continue // of no cell, but of its batter
				}
				d := newSums(pitchers, known)
				for i := range g.pairs {
					if p := &g.pairs[i]; p.Cell == c {
						n, y, _ := p.values(metric, s)
						g.add(d, p.Pitcher, p.Batter, n, y)
					}
				}
				if f := g.faced(d, c); f.Events > 0 {
					out = append(out, f)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Faced) int { return a.Cell.Compare(b.Cell) })
	return out
}

// matchup is all that a matchup's cells are compared with.
type matchup struct {
	*batters
	pairs  []Pair
	cells  []Cell
	league *sums
}

func newMatchup(pairs []Pair, m pitch.Matchup, metric int, s *outcome.Scoring, pitchers, known int) *matchup {
	g := &matchup{}
	for i := range pairs {
		p := &pairs[i]
		if p.Hand != m.Hand || p.Side != m.Side {
			continue
		}
		g.pairs = append(g.pairs, *p)
		if n := len(g.cells); n == 0 || g.cells[n-1] != p.Cell {
			g.cells = append(g.cells, p.Cell)
		}
	}
	if g.batters = newBatters(g.pairs, metric, s, known); g.batters == nil {
		return nil
	}
	g.league = newSums(pitchers, known)
	for i := range g.pairs {
		p := &g.pairs[i]
		n, y, _ := p.values(metric, s)
		g.add(g.league, p.Pitcher, p.Batter, n, y)
	}
	return g
}

// sums are some events of a matchup by pitcher: all of them, and of those whose
// batter faced other pitchers too, their number and the batters' rates, event by
// event; and by batter, what one unit of his sum S adds.
type sums struct {
	n, told, rate []float64
	weight, seen  []float64
	events, y     float64
	shrunk        float64
}

func newSums(pitchers, known int) *sums {
	of := func(k int) []float64 { return make([]float64, k) }
	return &sums{n: of(pitchers), told: of(pitchers), rate: of(pitchers), weight: of(known), seen: of(known)}
}

// add counts n events of a pair whose values sum to y.
func (g *matchup) add(d *sums, pitcher, batter int32, n, y float64) {
	if n == 0 {
		return
	}
	d.events += n
	d.y += y
	d.n[pitcher] += n
	d.seen[batter] += n
	elsewhere, rate, shrunk := g.without(batter, pitcher)
	if elsewhere == 0 {
		return
	}
	d.told[pitcher] += n
	d.rate[pitcher] += float64(n * rate)
	d.weight[batter] += n / elsewhere
	d.shrunk += float64(n * shrunk)
}

// faced compares events with the matchup's league,
//
//	Δ = Σ rate/Σ events − the same over the league.
//
// Its variance is that between pitchers, one left out at a time, plus what is not
// known of the batters: with a_b what one unit of S_b adds to Δ, Σ a_b²·n_b·σ².
// Rates are not shrunk here: the errors of many batters average out, and a mean of
// shrunk rates would lie too near the league's.
func (g *matchup) faced(d *sums, c Cell) Faced {
	f := Faced{Cell: c, Metric: g.metric, Events: int64(d.events), Rate: d.y / d.events, League: g.level,
		Opponents: nan, Difference: nan, Lo: nan, Hi: nan, Adjusted: nan, Shrunk: nan}
	for _, n := range d.n {
		if n > 0 {
			f.Pitchers++
		}
	}
	for _, n := range d.seen {
		if n > 0 {
			f.Batters++
		}
	}
	effective := stats.EffectiveNumber(d.told)
	if f.Pitchers < minPitchers || effective < minEffective {
		return f
	}
	delta, variance := stats.DifferenceOfRatios(d.rate, d.told, g.league.rate, g.league.told)
	own, all := total(d.told), total(g.league.told)
	for b, n := range g.n {
		if n > 0 {
			a := d.weight[b]/own - g.league.weight[b]/all
			variance += float64(float64(a*a) * float64(n*g.variance))
		}
	}
	if math.IsNaN(delta) || math.IsNaN(variance) || math.IsInf(variance, 1) {
		return f
	}
	half := float64(stats.TQuantile(.975, max(1, effective-1)) * math.Sqrt(variance))
	f.Difference, f.Lo, f.Hi = delta, delta-half, delta+half
	f.Opponents, f.Adjusted = f.League+delta, f.Rate-delta
	f.Shrunk = d.shrunk/own - g.league.shrunk/all
	return f
}

var nan = math.NaN()

func total(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}
