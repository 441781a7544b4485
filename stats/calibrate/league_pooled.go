package calibrate

import (
	"context"
	"fmt"
	"slices"

	"sill/stats"
	"sill/stats/simulate"
)

// shape is what the cells of two crews look like, with the bar of their edges
// where these are confirmed often enough.
type shape struct {
	name    string
	cells   [2][]simulate.Cell
	bar     Bar
	often   float64
	earlier string
}

var (
	smooth = shape{"smooth", [2][]simulate.Cell{{cell(simulate.Mono, 0), cell(simulate.Mono, 0)}, {cell(simulate.Mono, 0), cell(simulate.Mono, 0)}},
		smoothBar, .5, ".935–.979"}
	tick = shape{"tick", [2][]simulate.Cell{{cell(simulate.Tick, 0), cell(simulate.Tick, 0)}, {cell(simulate.Tick, 0), cell(simulate.Tick, 0)}},
		tickBar, .44, ".925–.956"}
	uneven = shape{"levels that differ", [2][]simulate.Cell{{cell(simulate.Mono, .12), cell(simulate.Mono, -.06)}, {cell(simulate.Mono, -.12), cell(simulate.Mono, .06)}},
		smoothBar, .5, ".935–.973"}
)

// league makes two crews of these cells.
func (s shape) league(sizes [2]int) simulate.League {
	return simulate.NewLeague(crewOf(sizes[0], slices.Clone(s.cells[0])...), crewOf(sizes[1], slices.Clone(s.cells[1])...))
}

// lines are the lines of a league by name.
var lines = []struct {
	name      string
	reference simulate.Reference
}{{"median line", simulate.MedianLine}, {"rate line", simulate.PooledLine}}

// Measures of the lines.
const (
	lineError = "median line less the true one"
	tooFar    = "warned: rate less median above .010"
)

// rootBars hold the error of confirmed edges of smooth curves against the median
// line, by number of clusters.
var rootBars = map[int]struct {
	most    float64
	earlier string
}{60: {.65, ".56"}, 120: {.52, ".45"}, 180: {.46, ".40"}, 300: {.36, ".31"}}

// pooled judges edges against lines over both crews.
func (m method) pooled(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	var few results // edges confirmed in .15 to .5 of the leagues
	for _, sizes := range [][2]int{{30, 90}, {60, 180}, {120, 300}} {
		var all results // of a size: how its lines fare
		for _, s := range []shape{smooth, tick, uneven} {
			design := fmt.Sprintf("%s, %d and %d clusters", s.name, sizes[0], sizes[1])
			law := s.league(sizes)
			r, err := m.playEdges(ctx, o, "pooled "+design, law, 800)
			if err != nil {
				return nil, err
			}
			out = append(out, r.linesFindings(design, law, s)...)
			for _, n := range sizes {
				of := edgeOf(n, "median line")
				if root, ok := rootBars[n]; ok && s.name == smooth.name {
					out = append(out, r.root(design, of+" error", AtMost(root.most), root.earlier))
				}
				if c := r.rate(of + " confirmed"); c >= .15 && c < .5 {
					for _, one := range r {
						few = append(few, scores{hits: map[string]simulate.Share{"edge covered": one.hits[of+" covered"]}})
					}
				}
			}
			all = append(all, r...)
		}
		design := fmt.Sprintf("all shapes, %d and %d clusters", sizes[0], sizes[1])
		for _, line := range lines {
			out = append(out, all.share(design, line.name+" covered", AtLeast(.92), ".923–.954"))
		}
		out = append(out, all.mean(design, lineError, Between(-.0015, .0015), "≤ .0010"))
	}
	if len(few) > 0 {
		out = append(out, few.share("all cells confirmed in .15 to .5 of leagues", "edge covered", AtLeast(.93), ".950–.953"))
	}
	return out, nil
}

// edgeOf names the edges of cells of so many clusters.
func edgeOf(clusters int, line string) string {
	return fmt.Sprintf("edge, %d clusters, %s:", clusters, line)
}

// playEdges judges all cells of a league's first view against both lines.
func (m method) playEdges(ctx context.Context, o Options, seed string, law simulate.League, sets int) (results, error) {
	truth := make([][]*simulate.Truth, len(lines))
	for l := range lines {
		truth[l] = law.Truth(0, lines[l].reference, seedOf(o, seed))
	}
	return m.play(ctx, o, seed, law, sets, func(g *league, s scores) {
		drawn := make([]stats.Line, len(lines))
		for l, line := range lines {
			drawn[l] = g.line(0, line.reference)
			s.hit(line.name+" covered", g.lineCovered(0, line.reference, drawn[l], truth[l][0].Line))
		}
		s.value(lineError, drawn[0].Value-truth[0][0].Line)
		s.hit(tooFar, drawn[1].Value-drawn[0].Value > .010)
		for c, d := range law.Views[0].Crews {
			for i := range d.Cells {
				f := g.fit(at{0, c, i}, g.draws)
				for l, line := range lines {
					s.edges(edgeOf(d.Clusters, line.name), f.against(drawn[l]).Edges().Confirmed, truth[l][c].Edges[i])
				}
			}
		}
	})
}

// linesFindings are those of the edges of playEdges.
func (r results) linesFindings(design string, law simulate.League, s shape) []Finding {
	var out []Finding
	for _, line := range lines {
		for _, d := range law.Views[0].Crews {
			out = append(out, r.edgeFindings(design, edgeOf(d.Clusters, line.name), s.bar, s.often, s.earlier)...)
		}
	}
	return out
}
