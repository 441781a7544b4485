package calibrate

import (
	"context"
	"math"

	"sill/stats"
)

// multiples lists the multiples of the bin width inside both curves.
func multiples(a, b *stats.Curve) []float64 {
	lo, hi := max(a.X[0], b.X[0]), min(a.X[len(a.X)-1], b.X[len(b.X)-1])
	var out []float64
	for k := math.Ceil(lo / a.Width); k*a.Width <= hi; k++ {
		out = append(out, k*a.Width)
	}
	return out
}

// levels counts over points x how often the interval of sign·(f_a − f_b) holds
// the truth, and once whether the whole contrast is rejected.
func (s Scores) levels(of string, a, b fitted, truth func(x float64) float64) {
	x := multiples(a.Curve, b.Curve)
	if len(x) < 2 {
		return
	}
	c := stats.ContrastLevels(a.Curve, b.Curve, x, a.sign, a.way, b.way)
	for i := range x {
		want := a.sign * truth(x[i])
		s.Hit(of+" covered", c.Lo[i] <= want && want <= c.Hi[i])
	}
	s.Hit(of+" rejected", c.P < judgedAt)
}

// kinds are the two kinds of value of a league made by withRuns.
var kinds = []string{"proportions", "run values"}

// pairs are the pairs of cells, by crew and number, whose curves are compared.
// Second clusters belong to a cell's number where a league has sides.
var pairs = []struct {
	name  string
	cells [][2][2]int
}{
	{", one crew:", [][2][2]int{{{0, 0}, {0, 1}}, {{1, 0}, {1, 1}}}},
	{", two crews, same side:", [][2][2]int{{{0, 0}, {1, 0}}, {{0, 1}, {1, 1}}}},
	{", two crews, other side:", [][2][2]int{{{0, 0}, {1, 1}}, {{0, 1}, {1, 0}}}},
}

// levelContrast judges differences of two curves of one crew and of two, jointly
// drawn.
func levelContrast(ctx context.Context, o Options) ([]Finding, error) {
	law := withRuns(NewLeague(
		crewOf(60, cell(Mono, .1), cell(Two, 0)),
		crewOf(180, cell(Mono, 0), cell(Mono, 0))),
		[]Cell{cell(fall, 0), cell(Mono, .1)},
		[]Cell{cell(fall, 0), cell(fall, 0)})
	const alone, apart, equal = " by the first kind alone,", " drawn apart,", ", equal curves:"
	var plans []leaguePlan
	for _, p := range []leaguePlan{{name: "one kind of cluster", law: law}, {name: "two kinds of cluster", law: law.withSides()}} {
		p.seed, p.sets = o.stream("study level contrast "+p.name), 600
		truth := p.law.curves(len(kinds))
		p.judge = func(g *dataset, s Scores) {
			for v, kind := range kinds {
				f := g.fitAll(v)
				for _, pair := range pairs {
					for _, ab := range pair.cells {
						a, b := f[ab[0][0]][ab[0][1]], f[ab[1][0]][ab[1][1]]
						want := func(x float64) float64 {
							return truth[v][ab[0][0]].At(ab[0][1], x) - truth[v][ab[1][0]].At(ab[1][1], x)
						}
						s.levels(kind+pair.name, a, b, want)
						if pair.name == pairs[0].name {
							s.levels(kind+pair.name+apart, a, g.fit(at{v, ab[1][0], ab[1][1]}, g.apart), want)
						}
						if p.law.Sides {
							a.way, b.way = nil, nil
							s.levels(kind+pair.name+alone, a, b, want)
						}
					}
				}
				s.levels(kind+equal, f[1][0], f[1][1], func(float64) float64 { return 0 })
			}
		}
		p.tell = func(t *Sheet) {
			for _, kind := range kinds {
				for _, pair := range pairs {
					t.Clustered(kind+pair.name+" covered", levelBar, ".941–.970")
					if p.law.Sides {
						t.Clustered(kind+pair.name+alone+" covered", NoBar, "")
					}
				}
				wide, shared := NoBar, NoBar
				if kind == kinds[0] {
					wide, shared = AtLeast(.975), AtLeast(.03)
				}
				one := kind + pairs[0].name
				if p.law.Sides {
					t.Gap(one+" covered, by both kinds less by the first alone", one+" covered", one+alone+" covered", shared, "")
				}
				t.Clustered(one+apart+" covered", wide, ".98–.99")
				t.Clustered(kind+equal+" rejected", AtMost(.065), "")
			}
		}
		plans = append(plans, p)
	}
	return o.leagues(ctx, plans...)
}

// curves is the truth of the first views' curves, whatever the line.
func (l League) curves(views int) [][]*Truth {
	var out [][]*Truth
	for v := range views {
		out = append(out, l.TruthAt(v, 0))
	}
	return out
}

// fitAll fits the cells of a view, by crew.
func (g *dataset) fitAll(view int) [][]fitted {
	out := make([][]fitted, len(g.crews[view]))
	for c := range out {
		for i := range g.design(at{view, c, 0}).Cells {
			out[c] = append(out[c], g.fit(at{view, c, i}, g.draws))
		}
	}
	return out
}

// one returns the only confirmed edge of a curve that answers to the only true
// one; false where there are none or more.
func one(b *stats.Band, truth []TrueEdge) (stats.Edge, float64, bool) {
	e := b.Edges().Confirmed
	if len(e) != 1 || len(truth) != 1 || e[0].Up != truth[0].Up {
		return stats.Edge{}, 0, false
	}
	return e[0], truth[0].X, true
}

// breaks counts how often the interval of the difference of two edges holds the
// truth, where both are confirmed.
func (s Scores) breaks(of string, a, b *stats.Band, ta, tb []TrueEdge) {
	ea, xa, ok := one(a, ta)
	eb, xb, ok2 := one(b, tb)
	s.Hit(of+" both confirmed", ok && ok2)
	if !ok || !ok2 {
		return
	}
	d, _ := stats.EdgeContrast(a, b, ea, eb)
	s.Hit(of+" covered", d.Lo <= xa-xb && xa-xb <= d.Hi)
	s.Hit(of+" said to differ", d.Lo > 0 || d.Hi < 0)
	s.Hit(of+" a limit open", math.IsInf(d.Lo, 0) || math.IsInf(d.Hi, 0))
}

// breaks tells of two edges counted under a name; the bar of coverage holds where both
// are confirmed in at least .4 of the leagues.
func (t *Sheet) breaks(of, earlier string) {
	bar := breakBar
	if !(t.Rate(of+" both confirmed") >= .4) {
		bar = NoBar
	}
	t.Clustered(of+" both confirmed", NoBar, "")
	t.Clustered(of+" covered", bar, earlier)
}

// breakpointContrast judges differences of two confirmed edges against the median
// line over both crews.
func breakpointContrast(ctx context.Context, o Options) ([]Finding, error) {
	const differ, equal, opposite = "edges that differ", "equal edges", "opposite directions"
	var plans []leaguePlan
	for _, d := range []struct {
		name  string
		sets  int
		cells [2][]Cell
	}{
		{differ, 800, [2][]Cell{{cell(Mono, .06), cell(Mono, -.03)}, {cell(Mono, -.06), cell(Mono, .03)}}},
		{equal, 1600, smooth.cells},
		{opposite, 800, [2][]Cell{{cell(Mono, 0), cell(fall, 0)}, {cell(fall, 0), cell(Mono, 0)}}},
	} {
		law, seed := shape{cells: d.cells}.league([2]int{120, 300}), o.stream("study breakpoint contrast "+d.name)
		truth := law.Truth(0, MedianLine, seed)
		plans = append(plans, leaguePlan{d.name, seed, law, d.sets, func(g *dataset, s Scores) {
			line, lineApart := g.line(0, MedianLine, g.draws), g.line(0, MedianLine, g.apart)
			b := bands(g.fitAll(0), line)
			for c := range b {
				apart := g.fit(at{0, c, 1}, g.apart).against(lineApart)
				s.breaks("one crew:", b[c][0], b[c][1], truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("one crew, drawn apart:", b[c][0], apart, truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("two crews:", b[0][c], b[1][c], truth[0].Edges[c], truth[1].Edges[c])
			}
		}, func(t *Sheet) {
			t.breaks("one crew:", ".924–.98")
			t.breaks("two crews:", ".924–.98")
			t.Clustered("one crew, drawn apart: covered", NoBar, "")
			switch d.name {
			case equal:
				t.Clustered("one crew: said to differ", AtMost(.05), "")
				t.Clustered("two crews: said to differ", AtMost(.05), "")
			case opposite:
				t.Gap("one crew: covered, joint less drawn apart",
					"one crew: covered", "one crew, drawn apart: covered", AtLeast(.03), ".045")
			}
		}})
	}
	return o.leagues(ctx, plans...)
}

// bands holds curves against a line.
func bands(curves [][]fitted, line stats.Line) [][]*stats.Band {
	out := make([][]*stats.Band, len(curves))
	for c := range curves {
		for _, f := range curves[c] {
			out[c] = append(out[c], f.against(line))
		}
	}
	return out
}

// seasons judges contrasts of two seasons of the same clusters, whose effects
// correlate by .8 and of which .3 play in one season only.
func seasons(ctx context.Context, o Options) ([]Finding, error) {
	law := smooth.league([2]int{120, 300}).Then(.8, func(crew int, d *Design) {
		d.Cells[0].Shift, d.Cells[1].Shift = .1, .02 // the line moves too
	})
	law.Turnover = .3
	seed := o.stream("study seasons")
	before, after := law.Truth(0, MedianLine, seed), law.Truth(1, MedianLine, seed)
	return o.leagues(ctx, leaguePlan{"120 and 300 clusters", seed, law, 800, func(g *dataset, s Scores) {
		first, second := g.line(0, MedianLine, g.draws), g.line(1, MedianLine, g.draws)
		secondApart := g.line(1, MedianLine, g.apart)
		for c := range law.Views[0].Crews {
			for i := range law.Views[0].Crews[c].Cells {
				a, b := g.fit(at{0, c, i}, g.draws), g.fit(at{1, c, i}, g.draws)
				apart := g.fit(at{1, c, i}, g.apart)
				change := func(x float64) float64 { return before[c].At(i, x) - after[c].At(i, x) }
				s.levels("level:", a, b, change)
				s.levels("level, drawn apart:", a, apart, change)
				s.breaks("edge:", a.against(first), b.against(second), before[c].Edges[i], after[c].Edges[i])
				s.breaks("edge, drawn apart:", a.against(first), apart.against(secondApart), before[c].Edges[i], after[c].Edges[i])
			}
		}
	}, func(t *Sheet) {
		t.Clustered("level: covered", levelBar, "")
		t.Clustered("level, drawn apart: covered", AtLeast(.975), ".98–.99")
		t.breaks("edge:", "")
		t.Clustered("edge, drawn apart: covered", NoBar, "")
		t.Gap("level: covered, drawn apart less joint", "level, drawn apart: covered", "level: covered", AtLeast(.01), "")
	}})
}

// thirdsBar is what the intervals of a gap by thirds must cover.
var thirdsBar = Between(.92, .98)

// thirds counts how often the intervals of a gap and of its change hold the truth,
// whether the change is rejected, and whether it is said to be smaller than it is
// (at the true change, where equivalence is hardest to keep honest).
func (s Scores) thirds(of string, a, b fitted, truth func(x float64) float64) {
	t := stats.NewThirds(a.Curve, b.Curve, a.sign, a.way, b.way)
	s.Hit(of+" told", t != nil)
	if t == nil {
		return
	}
	want := t.Over(truth)
	for k := range want {
		want[k] *= a.sign
		s.Hit(of+" gap covered", holds(t.Gap[k], want[k]))
	}
	change, bend := want[2]-want[0], want[1]-(want[0]+want[2])/2
	s.Hit(of+" change covered", holds(t.Change, change))
	s.Hit(of+" splits, p below .05", t.P < judgedAt)
	s.Hit(of+" said to change less than it does", t.Within < max(math.Abs(change), math.Abs(bend)))
}

func holds(i stats.Interval, v float64) bool { return i.Lo <= v && v <= i.Hi }

// platoonGap judges the gap between two cells of one crew by thirds of x: where it
// is the same all along, and where one cell rises and the other is flat.
func platoonGap(ctx context.Context, o Options) ([]Finding, error) {
	half := Curve{Name: "half", At: func(z float64) float64 { return Mono.At(z / 2) }}
	law := withRuns(NewLeague(
		crewOf(60, cell(Mono, 0), cell(Mono, 0)),
		crewOf(180, cell(Mono, 0), cell(Mono, 0)),
		crewOf(180, cell(Mono, .1), cell(Null, 0)),
		crewOf(300, cell(Mono, 0), cell(half, .05))),
		[]Cell{cell(fall, 0), cell(fall, 0)},
		[]Cell{cell(fall, 0), cell(fall, 0)},
		[]Cell{cell(fall, .1), cell(Null, 0)},
		[]Cell{cell(fall, 0), cell(half, .05)})
	law = law.withSides()
	names := []string{"one curve, 60 clusters:", "one curve, 180:", "rising and flat, 180:", "steep and half as steep, 300:"}
	truth := law.curves(len(kinds))
	return o.leagues(ctx, leaguePlan{"two kinds of cluster", o.stream("study platoon gap"), law, 600, func(g *dataset, s Scores) {
		for v, kind := range kinds {
			for c, name := range names {
				s.thirds(kind+", "+name, g.fit(at{v, c, 0}, g.draws), g.fit(at{v, c, 1}, g.draws), func(x float64) float64 {
					return truth[v][c].At(0, x) - truth[v][c].At(1, x)
				})
			}
		}
	}, func(t *Sheet) {
		for _, kind := range kinds {
			for c, name := range names {
				of, splits := kind+", "+name, NoBar
				if c < 2 { // the gap does not change
					splits = AtMost(.065)
				}
				t.Clustered(of+" gap covered", thirdsBar, "")
				t.Clustered(of+" change covered", thirdsBar, "")
				t.Clustered(of+" splits, p below .05", splits, "")
				if c >= 2 {
					t.Clustered(of+" said to change less than it does", AtMost(.05), "")
				}
			}
		}
	}})
}
