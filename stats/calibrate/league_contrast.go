package calibrate

import (
	"context"
	"math"
	"slices"

	"sill/stats"
	"sill/stats/simulate"
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
func (s scores) levels(of string, a, b fitted, truth func(x float64) float64) {
	x := multiples(a.Curve, b.Curve)
	if len(x) < 2 {
		return
	}
	c := stats.ContrastLevels(a.Curve, b.Curve, x, a.sign, a.way, b.way)
	for i := range x {
		want := a.sign * truth(x[i])
		s.hit(of+" covered", c.Lo[i] <= want && want <= c.Hi[i])
	}
	s.hit(of+" rejected", c.P < judgedAt)
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
func (m method) levelContrast(ctx context.Context, o Options) ([]Finding, error) {
	law := withRuns(simulate.NewLeague(
		crewOf(60, cell(simulate.Mono, .1), cell(simulate.Two, 0)),
		crewOf(180, cell(simulate.Mono, 0), cell(simulate.Mono, 0))),
		[]simulate.Cell{cell(fall, 0), cell(simulate.Mono, .1)},
		[]simulate.Cell{cell(fall, 0), cell(fall, 0)})
	second := law
	second.Sides = true
	second.Views = slices.Clone(law.Views)
	for v := range second.Views {
		second.Views[v].Crews = slices.Clone(second.Views[v].Crews)
		for c := range second.Views[v].Crews {
			d := &second.Views[v].Crews[c]
			d.Second, d.SecondSD = 250, .28
		}
	}
	var out []Finding
	for _, design := range []struct {
		name string
		law  simulate.League
	}{{"one kind of cluster", law}, {"two kinds of cluster", second}} {
		r, err := m.playLevels(ctx, o, "level contrast "+design.name, design.law)
		if err != nil {
			return nil, err
		}
		for _, kind := range kinds {
			for _, pair := range pairs {
				out = append(out, r.share(design.name, kind+pair.name+" covered", levelBar, ".941–.970"))
				if design.law.Sides {
					out = append(out, r.share(design.name, kind+pair.name+" by the first kind alone, covered", NoBar, ""))
				}
			}
			wide, shared := NoBar, NoBar
			if kind == kinds[0] {
				wide, shared = AtLeast(.975), AtLeast(.03)
			}
			if design.law.Sides {
				out = append(out, r.gap(design.name, kind+pairs[0].name+" covered, by both kinds less by the first alone",
					kind+pairs[0].name+" covered", kind+pairs[0].name+" by the first kind alone, covered", shared, ""))
			}
			out = append(out, r.share(design.name, kind+pairs[0].name+" drawn apart, covered", wide, ".98–.99"),
				r.share(design.name, kind+", equal curves: rejected", AtMost(.065), ""))
		}
	}
	return out, nil
}

func (m method) playLevels(ctx context.Context, o Options, seed string, law simulate.League) (results, error) {
	truth := make([][]*simulate.Truth, len(kinds))
	for v := range kinds {
		truth[v] = law.TruthAt(v, 0)
	}
	return m.play(ctx, o, seed, law, 600, func(g *league, s scores) {
		for v, kind := range kinds {
			var f [2][2]fitted
			for c := range f {
				for i := range f[c] {
					f[c][i] = g.fit(at{v, c, i}, g.draws)
				}
			}
			for _, pair := range pairs {
				for _, ab := range pair.cells {
					a, b := f[ab[0][0]][ab[0][1]], f[ab[1][0]][ab[1][1]]
					want := func(x float64) float64 {
						return truth[v][ab[0][0]].At(ab[0][1], x) - truth[v][ab[1][0]].At(ab[1][1], x)
					}
					s.levels(kind+pair.name, a, b, want)
					if pair.name == pairs[0].name {
						s.levels(kind+pair.name+" drawn apart,", a, g.fit(at{v, ab[1][0], ab[1][1]}, g.apart), want)
					}
					if law.Sides {
						a.way, b.way = nil, nil
						s.levels(kind+pair.name+" by the first kind alone,", a, b, want)
					}
				}
			}
			s.levels(kind+", equal curves:", f[1][0], f[1][1], func(float64) float64 { return 0 })
		}
	})
}

// one returns the only confirmed edge of a curve that answers to the only true
// one; false where there are none or more.
func one(b *stats.Band, truth []simulate.TrueEdge) (stats.Edge, float64, bool) {
	e := b.Edges().Confirmed
	if len(e) != 1 || len(truth) != 1 || e[0].Up != truth[0].Up {
		return stats.Edge{}, 0, false
	}
	return e[0], truth[0].X, true
}

// breaks counts how often the interval of the difference of two edges holds the
// truth, where both are confirmed.
func (s scores) breaks(of string, a, b *stats.Band, ta, tb []simulate.TrueEdge) {
	ea, xa, ok := one(a, ta)
	eb, xb, ok2 := one(b, tb)
	s.hit(of+" both confirmed", ok && ok2)
	if !ok || !ok2 {
		return
	}
	d, _ := stats.EdgeContrast(a, b, ea, eb)
	s.hit(of+" covered", d.Lo <= xa-xb && xa-xb <= d.Hi)
	s.hit(of+" said to differ", d.Lo > 0 || d.Hi < 0)
	s.hit(of+" a limit open", math.IsInf(d.Lo, 0) || math.IsInf(d.Hi, 0))
}

// breakFindings are those of breaks; the bar of coverage holds where both edges are
// confirmed in at least .4 of the leagues.
func (r results) breakFindings(design, of string, earlier string) []Finding {
	bar := breakBar
	if !(r.rate(of+" both confirmed") >= .4) {
		bar = NoBar
	}
	return []Finding{r.share(design, of+" both confirmed", NoBar, ""), r.share(design, of+" covered", bar, earlier)}
}

// breakpointContrast judges differences of two confirmed edges against the median
// line over both crews.
func (m method) breakpointContrast(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, d := range []struct {
		name  string
		sets  int
		cells [2][]simulate.Cell
	}{
		{"edges that differ", 800, [2][]simulate.Cell{{cell(simulate.Mono, .06), cell(simulate.Mono, -.03)}, {cell(simulate.Mono, -.06), cell(simulate.Mono, .03)}}},
		{"equal edges", 1600, smooth.cells},
		{"opposite directions", 800, [2][]simulate.Cell{{cell(simulate.Mono, 0), cell(fall, 0)}, {cell(fall, 0), cell(simulate.Mono, 0)}}},
	} {
		law := shape{cells: d.cells}.league([2]int{120, 300})
		seed := "breakpoint contrast " + d.name
		truth := law.Truth(0, simulate.MedianLine, seedOf(o, seed))
		r, err := m.play(ctx, o, seed, law, d.sets, func(g *league, s scores) {
			line := g.line(0, simulate.MedianLine)
			other := *g // drawn apart, the line too
			other.draws = g.apart
			lineApart := other.line(0, simulate.MedianLine)
			var b [2][2]*stats.Band
			var apart [2]*stats.Band // of each crew's second cell
			for c := range b {
				for i := range b[c] {
					b[c][i] = g.fit(at{0, c, i}, g.draws).against(line)
				}
				apart[c] = g.fit(at{0, c, 1}, g.apart).against(lineApart)
			}
			for c := range b {
				s.breaks("one crew:", b[c][0], b[c][1], truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("one crew, drawn apart:", b[c][0], apart[c], truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("two crews:", b[0][c], b[1][c], truth[0].Edges[c], truth[1].Edges[c])
			}
		})
		if err != nil {
			return nil, err
		}
		out = append(out, r.breakFindings(d.name, "one crew:", ".924–.98")...)
		out = append(out, r.breakFindings(d.name, "two crews:", ".924–.98")...)
		out = append(out, r.share(d.name, "one crew, drawn apart: covered", NoBar, ""))
		switch d.name {
		case "equal edges":
			out = append(out, r.share(d.name, "one crew: said to differ", AtMost(.05), ""), r.share(d.name, "two crews: said to differ", AtMost(.05), ""))
		case "opposite directions":
			out = append(out, r.gap(d.name, "one crew: covered, joint less drawn apart", "one crew: covered", "one crew, drawn apart: covered", AtLeast(.03), ".045"))
		}
	}
	return out, nil
}

// seasons judges contrasts of two seasons of the same clusters, whose effects
// correlate by .8 and of which .3 play in one season only.
func (m method) seasons(ctx context.Context, o Options) ([]Finding, error) {
	const design = "120 and 300 clusters"
	law := smooth.league([2]int{120, 300}).Then(.8, func(crew int, d *simulate.Design) {
		d.Cells[0].Shift, d.Cells[1].Shift = .1, .02 // the line moves too
	})
	law.Turnover = .3
	truth := [2][]*simulate.Truth{}
	for v := range truth {
		truth[v] = law.Truth(v, simulate.MedianLine, seedOf(o, "seasons"))
	}
	r, err := m.play(ctx, o, "seasons", law, 800, func(g *league, s scores) {
		var line [2]stats.Line
		for v := range line {
			line[v] = g.line(v, simulate.MedianLine)
		}
		other := *g
		other.draws = g.apart
		lineApart := other.line(1, simulate.MedianLine)
		for c := range law.Views[0].Crews {
			for i := range law.Views[0].Crews[c].Cells {
				a, b := g.fit(at{0, c, i}, g.draws), g.fit(at{1, c, i}, g.draws)
				apart := g.fit(at{1, c, i}, g.apart)
				change := func(x float64) float64 { return truth[0][c].At(i, x) - truth[1][c].At(i, x) }
				s.levels("level:", a, b, change)
				s.levels("level, drawn apart:", a, apart, change)
				before, e0, e1 := a.against(line[0]), truth[0][c].Edges[i], truth[1][c].Edges[i]
				s.breaks("edge:", before, b.against(line[1]), e0, e1)
				s.breaks("edge, drawn apart:", before, apart.against(lineApart), e0, e1)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	out := []Finding{r.share(design, "level: covered", levelBar, ""), r.share(design, "level, drawn apart: covered", AtLeast(.975), ".98–.99")}
	out = append(out, r.breakFindings(design, "edge:", "")...)
	return append(out, r.share(design, "edge, drawn apart: covered", NoBar, ""),
		r.gap(design, "level: covered, drawn apart less joint", "level, drawn apart: covered", "level: covered", AtLeast(.01), "")), nil
}
