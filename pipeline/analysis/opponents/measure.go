package opponents

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/analysis/answer"
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
	P                                       float64 // two-sided, of no difference; NaN where too few pitchers tell
	// Shrunk is Difference with every batter's rate shrunk toward the league's
	// batters: nearer 0 by what is not known of single batters.
	Shrunk float64
}

// Clear tells whether the batters were clearly better or worse than the league's,
// by an amount worth telling.
func (f *Faced) Clear() bool {
	return math.Abs(f.Difference) >= Size[f.Metric] && (f.Lo > 0 || f.Hi < 0)
}

// Measure says of every cell and outcome who was facing, in the order of cells. The
// pairs are sorted as Counter.Pairs returns them, pitchers and batters numbered
// below the sizes given.
func Measure(pairs []Pair, s *outcome.Scoring, pitchers, known int) []Faced {
	var out []Faced
	eachCell(pairs, s, pitchers, known, func(g *matchup, c Cell) {
		d := g.none()
		for i := range g.pairs {
			if p := &g.pairs[i]; p.Cell == c {
				n, y, _ := p.values(g.metric, s)
				g.add(d, p.Pitcher, p.Batter, n, y)
			}
		}
		if f := g.faced(d, c); f.Events > 0 {
			out = append(out, f)
		}
	})
	slices.SortStableFunc(out, func(a, b Faced) int { return a.Cell.Compare(b.Cell) })
	return out
}

// eachCell walks the cells of known pitch types by matchup and outcome.
func eachCell(pairs []Pair, s *outcome.Scoring, pitchers, known int, do func(g *matchup, c Cell)) {
	for _, m := range pitch.Matchups {
		for metric := range outcome.Metrics {
			g := newMatchup(pairs, m, metric, s, pitchers, known)
			if g == nil {
				continue
			}
			for _, c := range g.cells {
				if c.Type != pitch.UnknownType { // of no cell, but of its batter
					do(g, c)
				}
			}
		}
	}
}

// matchup is all that a matchup's cells are compared with.
type matchup struct {
	*batters
	pairs    []Pair
	cells    []Cell
	pitchers int
	league   means
}

func newMatchup(pairs []Pair, m pitch.Matchup, metric int, s *outcome.Scoring, pitchers, known int) *matchup {
	g := &matchup{pitchers: pitchers}
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
	all := g.none()
	for i := range g.duos {
		all.n[i] = g.duos[i].n
	}
	g.league = g.means(all)
	return g
}

// events are some events of a matchup: their number by duo, and the sum of their
// values.
type events struct {
	n []float64
	y float64
}

func (g *matchup) none() *events { return &events{n: make([]float64, len(g.duos))} }

// add counts n events of a pitcher and a batter whose values sum to y.
func (g *matchup) add(d *events, pitcher, batter int32, n, y float64) {
	if n > 0 {
		d.n[g.duo(pitcher, batter)] += n
		d.y += y
	}
}

// means are the batters' rates over some events, by pitcher: the number of events
// whose batter faced others too and the sum of his rates; and their mean shrunk.
type means struct {
	told, rate []float64
	all        float64 // Σ told
	shrunk     float64
}

func (g *matchup) means(d *events) means {
	m := means{told: make([]float64, g.pitchers), rate: make([]float64, g.pitchers)}
	for i, n := range d.n {
		if n == 0 {
			continue
		}
		o := &g.duos[i]
		elsewhere, rate, shrunk := g.without(o)
		if elsewhere == 0 {
			continue
		}
		m.told[o.pitcher] += n
		m.rate[o.pitcher] += float64(n * rate)
		m.all += n
		m.shrunk += float64(n * shrunk)
	}
	m.shrunk /= m.all
	return m
}

// unknown is what is not known of the batters, as a variance of the difference: with
// a_bp what one unit of S_b adds to it through the events of pitcher p,
//
//	max(0, Σ_b n_b·σ²·(Σ_p a_bp)² − Σ_bp n_b·σ²·a_bp²)
//
// The second sum is what the variance between pitchers holds already.
func (g *matchup) unknown(d *events, own means) float64 {
	weight := make([]float64, len(g.n))
	held := 0.0
	for i := range g.duos {
		o := &g.duos[i]
		elsewhere := g.n[o.batter] - o.n
		if elsewhere <= 0 {
			continue
		}
		a := (d.n[i]/own.all - o.n/g.league.all) / elsewhere
		weight[o.batter] += a
		held += float64(float64(a*a) * g.n[o.batter])
	}
	sum := 0.0
	for b, a := range weight {
		sum += float64(float64(a*a) * g.n[b])
	}
	return max(0, float64((sum-held)*g.variance))
}

// faced compares events with the matchup's league,
//
//	Δ = Σ rate/Σ events − the same over the league.
//
// Its variance is that between pitchers, one left out at a time, plus what is not
// known of the batters. Rates are not shrunk here: the errors of many batters average out, and a mean of
// shrunk rates would lie too near the league's.
func (g *matchup) faced(d *events, c Cell) Faced {
	f := Faced{Cell: c, Metric: g.metric, League: g.level,
		Opponents: answer.NaN, Difference: answer.NaN, Lo: answer.NaN, Hi: answer.NaN, Adjusted: answer.NaN, P: answer.NaN, Shrunk: answer.NaN}
	pitchers, faced := make([]bool, g.pitchers), make([]bool, len(g.n))
	for i, n := range d.n {
		if n > 0 {
			f.Events += int64(n)
			pitchers[g.duos[i].pitcher], faced[g.duos[i].batter] = true, true
		}
	}
	f.Pitchers, f.Batters = marked(pitchers), marked(faced)
	f.Rate = d.y / float64(f.Events)
	own := g.means(d)
	effective := stats.EffectiveNumber(own.told)
	if f.Pitchers < answer.MinPitchers || effective < answer.MinEffective {
		return f
	}
	delta, variance := stats.DifferenceOfRatios(own.rate, own.told, g.league.rate, g.league.told)
	variance += g.unknown(d, own)
	if math.IsNaN(delta) || math.IsNaN(variance) || math.IsInf(variance, 1) {
		return f
	}
	df, se := max(1, effective-1), math.Sqrt(variance)
	if se > 0 {
		f.P = 2 * distuv.StudentsT{Sigma: 1, Nu: df}.Survival(math.Abs(delta)/se)
	}
	e := answer.Student(delta, se, df)
	f.Difference, f.Lo, f.Hi = e.X, e.Lo, e.Hi
	f.Opponents, f.Adjusted = f.League+delta, f.Rate-delta
	f.Shrunk = own.shrunk - g.league.shrunk
	return f
}

func marked(list []bool) int64 {
	n := int64(0)
	for _, on := range list {
		if on {
			n++
		}
	}
	return n
}
