package calibrate

import (
	"context"
	"fmt"

	"sill/stats/simulate"
)

// curves is the first study: one cell, its own line, one kind of cluster.
func curves(ctx context.Context, o Options) ([]Finding, error) {
	plans := []plan{
		{name: "mono, 120 clusters", design: simulate.Default(simulate.Mono), sets: many, lines: bothLines},
		{name: "two, 120 clusters", design: simulate.Default(simulate.Two), sets: many, lines: bothLines},
		{name: "band, 120 clusters", design: simulate.Default(simulate.Band), sets: many, lines: bothLines},
		{name: "tick, 120 clusters", design: simulate.Default(simulate.Tick), sets: many, lines: bothLines},
		{name: "null, 120 clusters", design: simulate.Default(simulate.Null), sets: 3 * many, lines: bothLines},
		{name: "mono run values, 300 clusters", design: simulate.RunValues(simulate.Mono), sets: many, lines: bothLines},
	}
	reports, err := o.judge(ctx, "curves", plans)
	if err != nil {
		return nil, err
	}
	coverage := []Bar{Between(.93, .98), Between(.915, .975), Between(.915, .975), AtLeast(.90), NoBar, AtLeast(.925)}
	earlier := [][2]string{{".954", ".954"}, {".938–.952", ".938–.952"}, {".938–.952", ".938–.952"}, {".941", ".931"}, {}, {".952", ".986"}}
	power := []Bar{AtLeast(.98), AtLeast(.98), AtLeast(.98), AtLeast(.80), AtMost(.065), NoBar}
	powerEarlier := []string{"≥ .999", "≥ .999", "≥ .999", ".855", ".048", ""}
	var out []Finding
	for i, p := range plans {
		first := reports[i][0].Cells[0]
		what := "power at p < .05"
		if len(first.Edges) == 0 {
			what = "size at p < .05"
		}
		out = append(out, ShareFinding(p.name, what, first.Rejected, power[i], powerEarlier[i]))
		for r, line := range p.lines {
			cell, name := reports[i][r].Cells[0], ", "+nameOfLines[line]
			switch i {
			case 4: // a flat curve
				bar, before := AtMost(.025), ".008"
				if line == simulate.PooledLine {
					bar, before = AtMost(.05), ".035"
				}
				out = append(out, ShareFinding(p.name, "found at p < .05"+name, cell.Found, bar, before))
				continue
			case 0:
				bar, before := AtMost(.50), ".44"
				if line == simulate.PooledLine {
					bar, before = AtMost(.42), ".37"
				}
				out = append(out, rmseFinding(p.name, "root mean square error of the edge"+name, cell.Edges[0], bar, before))
			case 1:
				out = append(out, ShareFinding(p.name, "structure exact when found"+name, cell.Structure, AtLeast(.90), ".95"))
			}
			out = append(out,
				ShareFinding(p.name, "edge confirmed"+name, sum(cell.Edges, confirmed), NoBar, ""),
				ShareFinding(p.name, "edge covered"+name, sum(cell.Edges, covered), coverage[i], earlier[i][r]))
		}
	}
	return out, nil
}

// bins looks at the intervals of raw rates, with one kind of cluster and two.
func bins(ctx context.Context, o Options) ([]Finding, error) {
	two := simulate.Default(simulate.Mono)
	two.Second, two.SecondSD = 250, .28
	few := two
	few.Clusters = 25
	plans := []plan{
		{name: "mono, 120 clusters", design: simulate.Default(simulate.Mono), sets: many, lines: pooledLine},
		{name: "mono, 120 clusters, second clusters", design: two, sets: some, lines: pooledLine},
		{name: "mono, 25 clusters, second clusters", design: few, sets: 2 * some, lines: pooledLine},
		{name: "mono run values, 300 clusters", design: simulate.RunValues(simulate.Mono), sets: many, lines: pooledLine},
	}
	reports, err := o.judge(ctx, "bins", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, p := range plans {
		for k, s := range reports[i][0].Cells[0].Bins {
			if s.Of < 30 {
				continue // hardly a bin of this class in the design
			}
			what := fmt.Sprintf("bin covered, %g effective clusters and more", simulate.Classes[k])
			if k+1 < len(simulate.Classes) {
				what = fmt.Sprintf("bin covered, %g to %g effective clusters", simulate.Classes[k], simulate.Classes[k+1])
			}
			out = append(out, ShareFinding(p.name, what, s, Between(.935, .985), ".948–.974"))
		}
	}
	return out, nil
}

// size looks at a smooth curve and a tick under the line that they make with other
// cells, with second clusters that differ and without.
func size(ctx context.Context, o Options) ([]Finding, error) {
	bars := map[int]struct {
		most   float64
		before string
	}{60: {.65, ".56"}, 120: {.52, ".45"}, 180: {.46, ".40"}, 300: {.36, ".31"}}
	var plans []plan
	for _, c := range []struct {
		curve  simulate.Curve
		second float64
	}{{simulate.Mono, 0}, {simulate.Mono, .28}, {simulate.Tick, .28}} {
		for _, n := range []int{60, 120, 180, 300} {
			d := simulate.Default(c.curve)
			d.Clusters = n
			d = underLine(d, simulate.Mono, simulate.Null)
			d.SecondSD = c.second
			plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters, second clusters %g", c.curve.Name, n, c.second), design: d, sets: some, lines: bothLines, cells: 1})
		}
	}
	reports, err := o.judge(ctx, "size", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, p := range plans {
		smooth := p.design.Cells[0].Curve.Name == simulate.Mono.Name
		for r, line := range p.lines {
			name, e := ", "+nameOfLines[line], reports[i][r].Cells[0].Edges[0]
			off, before := NoBar, ""
			if b := bars[p.design.Clusters]; smooth && line == simulate.MedianLine {
				off, before = AtMost(b.most), b.before
			}
			coverage, earlier := NoBar, ""
			switch share := e.Confirmed.Rate(); {
			case smooth && share >= .5:
				coverage, earlier = Between(.915, .985), ".935–.979"
			case !smooth && share >= .44:
				coverage, earlier = AtLeast(.90), ".925–.956"
			}
			out = append(out,
				ShareFinding(p.name, "edge confirmed"+name, e.Confirmed, NoBar, ""),
				rmseFinding(p.name, "root mean square error of the edge"+name, e, off, before),
				ShareFinding(p.name, "edge covered by plain limits"+name, e.Plain, coverage, earlier).recall(),
				ShareFinding(p.name, "edge covered"+name, e.Covered, edgeBar(smooth, e.Confirmed.Rate()), ""))
		}
	}
	return out, nil
}

// edgeBar is what confirmed edges must cover, by the share of sets that confirm
// them; there is none where few do.
func edgeBar(smooth bool, confirmed float64) Bar {
	switch {
	case !(confirmed >= .3):
		return NoBar
	case smooth:
		return Between(.93, .985)
	}
	return Between(.93, .98)
}

// angle looks at edges of a variable that varies mostly within clusters.
func angle(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, n := range []int{60, 120, 300} {
		d := simulate.Default(simulate.Mono)
		d.Clusters, d.X = n, simulate.AngleLike
		plans = append(plans, plan{name: fmt.Sprintf("mono on an angle, %d clusters", n), design: underLine(d, simulate.Mono, simulate.Null), sets: some, lines: bothLines, cells: 1})
	}
	reports, err := o.judge(ctx, "angle", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, p := range plans {
		for r, line := range p.lines {
			name, e := ", "+nameOfLines[line], reports[i][r].Cells[0].Edges[0]
			out = append(out,
				ShareFinding(p.name, "edge confirmed"+name, e.Confirmed, NoBar, ""),
				ShareFinding(p.name, "edge covered"+name, e.Covered, AtLeast(.925), ".952–.961"),
				rmseFinding(p.name, "root mean square error of the edge"+name, e, NoBar, ".13–.23"))
		}
	}
	return out, nil
}
