package calibrate

import (
	"context"
	"math"
	"slices"

	"sill/stats"
)

// leagueStudies are those of several crews of clusters under one line.
func leagueStudies() []Study {
	return []Study{
		{"pooled", "Do the intervals of edges hold the truth when several crews share one line?", pooled},
		{"edges", "Smooth curves and sharp ones: do the intervals of breakpoints hold the truth, how wide are they, are certain stretches and what lies past an edge rightly told, and do bands hold point by point?", edges},
		{"level_contrast", "Does the interval of the difference of two curves hold the truth along x?", levelContrast},
		{"platoon_gap", "Does the gap between two curves by thirds hold the truth, and is it said to change, or not to, no oftener than stated?", platoonGap},
		{"breakpoint_contrast", "Does the interval of the difference of two edges hold the truth?", breakpointContrast},
		{"season_contrast", "Do contrasts of two seasons of the same clusters hold the truth?", seasons},
		{"strata", "Do the edges of a third of the trials hold the truth against the line of all?", strata},
		{"fixed", "Do edges and verdicts hold against a line that has no error?", fixedLine},
		{"joint", "Where two outcomes are said to beat their lines, do both?", jointZones},
		{"runs", "What can run values of fewer than 100 clusters show?", fewRuns},
		{"workload", "Do edges hold the truth when talent goes with workload?", workload},
		{"table", "How many rejections of a published table are false?", publishedTable},
	}
}

// crewOf is a crew of so many clusters, with twice the trials of a cluster of one
// cell, in two or more cells of equal share.
func crewOf(clusters int, cells ...Cell) Design {
	d := crewed(cells[0].Curve, clusters)
	d.Cells = cells
	for i := range cells {
		cells[i].Share = 1 / float64(len(cells))
	}
	d.SizeMedian, d.SizeMin, d.SizeMax = 2*d.SizeMedian, 2*d.SizeMin, 2*d.SizeMax
	return d
}

// cell is a curve with its logit shifted.
func cell(c Curve, shift float64) Cell { return Cell{Curve: c, Shift: shift} }

// fall is Mono from right to left.
var fall = Curve{Name: "fall", At: func(z float64) float64 { return Mono.At(-z) }}

// runsOf makes a kind of value into run values, a quarter of the trials being
// events.
func runsOf(d *Design) { d.Kind, d.EventShare = stats.Mean, .26 }

// withRuns adds run values of the same trials, whose cluster effects correlate
// with those of the proportion by −.5, with the curves and shifts of cells by crew.
func withRuns(l League, cells ...[]Cell) League {
	return l.With(-.5, func(c int, d *Design) {
		runsOf(d)
		for i, cell := range cells[c] {
			d.Cells[i].Curve, d.Cells[i].Shift = cell.Curve, cell.Shift
		}
	})
}

// withSides gives every crew of every view second clusters that differ, each cell its
// own.
func (l League) withSides() League {
	views := make([]View, len(l.Views))
	for v, view := range l.Views {
		views[v] = View{Of: view.Of, Effect: view.Effect}
		for _, d := range view.Crews {
			d.Second, d.SecondSD = 250, .28
			views[v].Crews = append(views[v].Crews, d)
		}
	}
	l.Views, l.Sides = views, true
	return l
}

// leaguePlan is a league that is to be judged.
type leaguePlan struct {
	name  string // in the report
	seed  uint64 // of its stream, which its truth rests on too
	law   League
	sets  int // at full size
	judge func(g *dataset, s Scores)
	tell  func(t *Sheet)
}

// leagues draws the data sets of a study's leagues, has each judged and the findings
// told.
func (o Options) leagues(ctx context.Context, plans ...leaguePlan) ([]Finding, error) {
	var out []Finding
	for _, p := range plans {
		r, err := o.play(ctx, p.seed, p.law, p.sets, p.judge)
		if err != nil {
			return nil, err
		}
		t := r.Sheet(p.name)
		p.tell(t)
		out = append(out, t.Findings...)
	}
	return out, nil
}

// edges counts the confirmed edges of a curve. An edge covers where its interval
// holds a true edge of its direction: one that answers to no true edge does not.
func (s Scores) edges(of string, edges []stats.Edge, truth []TrueEdge) {
	for _, t := range truth {
		s.Hit(of+" confirmed", slices.ContainsFunc(edges, func(e stats.Edge) bool { return e.Up == t.Up }))
	}
	for _, e := range edges {
		covered, nearest := holdsTrue(e, truth)
		s.Hit(of+" covered", covered)
		if !math.IsInf(nearest, 1) {
			s.Value(of+" error", float64(nearest*nearest))
		}
	}
}

// holdsTrue tells whether the interval of an edge holds a true edge of its direction,
// and how far the nearest such lies off, +Inf where there is none.
func holdsTrue(e stats.Edge, truth []TrueEdge) (held bool, nearest float64) {
	nearest = math.Inf(1)
	for _, t := range truth {
		if e.Up == t.Up {
			held = held || e.Lo <= t.X && t.X <= e.Hi
			nearest = min(nearest, math.Abs(e.X-t.X))
		}
	}
	return held, nearest
}

// flat counts whether a curve is taken not to be flat, and found.
func (s Scores) flat(p float64, edges []stats.Edge) {
	s.Hit("rejected", p < judgedAt)
	s.Hit("found", p < judgedAt && len(edges) > 0)
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

// edges tells of edges counted under a name: share confirmed, and coverage, whose bar
// depends on how often an edge is confirmed (often is the least share that bar is
// meant for).
func (t *Sheet) edges(of string, bar Bar, often float64, earlier string) {
	confirmed := t.Rate(of + " confirmed")
	switch {
	case confirmed >= often:
	case confirmed >= .15:
		bar = fewBar
	default:
		bar = NoBar
	}
	t.Clustered(of+" confirmed", NoBar, "")
	t.Clustered(of+" covered", bar, earlier)
}
