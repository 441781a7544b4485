package calibrate

import (
	"context"
	"fmt"

	"sill/stats"
	"sill/stats/simulate"
)

// strata judges a third of the trials against the line of all.
func (m method) strata(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	sizes := [2]int{120, 300}
	for _, d := range []struct {
		name    string
		stratum simulate.Cell // the others are Mono
		flat    bool
		most    float64 // found where flat
		earlier string
	}{
		{"smooth stratum", cell(simulate.Mono, .1), false, 0, ""},
		{"flat stratum at the line", cell(simulate.Null, 0), true, .03, "≤ .015"},
		{"flat stratum above the line", cell(simulate.Null, .15), true, .01, "≤ .003"},
	} {
		// by side of the plate, the stratum first
		crew := func(n int) simulate.Design {
			c := crewOf(n, d.stratum, cell(simulate.Mono, 0), d.stratum, cell(simulate.Mono, 0))
			for i := range c.Cells {
				c.Cells[i].Share = [...]float64{1. / 6, 1. / 3}[i%2]
			}
			return c
		}
		law := simulate.NewLeague(crew(sizes[0]), crew(sizes[1]))
		seed := "strata " + d.name
		truth := law.Truth(0, simulate.MedianLine, seedOf(o, seed))
		r, err := m.play(ctx, o, seed, law, 600, func(g *league, s scores) {
			line := g.line(0, simulate.MedianLine)
			for c := range law.Views[0].Crews {
				for _, i := range []int{0, 2} {
					f := g.fit(at{0, c, i}, g.draws)
					edges := f.against(line).Edges().Confirmed
					s.edges(edgeOf(sizes[c], "median line"), edges, truth[c].Edges[i])
					if d.flat {
						p := g.p(at{0, c, i}, f)
						s.hit("rejected", p < judgedAt)
						s.hit("found", p < judgedAt && len(edges) > 0)
					}
				}
			}
		})
		if err != nil {
			return nil, err
		}
		if d.flat {
			out = append(out, r.share(d.name, "rejected", AtMost(.065), ".048"), r.share(d.name, "found", AtMost(d.most), d.earlier))
			continue
		}
		for _, n := range sizes {
			out = append(out, r.edgeFindings(d.name, edgeOf(n, "median line"), smoothBar, .5, "")...)
		}
	}
	return out, nil
}

// fixedLine judges against a line that was given, without error.
func (m method) fixedLine(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	sizes := [2]int{60, 180}
	flat := shape{cells: [2][]simulate.Cell{{cell(simulate.Null, 0), cell(simulate.Null, 0)}, {cell(simulate.Null, 0), cell(simulate.Null, 0)}}}
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
		law := d.shape.league(sizes)
		line := law.TruthAt(0, 0)[0].At(0, simulate.VelocityLike.Centre+d.at*simulate.Spread)
		truth := law.TruthAt(0, line)
		r, err := m.play(ctx, o, "fixed "+d.name, law, 600, func(g *league, s scores) {
			for c := range sizes {
				for i := range law.Views[0].Crews[c].Cells {
					f := g.fit(at{0, c, i}, g.draws)
					b := f.against(stats.Line{Value: line})
					edges := b.Edges().Confirmed
					s.edges(fmt.Sprintf("edge, %d clusters:", sizes[c]), edges, truth[c].Edges[i])
					// every curve here touches or crosses the line inside the central 90 %
					sign, _ := b.Throughout()
					s.hit("always or never, wrongly", sign != 0)
					if d.name == "flat on the line" {
						p := g.p(at{0, c, i}, f)
						s.hit("rejected", p < judgedAt)
						s.hit("found", p < judgedAt && len(edges) > 0)
					}
				}
			}
		})
		if err != nil {
			return nil, err
		}
		if d.shape.name != "" {
			for _, n := range sizes {
				out = append(out, r.edgeFindings(d.name, fmt.Sprintf("edge, %d clusters:", n), d.shape.bar, d.shape.often, "")...)
			}
		} else {
			out = append(out, r.share(d.name, "rejected", AtMost(.065), ".048"), r.share(d.name, "found", AtMost(.03), "≤ .015"))
		}
		out = append(out, r.share(d.name, "always or never, wrongly", AtMost(.04), "≤ .025"))
	}
	return out, nil
}

// runValues judges run values of fewer than 100 clusters.
func (m method) runValues(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, sizes := range [][2]int{{30, 90}, {60, 95}} {
		design := fmt.Sprintf("%d and %d clusters", sizes[0], sizes[1])
		crew := func(n int) simulate.Design {
			d := crewOf(n, cell(fall, 0), cell(fall, .05))
			runsOf(&d)
			return d
		}
		law := simulate.NewLeague(crew(sizes[0]), crew(sizes[1]))
		seed := "runs " + design
		truth := law.Truth(0, simulate.MedianLine, seedOf(o, seed))
		r, err := m.play(ctx, o, seed, law, 800, func(g *league, s scores) {
			line := g.line(0, simulate.MedianLine)
			s.value(lineError, line.Value-truth[0].Line)
			s.hit("median line covered", g.lineCovered(0, simulate.MedianLine, line, truth[0].Line))
			var f [2][2]fitted
			var b [2][2]*stats.Band
			for c := range f {
				for i := range f[c] {
					f[c][i] = g.fit(at{0, c, i}, g.draws)
					b[c][i] = f[c][i].against(line)
					s.edges(edgeOf(sizes[c], "median line"), b[c][i].Edges().Confirmed, truth[c].Edges[i])
				}
			}
			for c := range f {
				s.levels("level, one crew:", f[c][0], f[c][1], func(x float64) float64 { return truth[c].At(0, x) - truth[c].At(1, x) })
				s.levels("level, two crews:", f[0][c], f[1][c], func(x float64) float64 { return truth[0].At(c, x) - truth[1].At(c, x) })
				s.breaks("edge, one crew:", b[c][0], b[c][1], truth[c].Edges[0], truth[c].Edges[1])
				s.breaks("edge, two crews:", b[0][c], b[1][c], truth[0].Edges[c], truth[1].Edges[c])
			}
		})
		if err != nil {
			return nil, err
		}
		for _, n := range sizes {
			out = append(out, r.edgeFindings(design, edgeOf(n, "median line"), smoothBar, .5, "")...)
		}
		for _, pair := range []string{"one crew:", "two crews:"} {
			out = append(out, r.share(design, "level, "+pair+" covered", levelBar, ""))
			out = append(out, r.breakFindings(design, "edge, "+pair, "")...)
		}
		out = append(out, r.share(design, "median line covered", AtLeast(.92), ""),
			r.mean(design, lineError, Between(-.0025, .0025), ".0015"))
	}
	return out, nil
}

// workload judges edges where clusters with more trials are better, so that the
// rate of all events lies above that of the median cluster.
func (m method) workload(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, tied := range []float64{0, .5} {
		design := fmt.Sprintf("correlation %g", tied)
		law := smooth.league([2]int{60, 180})
		for c := range law.Views[0].Crews {
			law.Views[0].Crews[c].Workload = tied
		}
		r, err := m.playEdges(ctx, o, "workload "+design, law, 600)
		if err != nil {
			return nil, err
		}
		bar := NoBar
		if tied > 0 {
			bar = AtLeast(.90)
		}
		out = append(out, r.share(design, tooFar, bar, ""), r.share(design, "median line covered", AtLeast(.92), ""),
			r.mean(design, lineError, Between(-.0015, .0015), "≤ .0010"))
		out = append(out, r.linesFindings(design, law, smooth)...)
	}
	return out, nil
}
