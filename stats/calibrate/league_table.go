package calibrate

import (
	"context"
	"fmt"

	"sill/stats"
	"sill/stats/simulate"
)

const (
	tableTypes = 8   // types of trial, each with a line of its own
	tableIdle  = 3   // variables that nothing depends on, beside the one that tells
	discovery  = .10 // false discovery rate of the table
	firstFlips = 999 // tests whose p is above .05 by so many flips are not carried on
)

// publishedTable judges tables of 8 types of trial × 2 crews × 2 cells × 2 kinds
// of value × 4 variables = 256 tests of the same clusters, in a family for each
// kind of value and variable. Of the variables one matters, for as many types as a
// design says; nothing depends on the others, so that six families are dead and
// two live, in part or as a whole.
func (m method) publishedTable(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, d := range []struct {
		sets           int
		found, rejects string // earlier values
		curves         [tableTypes]simulate.Curve
	}{
		{200, ".019–.020", ".066–.072", [...]simulate.Curve{simulate.Mono, simulate.Tick, simulate.Two, simulate.Band, simulate.Mono, simulate.Tick, fall, simulate.Two}},
		{100, "", "", [...]simulate.Curve{simulate.Mono, simulate.Null, simulate.Null, simulate.Null, simulate.Tick, simulate.Null, simulate.Null, simulate.Null}},
	} {
		law := simulate.NewLeague(crewOf(60, cell(d.curves[0], 0), cell(d.curves[0], .1)), crewOf(180, cell(d.curves[0], -.1), cell(d.curves[0], 0)))
		law.Idle = tableIdle
		active := 0
		for k, c := range d.curves {
			if c.Name != simulate.Null.Name {
				active += 2 * 2 * 2
			}
			if k > 0 {
				law = law.Then(.6, func(_ int, d *simulate.Design) { d.Cells[0].Curve, d.Cells[1].Curve = c, c })
			}
		}
		for v := range tableTypes {
			runs := simulate.View{Of: v, Effect: -.4}
			for _, d := range law.Views[v].Crews {
				runsOf(&d)
				runs.Crews = append(runs.Crews, d)
			}
			law.Views = append(law.Views, runs)
		}
		design := fmt.Sprintf("256 tests, %d active, 6 families dead", active)
		r, err := m.play(ctx, o, fmt.Sprint("table ", active), law, d.sets, func(g *league, s scores) { g.publish(s) })
		if err != nil {
			return nil, err
		}
		out = append(out,
			r.mean(design, "false share of rejections", AtMost(discovery), d.rejects),
			// bound by .10, which exact tests reach where most families are dead: so many
			// tables cannot tell the one from the other
			r.mean(design, "false share of rejections, mean of the selected families", AtMost(.10), ""),
			r.mean(design, "false share of found", AtMost(.05), d.found),
			r.mean(design, "false rejections in dead families, a table", NoBar, ""),
			r.share(design, "tables with a rejection in a dead family", NoBar, ""),
			r.mean(design, "one family of all tests instead: false share of rejections", NoBar, ""),
			r.mean(design, "one family of all tests instead: false rejections in dead families, a table", NoBar, ""),
			r.share(design, "one family of all tests instead: tables with a rejection in a dead family", NoBar, ""),
			r.share(design, "active tests rejected", NoBar, ""),
			r.share(design, "one family of all tests instead: active tests rejected", NoBar, ""),
			r.share(design, "active tests found", NoBar, ""))
	}
	return out, nil
}

// publish tests every curve of a league as one table.
func (g *league) publish(s scores) {
	type entry struct {
		at
		family int
		dead   bool // of the whole family nothing is active
		active bool
		table  *stats.Table
	}
	var entries []entry
	families := make([][]float64, 2*(1+g.law.Idle))
	strictest := len(families) * tableTypes * len(g.crews[0]) * len(g.crews[0][0].Tables)
	flips := stats.EnoughFlips(strictest, discovery)
	for v, crews := range g.crews {
		kind := g.law.Views[v].Crews[0].Kind
		for c, crew := range crews {
			for i, telling := range crew.Tables {
				null := g.law.Views[v].Crews[c].Cells[i].Curve.Name == simulate.Null.Name
				for k, t := range append([]*stats.Table{telling}, crew.Idle[i]...) {
					if first, last, ok := t.EndBins(openEnd(kind), 5); ok {
						t = t.Merge(first, last)
					}
					test := stats.NewFlipTest(t, simulate.Key(g.seed, "flips", g.number*4096+len(entries)))
					result := test.Run(firstFlips)
					if result.P <= judgedAt {
						result = test.Run(flips)
					}
					family := 2 * k
					if kind == stats.Mean {
						family++
					}
					entries = append(entries, entry{at{v, c, i}, family, k > 0, k == 0 && !null, t})
					families[family] = append(families[family], result.P)
				}
			}
		}
	}
	var all, together []float64 // q of the procedure, and of one family of all tests
	next := make([]int, len(families))
	found := stats.BenjaminiBogomolov(families, discovery)
	for _, e := range entries {
		all = append(all, found.Q[e.family][next[e.family]])
		together = append(together, families[e.family][next[e.family]])
		next[e.family]++
	}
	together = stats.BenjaminiHochberg(together)
	reject := func(name string, q []float64) {
		var rejected, wrong, dead float64
		rejectedIn, wrongIn := make([]float64, len(families)), make([]float64, len(families))
		for n, e := range entries {
			if e.active {
				s.hit(name+"active tests rejected", q[n] <= discovery)
			}
			if q[n] > discovery {
				continue
			}
			rejected++
			rejectedIn[e.family]++
			if !e.active {
				wrong++
				wrongIn[e.family]++
			}
			if e.dead {
				dead++
			}
		}
		sum := 0.0
		for f := range families {
			sum += wrongIn[f] / max(1, rejectedIn[f])
		}
		s.value(name+"false share of rejections", wrong/max(1, rejected))
		s.value(name+"false share of rejections, mean of the selected families", sum/float64(max(1, found.Selected)))
		s.value(name+"false rejections in dead families, a table", dead)
		s.hit(name+"tables with a rejection in a dead family", dead > 0)
	}
	reject("", all)
	reject("one family of all tests instead: ", together)
	var seen [2]float64 // idle, active
	lines := map[int]stats.Line{}
	for n, e := range entries {
		shown := false
		if all[n] <= discovery {
			if _, ok := lines[e.view]; !ok {
				lines[e.view] = g.line(e.view, simulate.MedianLine)
			}
			d := g.law.Views[e.view].Crews[e.crew]
			f := stats.FitCurve(e.table, d.X.Width, g.draws[e.crew], stats.LambdaGrid(2))
			shown = len(f.Against(lines[e.view], d.Sign(), nil).Edges().Confirmed) > 0
		}
		switch {
		case shown && e.active:
			seen[1]++
		case shown:
			seen[0]++
		}
		if e.active {
			s.hit("active tests found", shown)
		}
	}
	s.value("false share of found", seen[0]/max(1, seen[0]+seen[1]))
}
