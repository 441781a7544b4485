package calibrate

import (
	"context"
	"math"

	"sill/stats"
	"sill/stats/simulate"
)

// jointZones judges the stretches where a proportion and run values of the same
// trials both beat their lines: published where both curves are found, from the
// larger lower to the smaller upper end of two certain zones.
func (m method) jointZones(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	null := cell(simulate.Null, 0)
	for _, d := range []struct {
		name        string
		share, runs simulate.Cell
		flat        bool // one of the curves: every joint zone is false
	}{
		{"both smooth", cell(simulate.Mono, 0), cell(fall, 0), false},
		{"both smooth, edges apart", cell(simulate.Mono, .1), cell(fall, .1), false},
		{"both smooth, opposed", cell(simulate.Mono, 0), cell(simulate.Mono, 0), false},
		{"band and smooth", cell(simulate.Band, 0), cell(fall, 0), false},
		{"flat proportion on its line", null, cell(fall, 0), true},
		{"flat run values on their line", cell(simulate.Mono, 0), null, true},
	} {
		sizes := [2]int{120, 300}
		law := withRuns(shape{cells: [2][]simulate.Cell{{d.share, d.share}, {d.share, d.share}}}.league(sizes),
			[]simulate.Cell{d.runs, d.runs}, []simulate.Cell{d.runs, d.runs})
		seed := "joint " + d.name
		var truth [2][]*simulate.Truth
		for v := range truth {
			truth[v] = law.Truth(v, simulate.MedianLine, seedOf(o, seed))
		}
		r, err := m.play(ctx, o, seed, law, 600, func(g *league, s scores) {
			var line [2]stats.Line
			for v := range line {
				line[v] = g.line(v, simulate.MedianLine)
			}
			for c := range sizes {
				for i := range law.Views[0].Crews[c].Cells {
					zones := g.jointOf(c, i, line)
					s.hit("published", len(zones) > 0)
					wrong := false
					for _, z := range zones {
						beats := func(x float64) bool {
							return truth[0][c].At(i, x) > truth[0][c].Line && truth[1][c].At(i, x) < truth[1][c].Line
						}
						share := within(z, simulate.VelocityLike, beats)
						wrong = wrong || share < 1
						s.hit("inside the true zone", share == 1)
						s.value("events truly inside", share)
					}
					s.hit("published and not inside the true zone", wrong)
				}
			}
		})
		if err != nil {
			return nil, err
		}
		if d.flat {
			out = append(out, r.share(d.name, "published", AtMost(.05), ""))
			continue
		}
		// Both intervals hold with .95, so both together with .90 at least.
		out = append(out, r.share(d.name, "published", NoBar, ""), r.share(d.name, "published and not inside the true zone", AtMost(.10), ""))
		inside, events := AtLeast(.90), AtLeast(.95)
		if !(r.rate("published") > .05) { // too few to tell
			inside, events = NoBar, NoBar
		}
		out = append(out, r.share(d.name, "inside the true zone", inside, ""), r.mean(d.name, "events truly inside", events, ""))
	}
	return out, nil
}

// jointOf returns the certain joint zones of a cell as {from, to}.
func (g *league) jointOf(crew, cell int, line [2]stats.Line) [][2]float64 {
	var zones [2][]sure
	for v := range zones {
		f := g.fit(at{v, crew, cell}, g.draws)
		band := f.against(line[v])
		edges := band.Edges()
		if len(edges.Confirmed) == 0 || g.p(at{v, crew, cell}, f) >= judgedAt {
			return nil
		}
		zones[v] = certain(band, edges)
	}
	var out [][2]float64
	for _, a := range zones[0] {
		for _, b := range zones[1] {
			lo, hi := math.Max(a.lo, b.lo), math.Min(a.hi, b.hi)
			if a.sign > 0 && b.sign > 0 && lo <= hi {
				out = append(out, [2]float64{lo, hi})
			}
		}
	}
	return out
}

// within returns the share of the events of a zone at which something holds; of
// its one point where it has no width.
func within(zone [2]float64, law simulate.Law, holds func(x float64) bool) float64 {
	const steps = 100
	var in, all float64
	for k := range steps + 1 {
		x := zone[0] + (zone[1]-zone[0])*float64(k)/steps
		z := (x - law.Centre) / math.Hypot(law.Between, law.Within)
		n := math.Exp(-z * z / 2)
		all += n
		if holds(x) {
			in += n
		}
	}
	return in / all
}
