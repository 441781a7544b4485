package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/stats"
)

// onLine shifts the first cell until a value of it lies exactly on the line.
func onLine(d Design, r Reference, seed uint64, value func(*Truth) float64) Design {
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
func overall(t *Truth) float64 { return t.Overall[0] }

func valueAt(x float64) func(*Truth) float64 {
	return func(t *Truth) float64 { return t.At(0, x) }
}

// flat looks at a flat curve among others that make the line with it.
func flat(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, line := range bothLines {
		d := underLine(Default(Null), Mono, Two)
		name := func(where string) string { return "flat " + where + " the " + line.String() }
		on := onLine(d, line, o.stream("flat/"+name("on")), overall)
		for _, c := range []struct {
			where string
			shift float64
		}{{"on", 0}, {"above", .3}, {"below", -.3}} {
			e := on
			e.Cells = slices.Clone(on.Cells)
			e.Cells[0].Shift += c.shift
			plans = append(plans, plan{name: name(c.where), design: e, sets: many, lines: []Reference{line}})
		}
	}
	return o.each(ctx, "flat", plans, func(_ int, j judged) {
		bar, before := AtMost(.01), "≤ .003"
		if strings.HasPrefix(j.name, "flat on ") {
			bar, before = AtMost(.03), "≤ .015"
		}
		found := j.Total(curveFound + against(j.lines[0]))
		j.share(curveFound, found, bar, before)
		j.share("size at p < .05", j.Total(rejected), AtMost(.065), ".048")
	})
}

// below is the z that a share of events lies below.
func below(share float64) float64 { return Spread * math.Sqrt2 * math.Erfinv(2*share-1) }

// sliver is good, but for the share of events with the smallest x, where it is
// bad.
func sliver(share float64) Curve {
	z := below(share)
	return Curve{Name: fmt.Sprintf("bad in a sliver of %g", share), At: func(x float64) float64 { return .20 + .12/(1+math.Exp(-4*(x-z))) }}
}

// turned is a curve upside down about .25.
func turned(c Curve) Curve {
	return Curve{Name: c.Name + ", turned", At: func(z float64) float64 { return .5 - c.At(z) }}
}

// levels looks at what is said of whole curves, where it is wrong.
func levels(ctx context.Context, o Options) ([]Finding, error) {
	touch := Curve{Name: "good but for a touch of the line", At: func(z float64) float64 { return .25 + .05*(1-math.Exp(-z*z/2)) }}
	var plans []plan
	add := func(c Curve, clusters int, value func(*Truth) float64, run bool) {
		d, name := Default(c), fmt.Sprintf("%s, %d clusters", c.Name, clusters)
		if run {
			d, name = RunValues(c), "run values, "+name
		}
		d.Clusters = clusters
		d = onLine(underLine(d, Null, Null), MedianLine, o.stream("levels/"+name), value)
		plans = append(plans, plan{name: name, design: d, sets: some, lines: medianLine})
	}
	// What is said of the central 90 % of events.
	for _, c := range []Curve{touch, turned(touch)} {
		add(c, 120, valueAt(VelocityLike.Centre), false)
		add(c, 300, valueAt(VelocityLike.Centre), false)
	}
	narrow := map[string]bool{} // less than a tenth of the events lie on the other side, as the words of the verdict allow for
	for _, share := range []float64{.03, .08, .10, .12} {
		x, first := VelocityLike.Centre+below(share), len(plans)
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
	for _, c := range []Curve{Null, Mono, Two} {
		add(c, 60, overall, false)
		add(c, 120, overall, false)
		add(c, 300, overall, true)
	}
	var throughout, above, below Share
	const earlier, earlierOverall = "≤ .025", ".018–.031"
	name := against(MedianLine)
	out, err := o.each(ctx, "levels", plans, func(_ int, j judged) {
		always, never := j.Total(alwaysWrong+name), j.Total(neverWrong+name)
		throughout = throughout.Plus(always).Plus(Share{Hits: never.Hits})
		j.share(alwaysWrong, always, AtMost(.04), earlier)
		j.share(neverWrong, never, AtMost(.04), earlier)
		truth := j.truths[0]
		sign, whole := truth.Throughout(0)
		what, bar := "said always above or below, true of the central 90 %", NoBar
		if sign == 0 {
			what, bar = "said always above or below, wrong of part of the central 90 %", AtMost(.04)
		}
		if narrow[j.name] {
			bar = NoBar
		}
		said := j.Total(saidAlways + name)
		said.Hits += j.Total(saidNever + name).Hits
		j.share(what, said, bar, "")
		j.share(what+saidTouching, j.Total(saidTouching+name), NoBar, "")
		if sign != 0 && !whole {
			j.share(saidEverywhere, j.Total(saidEverywhere+name), NoBar, "")
		}
		if math.Abs(truth.Overall[0]-truth.Line) < 1e-4 { // on the line: either is wrong
			above, below = above.Plus(j.Total(saidAbove+name)), below.Plus(j.Total(saidBelow+name))
			j.share(saidAbove, j.Total(saidAbove+name), AtMost(.04), earlierOverall)
			j.share(saidBelow, j.Total(saidBelow+name), AtMost(.04), earlierOverall)
		}
	})
	return append(out,
		ShareFinding("all designs", "said always above or below the line, wrong at a node", throughout, AtMost(.04), earlier),
		ShareFinding("designs on the line", saidAbove, above, AtMost(.04), earlierOverall),
		ShareFinding("designs on the line", saidBelow, below, AtMost(.04), earlierOverall)), err
}

// line looks at the median line itself.
func line(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, run := range []bool{false, true} {
		for _, workload := range []float64{0, .5} {
			for _, second := range []float64{0, .28} {
				d, name := Default(Mono), "rates"
				if run {
					d, name = RunValues(Mono), "run values"
				}
				d = underLine(d, Two, Null)
				d.Workload, d.SecondSD = workload, second
				if second == 0 {
					d.Second = 0
				}
				plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters, talent and workload correlate %g, second clusters %g", name, d.Clusters, workload, second),
					design: d, sets: some, lines: bothLines})
			}
		}
	}
	return o.each(ctx, "line", plans, func(_ int, j judged) {
		bias, before := .0015, "≤ .0010"
		if j.design.Kind == stats.Mean {
			bias, before = .0025, ".0015"
		}
		j.Mean(MedianLine.String()+lineOff, Between(-bias, bias), before)
		j.Share(MedianLine.String()+lineCovered, AtLeast(.92), ".923–.954")
		j.Share(PooledLine.String()+lineCovered, AtLeast(.92), "")
	})
}
