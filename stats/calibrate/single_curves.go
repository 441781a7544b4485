package calibrate

import (
	"context"
	"fmt"
	"math"
)

// curves is the first study: one cell, its own line, one kind of cluster.
func curves(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	designs := []struct {
		name         string
		design       Design
		sets         int
		covered      Bar
		earlier      [2]string // by line
		power        Bar
		earlierPower string
	}{
		{"mono, 120 clusters", Default(Mono), many, Between(.93, .98), [2]string{".954", ".954"}, AtLeast(.98), "≥ .999"},
		{"two, 120 clusters", Default(Two), many, Between(.915, .975), [2]string{".938–.952", ".938–.952"}, AtLeast(.98), "≥ .999"},
		{"band, 120 clusters", Default(Band), many, Between(.915, .975), [2]string{".938–.952", ".938–.952"}, AtLeast(.98), "≥ .999"},
		{"tick, 120 clusters", Default(Tick), many, AtLeast(.90), [2]string{".941", ".931"}, AtLeast(.80), ".855"},
		{"null, 120 clusters", Default(Null), 3 * many, NoBar, [2]string{}, AtMost(.065), ".048"},
		{"mono run values, 300 clusters", RunValues(Mono), many, AtLeast(.925), [2]string{".952", ".986"}, NoBar, ""},
	}
	for _, d := range designs {
		plans = append(plans, plan{name: d.name, design: d.design, sets: d.sets, lines: bothLines})
	}
	byLine := []struct {
		error, found               Bar
		earlierError, earlierFound string
	}{{AtMost(.50), AtMost(.025), ".44", ".008"}, {AtMost(.42), AtMost(.05), ".37", ".035"}}
	return o.each(ctx, "curves", plans, func(i int, j judged) {
		d, curve := designs[i], j.design.Cells[0].Curve.Name
		what := "power at p < .05"
		if curve == Null.Name {
			what = "size at p < .05"
		}
		j.share(what, j.Total(rejected), d.power, d.earlierPower)
		for r, line := range j.lines {
			name := against(line)
			switch d.name {
			case "null, 120 clusters":
				j.Share(curveFound+name, byLine[r].found, byLine[r].earlierFound)
				continue
			case "mono, 120 clusters":
				j.error(line, byLine[r].error, byLine[r].earlierError)
			case "two, 120 clusters":
				j.Share(structureExact+name, AtLeast(.90), ".95")
			}
			j.Share(edgeConfirmed+name, NoBar, "")
			j.Share(edgeCovered+name, d.covered, d.earlier[r])
		}
	})
}

// bins looks at the intervals of raw rates, with one kind of cluster and two.
func bins(ctx context.Context, o Options) ([]Finding, error) {
	two := Default(Mono)
	two.Second, two.SecondSD = 250, .28
	few := two
	few.Clusters = 25
	return o.each(ctx, "bins", []plan{
		{name: "mono, 120 clusters", design: Default(Mono), sets: many, lines: pooledLine},
		{name: "mono, 120 clusters, second clusters", design: two, sets: some, lines: pooledLine},
		{name: "mono, 25 clusters, second clusters", design: few, sets: 2 * some, lines: pooledLine},
		{name: "mono run values, 300 clusters", design: RunValues(Mono), sets: many, lines: pooledLine},
	}, func(_ int, j judged) {
		for class := range classes {
			if j.Total(binCovered(class)).Of >= 30 { // else hardly a bin of this class in the design
				j.Share(binCovered(class), Between(.935, .985), ".948–.974")
			}
		}
	})
}

// farBars hold the error of the edge of a smooth curve against the median line, by
// number of clusters.
var farBars = map[int]struct {
	most    float64
	earlier string
}{60: {.65, ".56"}, 120: {.52, ".45"}, 180: {.46, ".40"}, 300: {.36, ".31"}}

// size looks at a smooth curve and a tick under the line that they make with other
// cells, with second clusters that differ and without.
func size(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, c := range []struct {
		curve  Curve
		second float64
	}{{Mono, 0}, {Mono, .28}, {Tick, .28}} {
		for _, n := range []int{60, 120, 180, 300} {
			d := underLine(crewed(c.curve, n), Mono, Null)
			d.SecondSD = c.second
			name := fmt.Sprintf("%s, %d clusters, second clusters %g", c.curve.Name, n, c.second)
			plans = append(plans, plan{name: name, design: d, sets: some, lines: bothLines})
		}
	}
	return o.each(ctx, "size", plans, func(_ int, j judged) {
		smooth := j.design.Cells[0].Curve.Name == Mono.Name
		for _, line := range j.lines {
			name := against(line)
			off, before := NoBar, ""
			if b := farBars[j.design.Clusters]; smooth && line == MedianLine {
				off, before = AtMost(b.most), b.earlier
			}
			coverage, earlier, confirmed := NoBar, "", j.Rate(edgeConfirmed+name)
			switch {
			case smooth && confirmed >= .5:
				coverage, earlier = Between(.915, .985), ".935–.979"
			case !smooth && confirmed >= .44:
				coverage, earlier = AtLeast(.90), ".925–.956"
			}
			j.Share(edgeConfirmed+name, NoBar, "")
			j.error(line, off, before)
			j.Share(edgePlain+name, coverage, earlier)
			j.Share(edgeCovered+name, edgeBar(smooth, confirmed), "")
		}
	})
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
		d := crewed(Mono, n)
		d.X = AngleLike
		name := fmt.Sprintf("mono on an angle, %d clusters", n)
		plans = append(plans, plan{name: name, design: underLine(d, Mono, Null), sets: some, lines: bothLines})
	}
	return o.each(ctx, "angle", plans, func(_ int, j judged) {
		for _, line := range j.lines {
			j.Share(edgeConfirmed+against(line), NoBar, "")
			j.Share(edgeCovered+against(line), AtLeast(.925), ".952–.961")
			j.error(line, NoBar, ".13–.23")
		}
	})
}

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

// twoWaySets is the full number of data sets of spread .2: one set's coverage along
// a curve varies so much that with fewer the bar cannot be told from a miss.
const twoWaySets = 2000

// twoWay looks at what second clusters add to the variance.
func twoWay(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, sd := range []float64{0, .2, .35} {
		d := underLine(crewed(Mono, 300), Mono, Null) // so many that the second clusters weigh as much
		d.SecondSD, d.Bystanders = sd, 0
		p := plan{name: fmt.Sprintf("mono, 300 clusters, second clusters %g", sd), design: d, sets: some, lines: bothLines}
		if sd == .2 {
			p.sets = twoWaySets
		}
		one := p
		one.oneWay, one.stream, one.name = true, p.name, p.name+", one way"
		if plans = append(plans, p); sd != .2 { // one-way intervals are held against two-way ones
			plans = append(plans, one)
		}
	}
	all, err := o.judge(ctx, "two_way", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, j := range all {
		if j.oneWay {
			continue
		}
		j.Mean(curveCovered, Between(.93, .98), ".935–.956")
		switch j.design.SecondSD {
		case 0:
			width := advantageWidth + against(MedianLine)
			j.means("width of a two-way interval over a one-way one", width, all[i+1], ratio, Between(.95, 1.05), "")
		case .35:
			j.Add(MeanFinding(j.name, "curve covered by one-way intervals", all[i+1].Values(curveCovered), AtMost(.925), ".82–.89"))
		}
		for _, line := range bothLines {
			j.Share(edgeCovered+against(line), AtLeast(.925), "")
			j.Mean(advantageHeld+against(line), Between(.93, .98), "")
		}
		out = append(out, j.Findings...)
	}
	return out, nil
}

// crew looks at draws over clusters of which only some have events in the cell.
func crew(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, c := range []struct{ in, all int }{{25, 60}, {25, 300}, {60, 300}, {300, 300}} {
		d := crewed(Mono, c.in)
		name := fmt.Sprintf("mono, %d of %d clusters", c.in, c.all)
		own := plan{name: name + ", own draws", design: d, sets: some, lines: bothLines, stream: name}
		d.Bystanders = c.all - c.in
		plans = append(plans, plan{name: name, design: d, sets: some, lines: bothLines}, own)
	}
	all, err := o.judge(ctx, "crew", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i := 0; i < len(all); i += 2 {
		joint, own := all[i], all[i+1]
		joint.Mean(curveCovered, Between(.93, .98), "")
		less := func(a, b float64) float64 { return a - b }
		joint.means("curve covered, less that by own draws", curveCovered, own, less, Between(-.01, .01), "")
		for _, line := range bothLines {
			name := against(line)
			bar := edgeBar(true, joint.Rate(edgeConfirmed+name))
			why := "the bar of smooth curves wherever at least .3 of sets confirm the edge"
			if bar == NoBar {
				bar = AtLeast(.88)
				why = "few sets confirm the edge: their intervals are wide or open, and hold too often rather than too seldom"
			}
			joint.means("width over that by own draws"+name, advantageWidth+name, own, ratio, AtMost(1.02), "≤ 1.02")
			covered := joint.Share(edgeCovered+name, bar, "")
			*covered = covered.MovedFrom(Between(.93, .98), "af4c798", why)
			joint.share("edge covered by own draws"+name, own.Total(edgeCovered+name), NoBar, "")
		}
		out = append(out, joint.Findings...)
	}
	return out, nil
}
