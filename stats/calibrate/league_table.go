package calibrate

import (
	"context"

	"sill/stats"
	"sill/stats/simulate"
)

const (
	tableTypes = 8   // types of trial, each with a line of its own
	tableIdle  = 3   // variables that nothing depends on, beside the one that tells
	discovery  = .10 // false discovery rate of the table
	firstFlips = 999 // tests whose p is above .05 by so many flips are not carried on
)

// publishedTable judges a table of 8 types of trial × 2 crews × 2 cells × 2 kinds
// of value × 4 variables = 256 tests of the same clusters, of which the one
// variable in four that matters makes 64 active.
func (m method) publishedTable(ctx context.Context, o Options) ([]Finding, error) {
	const design = "256 tests, a quarter active"
	curves := [tableTypes]simulate.Curve{simulate.Mono, simulate.Tick, simulate.Two, simulate.Band, simulate.Mono, simulate.Tick, fall, simulate.Two}
	law := simulate.NewLeague(crewOf(60, cell(curves[0], 0), cell(curves[0], .1)), crewOf(180, cell(curves[0], -.1), cell(curves[0], 0)))
	law.Idle = tableIdle
	for _, c := range curves[1:] {
		law = law.Then(.6, func(_ int, d *simulate.Design) { d.Cells[0].Curve, d.Cells[1].Curve = c, c })
	}
	for v := range tableTypes {
		runs := simulate.View{Of: v, Effect: -.4}
		for _, d := range law.Views[v].Crews {
			runsOf(&d)
			runs.Crews = append(runs.Crews, d)
		}
		law.Views = append(law.Views, runs)
	}
	r, err := m.play(ctx, o, "table", law, 300, func(g *league, s scores) { g.publish(s) })
	if err != nil {
		return nil, err
	}
	return []Finding{
		r.mean(design, "false share of rejections", AtMost(discovery), ".066–.072"),
		r.mean(design, "false share of found", AtMost(.05), ".019–.020"),
		r.share(design, "active tests rejected", NoBar, ""),
		r.share(design, "active tests found", NoBar, ""),
	}, nil
}

// publish tests every curve of a league as one table.
func (g *league) publish(s scores) {
	type entry struct {
		at
		active bool
		table  *stats.Table
	}
	var entries []entry
	var p []float64
	flips := stats.EnoughFlips(len(g.crews)*len(g.crews[0])*len(g.crews[0][0].Tables)*(1+g.law.Idle), discovery)
	for v, crews := range g.crews {
		kind := g.law.Views[v].Crews[0].Kind
		for c, crew := range crews {
			for i, active := range crew.Tables {
				for k, t := range append([]*stats.Table{active}, crew.Idle[i]...) {
					if first, last, ok := t.EndBins(openEnd(kind), 5); ok {
						t = t.Merge(first, last)
					}
					test := stats.NewFlipTest(t, simulate.Key(g.seed, "flips", g.number*4096+len(entries)))
					result := test.Run(firstFlips)
					if result.P <= judgedAt {
						result = test.Run(flips)
					}
					entries = append(entries, entry{at{v, c, i}, k == 0, t})
					p = append(p, result.P)
				}
			}
		}
	}
	var rejected, found [2]float64 // idle, active
	lines := map[int]stats.Line{}
	for n, q := range stats.BenjaminiHochberg(p) {
		e, active := entries[n], 0
		if e.active {
			active = 1
		}
		seen := false
		if q <= discovery {
			rejected[active]++
			if _, ok := lines[e.view]; !ok {
				lines[e.view] = g.line(e.view, simulate.MedianLine)
			}
			d := g.law.Views[e.view].Crews[e.crew]
			f := stats.FitCurve(e.table, d.X.Width, g.draws[e.crew], stats.LambdaGrid(2))
			seen = len(f.Against(lines[e.view], d.Sign(), nil).Edges().Confirmed) > 0
		}
		if seen {
			found[active]++
		}
		if e.active {
			s.hit("active tests rejected", q <= discovery)
			s.hit("active tests found", seen)
		}
	}
	s.value("false share of rejections", rejected[0]/max(1, rejected[0]+rejected[1]))
	s.value("false share of found", found[0]/max(1, found[0]+found[1]))
}
