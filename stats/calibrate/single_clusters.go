package calibrate

import (
	"context"
	"fmt"

	"sill/stats/simulate"
)

// twoWaySets is the full number of data sets of spread .2: one set's coverage along
// a curve varies so much that with fewer the bar cannot be told from a miss.
const twoWaySets = 2000

// twoWay looks at what second clusters add to the variance.
func twoWay(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	spreads := []float64{0, .2, .35}
	oneWay := map[float64]int{} // the plan by one-way intervals, where they are held against two-way ones
	for _, sd := range spreads {
		d := simulate.Default(simulate.Mono)
		d.Clusters = 300 // where the second clusters weigh as much
		d = underLine(d, simulate.Mono, simulate.Null)
		d.SecondSD, d.Bystanders = sd, 0
		name := fmt.Sprintf("mono, 300 clusters, second clusters %g", sd)
		p := plan{name: name, design: d, sets: some, lines: bothLines, cells: 1}
		if sd == .2 {
			p.sets = twoWaySets
		} else {
			oneWay[sd] = len(spreads) + len(oneWay)
		}
		plans = append(plans, p)
	}
	for i, sd := range spreads {
		if oneWay[sd] > 0 {
			p := plans[i]
			p.oneWay, p.stream, p.name = true, p.name, p.name+", one way"
			plans = append(plans, p)
		}
	}
	reports, err := o.judge(ctx, "two_way", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i, sd := range spreads {
		two, name := reports[i], plans[i].name
		out = append(out,
			MeanFinding(name, "curve covered", two[0].Cells[0].Level, Between(.93, .98), ".935–.956"))
		switch sd {
		case 0:
			one := reports[oneWay[sd]]
			out = append(out, MeanFinding(name, "width of a two-way interval over a one-way one",
				ratios(two[0].Cells[0].SE, one[0].Cells[0].SE), Between(.95, 1.05), ""))
		case .35:
			out = append(out, MeanFinding(name, "curve covered by one-way intervals", reports[oneWay[sd]][0].Cells[0].Level, AtMost(.925), ".82–.89"))
		}
		for r, line := range bothLines {
			e := two[r].Cells[0].Edges[0]
			out = append(out,
				ShareFinding(name, "edge covered, "+nameOfLines[line], e.Covered, AtLeast(.925), ""),
				MeanFinding(name, "advantage covered, "+nameOfLines[line], two[r].Cells[0].Advantage, Between(.93, .98), ""))
		}
	}
	return out, nil
}

// crew looks at draws over clusters of which only some have events in the cell.
func crew(ctx context.Context, o Options) ([]Finding, error) {
	var plans []plan
	for _, c := range []struct{ in, all int }{{25, 60}, {25, 300}, {60, 300}, {300, 300}} {
		d := simulate.Default(simulate.Mono)
		d.Clusters = c.in
		name := fmt.Sprintf("mono, %d of %d clusters", c.in, c.all)
		own := plan{name: name + ", own draws", design: d, sets: some, lines: bothLines, stream: name}
		d.Bystanders = c.all - c.in
		plans = append(plans, plan{name: name, design: d, sets: some, lines: bothLines}, own)
	}
	reports, err := o.judge(ctx, "crew", plans)
	if err != nil {
		return nil, err
	}
	var out []Finding
	for i := 0; i < len(plans); i += 2 {
		name, joint, own := plans[i].name, reports[i], reports[i+1]
		change := make([]float64, len(joint[0].Cells[0].Level))
		for k, v := range joint[0].Cells[0].Level {
			change[k] = v - own[0].Cells[0].Level[k]
		}
		out = append(out,
			MeanFinding(name, "curve covered", joint[0].Cells[0].Level, Between(.93, .98), ""),
			MeanFinding(name, "curve covered, less that by own draws", change, Between(-.01, .01), ""))
		for r, line := range bothLines {
			a, b := joint[r].Cells[0], own[r].Cells[0]
			bar, why := edgeBar(true, a.Edges[0].Confirmed.Rate()), "the bar of smooth curves wherever at least .3 of sets confirm the edge"
			if bar == NoBar {
				bar, why = AtLeast(.88), "few sets confirm the edge: their intervals are wide or open, and hold too often rather than too seldom"
			}
			out = append(out,
				MeanFinding(name, "width over that by own draws, "+nameOfLines[line], ratios(a.SE, b.SE), AtMost(1.02), "≤ 1.02"),
				ShareFinding(name, "edge covered, "+nameOfLines[line], a.Edges[0].Covered, bar, "").MovedFrom(Between(.93, .98), "af4c798", why),
				ShareFinding(name, "edge covered by own draws, "+nameOfLines[line], b.Edges[0].Covered, NoBar, ""))
		}
	}
	return out, nil
}
