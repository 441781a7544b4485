package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sill/stats"
	"sill/stats/simulate"
)

// onLine shifts the first cell until a value of it lies exactly on the line.
func onLine(d simulate.Design, r simulate.Reference, seed uint64, value func(*simulate.Truth) float64) simulate.Design {
	d.Cells = slices.Clone(d.Cells)
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	unit := 1.0
	if d.Kind == stats.Mean {
		unit = 1.03 // about what an event that counts is worth
	}
	for range 3 {
		t := d.Truth(r, seed)
		gap := logit(t.Line/unit) - logit(value(t)/unit)
		// The line follows the cell by the cell's share.
		d.Cells[0].Shift += gap / (1 - d.Cells[0].Share)
	}
	return d
}

// overall is the mean of the first cell, at its value at x.
func overall(t *simulate.Truth) float64 { return t.Overall[0] }

func valueAt(x float64) func(*simulate.Truth) float64 {
	return func(t *simulate.Truth) float64 { return t.At(0, x) }
}

// flat looks at a flat curve among others that make the line with it.
func flat(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, line := range bothLines {
		d := underLine(simulate.Default(simulate.Null), simulate.Mono, simulate.Two)
		name := func(where string) string { return "flat " + where + " the " + nameOfLines[line] }
		on := onLine(d, line, o.seed("flat", name("on")), overall)
		for _, c := range []struct {
			where string
			shift float64
		}{{"on", 0}, {"above", .3}, {"below", -.3}} {
			e := on
			e.Cells = slices.Clone(on.Cells)
			e.Cells[0].Shift += c.shift
			plans = append(plans, plan{name: name(c.where), design: e, sets: many, lines: []simulate.Reference{line}, cells: 1})
		}
	}
	reports, err := o.judge(ctx, "flat", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, p := range plans {
		bar, before := AtMost(.01), "≤ .003"
		if i%3 == 0 {
			bar, before = AtMost(.03), "≤ .015"
		}
		cell := reports[i][0].Cells[0]
		out = append(out,
			ShareFinding(p.name, "found at p < .05", cell.Found, bar, before).recall(),
			ShareFinding(p.name, "size at p < .05", cell.Rejected, AtMost(.065), ".048"))
	}
	return out, nil
}

// sliver is good, but for the share of events with the smallest x, where it is
// bad.
func sliver(share float64) simulate.Curve {
	z := simulate.Spread * math.Sqrt2 * math.Erfinv(2*share-1)
	return simulate.Curve{Name: fmt.Sprintf("bad in a sliver of %g", share), At: func(x float64) float64 { return .20 + .12/(1+math.Exp(-4*(x-z))) }}
}

// turned is a curve upside down about .25.
func turned(c simulate.Curve) simulate.Curve {
	return simulate.Curve{Name: c.Name + ", turned", At: func(z float64) float64 { return .5 - c.At(z) }}
}

// levels looks at what is said of whole curves, where it is wrong.
func levels(ctx context.Context, o Options) ([]Finding, error) {
	touch := simulate.Curve{Name: "good but for a touch of the line", At: func(z float64) float64 { return .25 + .05*(1-math.Exp(-z*z/2)) }}
	quantile := func(share float64) float64 {
		return simulate.VelocityLike.Centre + simulate.Spread*math.Sqrt2*math.Erfinv(2*share-1)
	}
	var plans []plan
	add := func(c simulate.Curve, clusters int, value func(*simulate.Truth) float64, run bool) {
		d := simulate.Default(c)
		if run {
			d = simulate.RunValues(c)
		}
		d.Clusters = clusters
		name := fmt.Sprintf("%s, %d clusters", c.Name, clusters)
		if run {
			name = "run values, " + name
		}
		d = onLine(underLine(d, simulate.Null, simulate.Null), simulate.MedianLine, o.seed("levels", name), value)
		plans = append(plans, plan{name: name, design: d, sets: some, lines: medianLine, cells: 1})
	}
	centre := simulate.VelocityLike.Centre
	// What is said of the central 90 % of events.
	for _, c := range []simulate.Curve{touch, turned(touch)} {
		add(c, 120, valueAt(centre), false)
		add(c, 300, valueAt(centre), false)
	}
	narrow := map[string]bool{} // less than a tenth of the events lie on the other side, as the words of the verdict allow for
	for _, share := range []float64{.03, .08, .10, .12} {
		x, first := quantile(share), len(plans)
		add(sliver(share), 120, valueAt(x), false)
		add(sliver(share), 300, valueAt(x), false)
		add(turned(sliver(share)), 300, valueAt(x), false)
		if share > .05 { // else true of the central 90 %
			add(sliver(share), 300, valueAt(x), true)
		}
		for _, p := range plans[first:] {
			narrow[p.name] = share < .10
		}
	}
	// What is said of all events together, too.
	for _, c := range []simulate.Curve{simulate.Null, simulate.Mono, simulate.Two} {
		add(c, 60, overall, false)
		add(c, 120, overall, false)
		add(c, 300, overall, true)
	}
	reports, err := o.judge(ctx, "levels", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	var throughout, above, below simulate.Share
	for i, p := range plans {
		cell := reports[i][0].Cells[0]
		throughout = throughout.Plus(cell.AlwaysWrong).Plus(simulate.Share{Hits: cell.NeverWrong.Hits})
		out = append(out,
			ShareFinding(p.name, "said always above the line, wrong at a node", cell.AlwaysWrong, AtMost(.04), "≤ .025"),
			ShareFinding(p.name, "said always below the line, wrong at a node", cell.NeverWrong, AtMost(.04), "≤ .025"))
		said := simulate.Share{Hits: cell.Always.Hits + cell.Never.Hits, Of: cell.Always.Of}
		what, bar := "said always above or below, true of the central 90 %", NoBar
		if cell.Throughout == 0 {
			what, bar = "said always above or below, wrong of part of the central 90 %", AtMost(.04)
		}
		if narrow[p.name] {
			bar = NoBar
		}
		out = append(out,
			ShareFinding(p.name, what, said, bar, ""),
			ShareFinding(p.name, what+", were every bin that touches it looked at", cell.Touching, NoBar, ""))
		if cell.Throughout != 0 && !cell.Whole {
			out = append(out, ShareFinding(p.name, "said of every observed x, true of the central 90 % only", cell.Everywhere, NoBar, ""))
		}
		if math.Abs(cell.Overall) < 1e-4 { // on the line: either is wrong
			above, below = above.Plus(cell.Above), below.Plus(cell.Below)
			out = append(out,
				ShareFinding(p.name, "said above the line overall", cell.Above, AtMost(.04), ".018–.031"),
				ShareFinding(p.name, "said below the line overall", cell.Below, AtMost(.04), ".018–.031"))
		}
	}
	return append(out,
		ShareFinding("all designs", "said always above or below the line, wrong at a node", throughout, AtMost(.04), "≤ .025"),
		ShareFinding("designs on the line", "said above the line overall", above, AtMost(.04), ".018–.031"),
		ShareFinding("designs on the line", "said below the line overall", below, AtMost(.04), ".018–.031")), nil
}

// line looks at the median line itself.
func line(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, run := range []bool{false, true} {
		for _, workload := range []float64{0, .5} {
			for _, second := range []float64{0, .28} {
				d, name := simulate.Default(simulate.Mono), "rates"
				if run {
					d, name = simulate.RunValues(simulate.Mono), "run values"
				}
				d = underLine(d, simulate.Two, simulate.Null)
				d.Workload, d.SecondSD = workload, second
				if second == 0 {
					d.Second = 0
				}
				plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters, talent and workload correlate %g, second clusters %g", name, d.Clusters, workload, second),
					design: d, sets: some, lines: bothLines, cells: 1})
			}
		}
	}
	reports, err := o.judge(ctx, "line", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, p := range plans {
		bias, before := .0015, "≤ .0010"
		if p.design.Kind == stats.Mean {
			bias, before = .0025, ".0015"
		}
		median, pooled := reports[i][0], reports[i][1]
		out = append(out,
			MeanFinding(p.name, "median line less that of all qualified clusters", median.Bias, Between(-bias, bias), before),
			ShareFinding(p.name, "median line covered", median.Line, AtLeast(.92), ".923–.954"),
			ShareFinding(p.name, "pooled line covered", pooled.Line, AtLeast(.92), ""))
	}
	return out, nil
}
