package calibrate

import (
	"context"
	"math"

	"sill/stats"
)

// jointZones judges the stretches where a proportion and run values of the same
// trials both beat their lines: published where both curves are found, from the
// larger lower to the smaller upper end of two certain zones.
func jointZones(ctx context.Context, o Options) ([]Finding, error) {
	const published, wrongly, inside, events = "published", "published and not inside the true zone", "inside the true zone", "events truly inside"
	null := cell(Null, 0)
	var plans []leaguePlan
	for _, d := range []struct {
		name        string
		share, runs Cell
		flat        bool // one of the curves: every joint zone is false
	}{
		{"both smooth", cell(Mono, 0), cell(fall, 0), false},
		{"both smooth, edges apart", cell(Mono, .1), cell(fall, .1), false},
		{"both smooth, opposed", cell(Mono, 0), cell(Mono, 0), false},
		{"band and smooth", cell(Band, 0), cell(fall, 0), false},
		{"flat proportion on its line", null, cell(fall, 0), true},
		{"flat run values on their line", cell(Mono, 0), null, true},
	} {
		law := withRuns(shape{cells: [2][]Cell{{d.share, d.share}, {d.share, d.share}}}.league([2]int{120, 300}),
			[]Cell{d.runs, d.runs}, []Cell{d.runs, d.runs})
		seed := o.stream("study joint " + d.name)
		share, runs := law.Truth(0, MedianLine, seed), law.Truth(1, MedianLine, seed)
		plans = append(plans, leaguePlan{d.name, seed, law, 600, func(g *dataset, s Scores) {
			line := [2]stats.Line{g.line(0, MedianLine, g.draws), g.line(1, MedianLine, g.draws)}
			for c := range law.Views[0].Crews {
				for i := range law.Views[0].Crews[c].Cells {
					zones, wrong := g.jointOf(c, i, line), false
					s.Hit(published, len(zones) > 0)
					for _, z := range zones {
						share := within(z, VelocityLike, func(x float64) bool {
							return share[c].At(i, x) > share[c].Line && runs[c].At(i, x) < runs[c].Line
						})
						wrong = wrong || share < 1
						s.Hit(inside, share == 1)
						s.Value(events, share)
					}
					s.Hit(wrongly, wrong)
				}
			}
		}, func(t *Sheet) {
			if d.flat {
				t.Clustered(published, AtMost(.05), "")
				return
			}
			// Both intervals hold with .95, so both together with .90 at least.
			t.Clustered(published, NoBar, "")
			t.Clustered(wrongly, AtMost(.10), "")
			insideBar, eventsBar := AtLeast(.90), AtLeast(.95)
			if !(t.Rate(published) > .05) { // too few to tell
				insideBar, eventsBar = NoBar, NoBar
			}
			t.Clustered(inside, insideBar, "")
			t.Mean(events, eventsBar, "")
		}})
	}
	return o.leagues(ctx, plans...)
}

// jointOf returns the certain joint zones of a cell as {from, to}.
func (g *dataset) jointOf(crew, cell int, line [2]stats.Line) [][2]float64 {
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
func within(zone [2]float64, law Law, holds func(x float64) bool) float64 {
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
