package calibrate

import (
	"context"
	"fmt"
	"math"
)

// weakened flattens a curve about its value in the middle.
func weakened(c Curve, by float64) Curve {
	middle := c.At(0)
	return Curve{Name: fmt.Sprintf("%g of %s", by, c.Name), At: func(z float64) float64 { return middle + by*(c.At(z)-middle) }}
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
		curve    Curve
		by       []float64
		clusters int
	}{
		{Mono, []float64{.3, .45, .6}, 60},
		{Mono, []float64{.25, .35, .5, .75}, 120},
		{Tick, []float64{.7, 1, 1.4}, 60},
		{Tick, []float64{.5, .75, 1, 1.4}, 120},
	} {
		for _, by := range c.by {
			curve := weakened(c.curve, by)
			plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters", curve.Name, c.clusters),
				design: underLine(crewed(curve, c.clusters), Mono, Null), sets: scant, lines: bothLines})
		}
	}
	all, err := o.judge(ctx, "weak", plans)
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
		sums := NewScores()
		lowest := Finding{Value: math.NaN()}
		n := 0
		for _, j := range all {
			for _, line := range j.lines {
				covered := j.Total(edgeCovered + against(line))
				if share := j.Rate(edgeConfirmed + against(line)); !(share >= g.lo && share < g.hi) || covered.Of == 0 {
					continue
				}
				n++
				for _, measure := range []string{edgeCovered, edgePlain, edgeOpen, edgeWarned, edgeWarnedRight} {
					sums.Count(measure, j.Total(measure+against(line)))
				}
				if f := ShareFinding(g.name, "edge covered, lowest design", covered, g.bar, ""); !(f.Value >= lowest.Value) {
					lowest = f
				}
			}
		}
		if n == 0 {
			continue
		}
		t := Results{sums}.Sheet(g.name)
		t.Share(edgeCovered, g.all, g.earlier).Measure = fmt.Sprintf("edge covered, %d designs together", n)
		t.Add(lowest)
		for _, measure := range []string{edgePlain, edgeOpen, edgeWarned, edgeWarnedRight} {
			t.Share(measure, NoBar, "")
		}
		out = append(out, t.Findings...)
	}
	return out, nil
}
