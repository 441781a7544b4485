package calibrate

import (
	"context"
	"fmt"
	"slices"

	"sill/stats"
)

// shape is what the cells of two crews look like, with the bar of their edges
// where these are confirmed often enough.
type shape struct {
	name    string
	cells   [2][]Cell
	bar     Bar
	often   float64
	earlier string
}

var (
	smooth = shape{"smooth", [2][]Cell{{cell(Mono, 0), cell(Mono, 0)}, {cell(Mono, 0), cell(Mono, 0)}},
		smoothBar, .5, ".935–.979"}
	tick = shape{"tick", [2][]Cell{{cell(Tick, 0), cell(Tick, 0)}, {cell(Tick, 0), cell(Tick, 0)}},
		tickBar, .44, ".925–.956"}
	uneven = shape{"levels that differ", [2][]Cell{{cell(Mono, .12), cell(Mono, -.06)}, {cell(Mono, -.12), cell(Mono, .06)}},
		smoothBar, .5, ".935–.973"}
)

// league makes two crews of these cells.
func (s shape) league(sizes [2]int) League {
	return NewLeague(crewOf(sizes[0], slices.Clone(s.cells[0])...), crewOf(sizes[1], slices.Clone(s.cells[1])...))
}

// lines are the lines of a league by name.
var lines = []struct {
	name      string
	reference Reference
}{{"median line", MedianLine}, {"rate line", PooledLine}}

// Measures of the lines.
const (
	lineError = "median line less the true one"
	tooFar    = "warned: rate less median above .010"
)

// pooled judges edges against lines over both crews.
func pooled(ctx context.Context, o Options) ([]Finding, error) {
	var plans []leaguePlan
	shapes := []shape{smooth, tick, uneven}
	var all, few Results // of a size: how its lines fare; edges confirmed in .15 to .5 of the leagues
	for _, sizes := range [][2]int{{30, 90}, {60, 180}, {120, 300}} {
		for k, s := range shapes {
			p := o.edgesPlan("pooled", fmt.Sprintf("%s, %d and %d clusters", s.name, sizes[0], sizes[1]), s.league(sizes), 800)
			p.tell = func(t *Sheet) {
				s.tell(t, p.law)
				for _, n := range sizes {
					of := edgeOf(n, "median line")
					if far, ok := farBars[n]; ok && s.name == smooth.name {
						t.Root(of+" error", AtMost(far.most), far.earlier)
					}
					if c := t.Rate(of + " confirmed"); c >= .15 && c < .5 {
						for _, one := range t.Results {
							few = append(few, NewScores())
							few[len(few)-1].Count("edge covered", one.Share(of+" covered"))
						}
					}
				}
				all = append(all, t.Results...)
				if k+1 < len(shapes) {
					return
				}
				lined := all.Sheet(fmt.Sprintf("all shapes, %d and %d clusters", sizes[0], sizes[1]))
				for _, line := range lines {
					lined.Clustered(line.name+" covered", AtLeast(.92), ".923–.954")
				}
				lined.Mean(lineError, Between(-.0015, .0015), "≤ .0010")
				t.Findings, all = append(t.Findings, lined.Findings...), nil
			}
			plans = append(plans, p)
		}
	}
	out, err := o.leagues(ctx, plans...)
	if len(few) > 0 {
		t := few.Sheet("all cells confirmed in .15 to .5 of leagues")
		t.Clustered("edge covered", AtLeast(.93), ".950–.953")
		out = append(out, t.Findings...)
	}
	return out, err
}

// edgeOf names the edges of cells of so many clusters.
func edgeOf(clusters int, line string) string {
	return fmt.Sprintf("edge, %d clusters, %s:", clusters, line)
}

// edgesPlan judges all cells of a league's first view against both lines.
func (o Options) edgesPlan(study, name string, law League, sets int) leaguePlan {
	seed := o.stream("study " + study + " " + name)
	truth := make([][]*Truth, len(lines))
	for l := range lines {
		truth[l] = law.Truth(0, lines[l].reference, seed)
	}
	return leaguePlan{name: name, seed: seed, law: law, sets: sets, judge: func(g *dataset, s Scores) {
		drawn := make([]stats.Line, len(lines))
		for l, line := range lines {
			drawn[l] = g.line(0, line.reference, g.draws)
			s.Hit(line.name+" covered", g.holds(0, line.reference, drawn[l], truth[l][0].Line))
		}
		s.Value(lineError, drawn[0].Value-truth[0][0].Line)
		s.Hit(tooFar, drawn[1].Value-drawn[0].Value > .010)
		for c, curves := range g.fitAll(0) {
			for i, f := range curves {
				for l, line := range lines {
					s.edges(edgeOf(law.Views[0].Crews[c].Clusters, line.name), f.against(drawn[l]).Edges().Confirmed, truth[l][c].Edges[i])
				}
			}
		}
	}}
}

// tell tells of the edges of edgesPlan.
func (s shape) tell(t *Sheet, law League) {
	for _, line := range lines {
		for _, d := range law.Views[0].Crews {
			t.edges(edgeOf(d.Clusters, line.name), s.bar, s.often, s.earlier)
		}
	}
}
