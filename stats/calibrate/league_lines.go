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

// strata judges a third of the trials against the line of all.
func strata(ctx context.Context, o Options) ([]Finding, error) {
	sizes := [2]int{120, 300}
	var plans []leaguePlan
	for _, d := range []struct {
		name    string
		stratum Cell // the others are Mono
		flat    bool
		most    float64 // found where flat
		earlier string
	}{
		{"smooth stratum", cell(Mono, .1), false, 0, ""},
		{"flat stratum at the line", cell(Null, 0), true, .03, "≤ .015"},
		{"flat stratum above the line", cell(Null, .15), true, .01, "≤ .003"},
	} {
		// by side of the plate, the stratum first
		crew := func(n int) Design {
			c := crewOf(n, d.stratum, cell(Mono, 0), d.stratum, cell(Mono, 0))
			for i := range c.Cells {
				c.Cells[i].Share = [...]float64{1. / 6, 1. / 3}[i%2]
			}
			return c
		}
		law, seed := NewLeague(crew(sizes[0]), crew(sizes[1])), o.stream("study strata "+d.name)
		truth := law.Truth(0, MedianLine, seed)
		plans = append(plans, leaguePlan{d.name, seed, law, 600, func(g *dataset, s Scores) {
			line := g.line(0, MedianLine, g.draws)
			for c := range sizes {
				for _, i := range []int{0, 2} {
					f := g.fit(at{0, c, i}, g.draws)
					edges := f.against(line).Edges().Confirmed
					s.edges(edgeOf(sizes[c], "median line"), edges, truth[c].Edges[i])
					if d.flat {
						s.flat(g.p(at{0, c, i}, f), edges)
					}
				}
			}
		}, func(t *Sheet) {
			if d.flat {
				t.flat(d.most, d.earlier)
				return
			}
			for _, n := range sizes {
				t.edges(edgeOf(n, "median line"), smoothBar, .5, "")
			}
		}})
	}
	return o.leagues(ctx, plans...)
}

// flat tells of curves that are flat.
func (t *Sheet) flat(most float64, earlier string) {
	t.Clustered("rejected", AtMost(.065), ".048")
	t.Clustered("found", AtMost(most), earlier)
}

// fixedLine judges against a line that was given, without error.
func fixedLine(ctx context.Context, o Options) ([]Finding, error) {
	const wrongly = "always or never, wrongly"
	sizes := [2]int{60, 180}
	edge := func(clusters int) string { return fmt.Sprintf("edge, %d clusters:", clusters) }
	flat := shape{cells: [2][]Cell{{cell(Null, 0), cell(Null, 0)}, {cell(Null, 0), cell(Null, 0)}}}
	var plans []leaguePlan
	for _, d := range []struct {
		name  string
		shape shape
		at    float64 // the line is the curve's value at so many standard deviations of x
	}{
		{"smooth, line at the middle", smooth, 0},
		{"tick, line at the middle", tick, .5},
		{"smooth, a tenth of events below the line", smooth, -1.2816},
		{"flat on the line", flat, 0},
	} {
		law, isFlat := d.shape.league(sizes), d.shape.name == ""
		line := law.TruthAt(0, 0)[0].At(0, VelocityLike.Centre+d.at*Spread)
		truth := law.TruthAt(0, line)
		plans = append(plans, leaguePlan{d.name, o.stream("study fixed " + d.name), law, 600, func(g *dataset, s Scores) {
			for c, curves := range g.fitAll(0) {
				for i, f := range curves {
					b := f.against(stats.Line{Value: line})
					edges := b.Edges().Confirmed
					s.edges(edge(sizes[c]), edges, truth[c].Edges[i])
					// every curve here touches or crosses the line inside the central 90 %
					sign, _ := b.Throughout()
					s.Hit(wrongly, sign != 0)
					if isFlat {
						s.flat(g.p(at{0, c, i}, f), edges)
					}
				}
			}
		}, func(t *Sheet) {
			if isFlat {
				t.flat(.03, "≤ .015")
			} else {
				for _, n := range sizes {
					t.edges(edge(n), d.shape.bar, d.shape.often, "")
				}
			}
			t.Clustered(wrongly, AtMost(.04), "≤ .025")
		}})
	}
	return o.leagues(ctx, plans...)
}

// fewRuns judges run values of fewer than 100 clusters.
func fewRuns(ctx context.Context, o Options) ([]Finding, error) {
	var plans []leaguePlan
	for _, sizes := range [][2]int{{30, 90}, {60, 95}} {
		name := fmt.Sprintf("%d and %d clusters", sizes[0], sizes[1])
		crew := func(n int) Design {
			d := crewOf(n, cell(fall, 0), cell(fall, .05))
			runsOf(&d)
			return d
		}
		law, seed := NewLeague(crew(sizes[0]), crew(sizes[1])), o.stream("study runs "+name)
		truth := law.Truth(0, MedianLine, seed)
		plans = append(plans, leaguePlan{name, seed, law, 800, func(g *dataset, s Scores) {
			line := g.line(0, MedianLine, g.draws)
			s.Value(lineError, line.Value-truth[0].Line)
			s.Hit("median line covered", g.holds(0, MedianLine, line, truth[0].Line))
			f := g.fitAll(0)
			b := bands(f, line)
			for c := range f {
				for i := range f[c] {
					s.edges(edgeOf(sizes[c], "median line"), b[c][i].Edges().Confirmed, truth[c].Edges[i])
				}
				s.levels("level, one crew:", f[c][0], f[c][1], func(x float64) float64 { return truth[c].At(0, x) - truth[c].At(1, x) })
				s.levels("level, two crews:", f[0][c], f[1][c], func(x float64) float64 { return truth[0].At(c, x) - truth[1].At(c, x) })
				s.breaks("edge, one crew:", b[c][0], b[c][1], truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("edge, two crews:", b[0][c], b[1][c], truth[0].Edges[c], truth[1].Edges[c])
			}
		}, func(t *Sheet) {
			for _, n := range sizes {
				t.edges(edgeOf(n, "median line"), smoothBar, .5, "")
			}
			for _, pair := range []string{"one crew:", "two crews:"} {
				t.Clustered("level, "+pair+" covered", levelBar, "")
				t.breaks("edge, "+pair, "")
			}
			t.Clustered("median line covered", AtLeast(.92), "")
			t.Mean(lineError, Between(-.0025, .0025), ".0015")
		}})
	}
	return o.leagues(ctx, plans...)
}

// workload judges edges where clusters with more trials are better, so that the
// rate of all events lies above that of the median cluster.
func workload(ctx context.Context, o Options) ([]Finding, error) {
	var plans []leaguePlan
	for _, tied := range []float64{0, .5} {
		law, bar := smooth.league([2]int{60, 180}), NoBar
		for c := range law.Views[0].Crews {
			law.Views[0].Crews[c].Workload = tied
		}
		if tied > 0 {
			bar = AtLeast(.90)
		}
		p := o.edgesPlan("workload", fmt.Sprintf("correlation %g", tied), law, 600)
		p.tell = func(t *Sheet) {
			t.Clustered(tooFar, bar, "")
			t.Clustered("median line covered", AtLeast(.92), "")
			t.Mean(lineError, Between(-.0015, .0015), "≤ .0010")
			smooth.tell(t, law)
		}
		plans = append(plans, p)
	}
	return o.leagues(ctx, plans...)
}
