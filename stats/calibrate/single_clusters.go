package calibrate

import (
	"context"
	"fmt"
)

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
			j.means("width of a two-way interval over a one-way one", advantageWidth+against(MedianLine), all[i+1], ratio, Between(.95, 1.05), "")
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
		joint.means("curve covered, less that by own draws", curveCovered, own, func(a, b float64) float64 { return a - b }, Between(-.01, .01), "")
		for _, line := range bothLines {
			name := against(line)
			bar, why := edgeBar(true, joint.Rate(edgeConfirmed+name)), "the bar of smooth curves wherever at least .3 of sets confirm the edge"
			if bar == NoBar {
				bar, why = AtLeast(.88), "few sets confirm the edge: their intervals are wide or open, and hold too often rather than too seldom"
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
