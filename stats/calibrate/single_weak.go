package calibrate

import (
	"context"
	"fmt"
	"math"

	"sill/stats/simulate"
)

// weakened flattens a curve about its value in the middle.
func weakened(c simulate.Curve, by float64) simulate.Curve {
	middle := c.At(0)
	return simulate.Curve{Name: fmt.Sprintf("%g of %s", by, c.Name), At: func(z float64) float64 { return middle + by*(c.At(z)-middle) }}
}

// weak looks at edges that few to most data sets confirm. The designs are sorted
// by how often the edge was confirmed, not by what they were meant to be.
//
// The warning of low power marks such edges poorly: one data set says little about
// how many would confirm its edge. On 1,500 edges, of those confirmed in .05 to
// .15, .15 to .3, .3 to .5, .5 to .75 and more of the sets it was carried by .74,
// .68, .60, .46, .27. A rule in plain words told them apart better: the largest |T|
// of both sides less than 1 beyond the critical value, .61, .49, .35, .22, .10. The
// intervals that carry the warning covered .985, the others .958: being weak, they
// are wide or open.
func weak(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, c := range []struct {
		curve    simulate.Curve
		by       []float64
		clusters int
	}{
		{simulate.Mono, []float64{.3, .45, .6}, 60},
		{simulate.Mono, []float64{.25, .35, .5, .75}, 120},
		{simulate.Tick, []float64{.7, 1, 1.4}, 60},
		{simulate.Tick, []float64{.5, .75, 1, 1.4}, 120},
	} {
		for _, by := range c.by {
			d := simulate.Default(weakened(c.curve, by))
			d.Clusters = c.clusters
			plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters", d.Cells[0].Curve.Name, c.clusters),
				design: underLine(d, simulate.Mono, simulate.Null), sets: scant, lines: bothLines, cells: 1})
		}
	}
	reports, err := o.judge(ctx, "weak", plans)
	if err != nil {
		return nil, err
	}
	groups := []struct {
		name     string
		lo, hi   float64
		all, bar Bar
		earlier  string
	}{
		{"confirmed in under .05 of sets", 0, .05, NoBar, NoBar, ""},
		{"confirmed in .05 to .15 of sets", .05, .15, NoBar, NoBar, ".81–.96"},
		{"confirmed in .15 to .3 of sets", .15, .3, AtLeast(.93), AtLeast(.88), ".950"},
		{"confirmed in .3 to .5 of sets", .3, .5, AtLeast(.93), AtLeast(.88), ".953"},
		{"confirmed in .5 of sets and more", .5, 2, AtLeast(.93), AtLeast(.88), ""},
	}
	var out []Finding
	for _, g := range groups {
		var cover, bare, flagged, hit, unpinned simulate.Share
		lowest := Finding{Value: math.NaN()}
		n := 0
		for i, p := range plans {
			for r := range p.lines {
				e := reports[i][r].Cells[0].Edges[0]
				if share := e.Confirmed.Rate(); !(share >= g.lo && share < g.hi) || e.Covered.Of == 0 {
					continue
				}
				n++
				cover, bare = cover.Plus(e.Covered), bare.Plus(e.Plain)
				flagged, hit, unpinned = flagged.Plus(e.Weak), hit.Plus(e.WeakHit), unpinned.Plus(e.Open)
				if f := ShareFinding(g.name, "edge covered, lowest design", e.Covered, g.bar, ""); !(f.Value >= lowest.Value) {
					lowest = f
				}
			}
		}
		if n == 0 {
			continue
		}
		out = append(out,
			ShareFinding(g.name, fmt.Sprintf("edge covered, %d designs together", n), cover, g.all, g.earlier),
			lowest,
			ShareFinding(g.name, "edge covered by plain limits", bare, NoBar, ""),
			ShareFinding(g.name, "a limit is open", unpinned, NoBar, ""),
			ShareFinding(g.name, "edge carries the warning of low power", flagged, NoBar, ""),
			ShareFinding(g.name, "edge with that warning covered", hit, NoBar, ""))
	}
	return out, nil
}
