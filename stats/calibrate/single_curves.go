package calibrate

import (
	"context"
	"fmt"
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
			plans = append(plans, plan{name: fmt.Sprintf("%s, %d clusters, second clusters %g", c.curve.Name, n, c.second), design: d, sets: some, lines: bothLines})
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
		plans = append(plans, plan{name: fmt.Sprintf("mono on an angle, %d clusters", n), design: underLine(d, Mono, Null), sets: some, lines: bothLines})
	}
	return o.each(ctx, "angle", plans, func(_ int, j judged) {
		for _, line := range j.lines {
			j.Share(edgeConfirmed+against(line), NoBar, "")
			j.Share(edgeCovered+against(line), AtLeast(.925), ".952–.961")
			j.error(line, NoBar, ".13–.23")
		}
	})
}
