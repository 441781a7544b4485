package calibrate

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
	"sill/stats/simulate"
)

// leagueStudies are those of several crews of clusters under one line.
func leagueStudies() []Study {
	m := method{replicates: 500}
	return []Study{
		{"pooled", "Do the intervals of edges hold the truth when several crews share one line?", m.pooled},
		{"edges", "Smooth curves and sharp ones: do the intervals of breakpoints hold the truth, how wide are they, are certain stretches and what lies past an edge rightly told, and do bands hold point by point?", m.edges},
		{"level_contrast", "Does the interval of the difference of two curves hold the truth along x?", m.levelContrast},
		{"platoon_gap", "Does the gap between two curves by thirds hold the truth, and is it said to change, or not to, no oftener than stated?", m.platoonGap},
		{"breakpoint_contrast", "Does the interval of the difference of two edges hold the truth?", m.breakpointContrast},
		{"season_contrast", "Do contrasts of two seasons of the same clusters hold the truth?", m.seasons},
		{"strata", "Do the edges of a third of the trials hold the truth against the line of all?", m.strata},
		{"fixed", "Do edges and verdicts hold against a line that has no error?", m.fixedLine},
		{"joint", "Where two outcomes are said to beat their lines, do both?", m.jointZones},
		{"runs", "What can run values of fewer than 100 clusters show?", m.runValues},
		{"workload", "Do edges hold the truth when talent goes with workload?", m.workload},
		{"table", "How many rejections of a published table are false?", m.publishedTable},
	}
}

// method is how leagues are judged.
type method struct {
	replicates int
	spoil      func(g *league) // tests break a drawn league before it is judged
}

const (
	leagueFlips = 499 // for p-values that are held against judgedAt
	judgedAt    = .05 // p below which a curve is taken not to be flat
)

// crewOf is a crew of so many clusters, with twice the trials of a cluster of one
// cell, in two or more cells of equal share.
func crewOf(clusters int, cells ...simulate.Cell) simulate.Design {
	d := simulate.Default(cells[0].Curve)
	d.Clusters, d.Cells = clusters, cells
	for i := range cells {
		cells[i].Share = 1 / float64(len(cells))
	}
	d.SizeMedian, d.SizeMin, d.SizeMax = 2*d.SizeMedian, 2*d.SizeMin, 2*d.SizeMax
	return d
}

// cell is a curve with its logit shifted.
func cell(c simulate.Curve, shift float64) simulate.Cell {
	return simulate.Cell{Curve: c, Shift: shift}
}

// fall is Mono from right to left.
var fall = simulate.Curve{Name: "fall", At: func(z float64) float64 { return simulate.Mono.At(-z) }}

// runsOf makes a kind of value into run values, a quarter of the trials being
// events.
func runsOf(d *simulate.Design) { d.Kind, d.EventShare = stats.Mean, .26 }

// withRuns adds run values of the same trials, whose cluster effects correlate
// with those of the proportion by −.5, with the curves and shifts of cells by crew.
func withRuns(l simulate.League, cells ...[]simulate.Cell) simulate.League {
	return l.With(-.5, func(c int, d *simulate.Design) {
		runsOf(d)
		for i, cell := range cells[c] {
			d.Cells[i].Curve, d.Cells[i].Shift = cell.Curve, cell.Shift
		}
	})
}

// seedOf is the seed of one design of one study.
func seedOf(o Options, what string) uint64 {
	key := simulate.Key(o.Seed, "study "+what, 0)
	return binary.LittleEndian.Uint64(key[:])
}

// league is a drawn league with joint draws, and others to be wrong with.
type league struct {
	law          simulate.League
	seed         uint64
	number       int
	crews        [][]simulate.Crew // by view
	draws, apart []*stats.Weights
	oneWay       bool // leave the second clusters out
}

// fitted is a curve with what judges it.
type fitted struct {
	*stats.Curve
	table *stats.Table
	way   *stats.SecondWay
	sign  float64
}

// at names a cell of a league.
type at struct{ view, crew, cell int }

// fit fits a cell under draws.
func (g *league) fit(a at, draws []*stats.Weights) fitted {
	d, crew := g.law.Views[a.view].Crews[a.crew], &g.crews[a.view][a.crew]
	f := fitted{table: crew.Tables[a.cell], sign: d.Sign()}
	var second *stats.Table
	if crew.Second != nil && !g.oneWay {
		second = crew.Second[a.cell]
	}
	if first, last, ok := f.table.EndBins(openEnd(d.Kind), 5); ok {
		f.table = f.table.Merge(first, last)
		if second != nil {
			second = second.Merge(first, last)
		}
	}
	f.Curve = stats.FitCurve(f.table, d.X.Width, draws[a.crew], stats.LambdaGrid(2))
	if second != nil {
		f.way = stats.NewSecondWay(f.Curve, second)
	}
	return f
}

// openEnd is how many events an open end bin needs.
func openEnd(k stats.Kind) float64 {
	if k == stats.Mean {
		return 25
	}
	return 50
}

// against compares a curve with a line.
func (f fitted) against(l stats.Line) *stats.Band { return f.Against(l, f.sign, f.way) }

// p is that of the flip test of a cell.
func (g *league) p(a at, f fitted) float64 {
	return stats.NewFlipTest(f.table, simulate.Key(g.seed, fmt.Sprint("flips ", a), g.number)).Run(leagueFlips).P
}

// line is the line of a view over all crews.
func (g *league) line(view int, r simulate.Reference) stats.Line {
	line := g.law.Line(view, r, g.crews[view], g.draws)
	if g.oneWay {
		line.Second = nil
	}
	return line
}

// lineCovered tells whether the 95 % interval of a line holds the true value:
// t of the qualified clusters, or of the effective ones for the pooled rate.
func (g *league) lineCovered(view int, r simulate.Reference, l stats.Line, truth float64) bool {
	var events []float64
	active, qualified := 0.0, 0.0
	for c, crew := range g.crews[view] {
		for _, n := range crew.Events {
			events = append(events, n)
			if n > 0 {
				active++
			}
			if n >= g.law.Views[view].Crews[c].Qualified {
				qualified++
			}
		}
	}
	df := qualified - 1
	if r == simulate.PooledLine {
		df = stats.EffectiveNumber(events) - 1
	}
	se := math.Sqrt(stat.Variance(l.Rep, nil)*active/(active-1) + l.Second.Own())
	return math.Abs(l.Value-truth) <= stats.TQuantile(.975, df)*se
}

// play draws leagues and has each judged.
func (m method) play(ctx context.Context, o Options, what string, law simulate.League, sets int, judge func(g *league, s scores)) (results, error) {
	seed := seedOf(o, what)
	out := make(results, o.Sets(sets))
	err := o.Each(ctx, len(out), func(i int) error {
		g := &league{law: law, seed: seed, number: i, crews: law.Draw(seed, i),
			draws: law.Resample(seed, i, m.replicates), apart: law.Resample(seed+1, i, m.replicates)}
		if m.spoil != nil {
			m.spoil(g)
		}
		out[i] = scores{hits: map[string]simulate.Share{}, values: map[string][]float64{}}
		judge(g, out[i])
		return nil
	})
	return out, err
}

// scores are what one league gave, by measure.
type scores struct {
	hits   map[string]simulate.Share
	values map[string][]float64
}

func (s scores) hit(measure string, ok bool) {
	h := s.hits[measure]
	h.Add(ok)
	s.hits[measure] = h
}

func (s scores) value(measure string, v float64) { s.values[measure] = append(s.values[measure], v) }

// edges counts the confirmed edges of a curve. An edge covers where its interval
// holds a true edge of its direction: one that answers to no true edge does not.
func (s scores) edges(of string, edges []stats.Edge, truth []simulate.TrueEdge) {
	for _, t := range truth {
		seen := false
		for _, e := range edges {
			seen = seen || e.Up == t.Up
		}
		s.hit(of+" confirmed", seen)
	}
	for _, e := range edges {
		covered, nearest := false, math.Inf(1)
		for _, t := range truth {
			if e.Up == t.Up {
				covered = covered || e.Lo <= t.X && t.X <= e.Hi
				nearest = min(nearest, math.Abs(e.X-t.X))
			}
		}
		s.hit(of+" covered", covered)
		if !math.IsInf(nearest, 1) {
			s.value(of+" error", float64(nearest*nearest))
		}
	}
}

// results are the scores of the leagues of a design, in order.
type results []scores

// counts returns hits and trials by league.
func (r results) counts(measure string) (hits, of []float64, all simulate.Share) {
	hits, of = make([]float64, len(r)), make([]float64, len(r))
	for i, s := range r {
		h := s.hits[measure]
		hits[i], of[i] = float64(h.Hits), float64(h.Of)
		all.Hits, all.Of = all.Hits+h.Hits, all.Of+h.Of
	}
	return hits, of, all
}

// rate is the share of a measure over all leagues.
func (r results) rate(measure string) float64 {
	_, _, all := r.counts(measure)
	return all.Rate()
}

// share makes a finding of a measure that may be counted several times in a
// league: its error is the binomial one, inflated by the design effect of leagues
// (all of a league's counts taken as one where the share is 0 or 1).
func (r results) share(design, measure string, bar Bar, earlier string) Finding {
	hits, of, all := r.counts(measure)
	f := ShareFinding(design, measure, all, bar, earlier)
	leagues := 0.0
	for _, n := range of {
		if n > 0 {
			leagues++
		}
	}
	effect := float64(all.Of) / leagues
	if all.Hits > 0 && all.Hits < all.Of && leagues > 1 {
		effect = stats.DesignEffect(hits, of)
	}
	f.SE *= math.Sqrt(effect)
	return f.recall()
}

// gap makes a finding of the share of one measure less that of another, of the
// same leagues.
func (r results) gap(design, measure, a, b string, bar Bar, earlier string) Finding {
	ya, na, all := r.counts(a)
	yb, nb, _ := r.counts(b)
	d, variance := stats.DifferenceOfRatios(ya, na, yb, nb)
	return Finding{Design: design, Measure: measure, Value: d, SE: math.Sqrt(variance), Of: all.Of, Bar: bar, Earlier: earlier}
}

// mean makes a finding of a mean over all values.
func (r results) mean(design, measure string, bar Bar, earlier string) Finding {
	var all []float64
	for _, s := range r {
		all = append(all, s.values[measure]...)
	}
	return MeanFinding(design, measure, all, bar, earlier)
}

// root makes a finding of a root mean square, of squares given.
func (r results) root(design, measure string, bar Bar, earlier string) Finding {
	f := r.mean(design, measure, bar, earlier)
	f.Value = math.Sqrt(f.Value)
	f.SE /= 2 * f.Value
	return f
}

// The bars of edges whose intervals take the wider limits where they are weakly
// supported.
var (
	smoothBar = Between(.915, .985) // confirmed in at least half of the leagues
	tickBar   = AtLeast(.90)        // confirmed in at least .44
	fewBar    = AtLeast(.88)        // confirmed in at least .15
	levelBar  = Between(.925, .98)
	breakBar  = Between(.91, .985) // both edges confirmed in at least .4
)

// edgeFindings are those of edges counted under a name: share confirmed, and
// coverage, whose bar depends on how often an edge is confirmed (often is the
// least share that bar is meant for).
func (r results) edgeFindings(design, of string, bar Bar, often float64, earlier string) []Finding {
	confirmed := r.rate(of + " confirmed")
	switch {
	case confirmed >= often:
	case confirmed >= .15:
		bar = fewBar
	default:
		bar = NoBar
	}
	return []Finding{r.share(design, of+" confirmed", NoBar, ""), r.share(design, of+" covered", bar, earlier)}
}
