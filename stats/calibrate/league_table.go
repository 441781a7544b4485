package calibrate

import (
	"context"
	"fmt"

	"sill/stats"
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
func publishedTable(ctx context.Context, o Options) ([]Finding, error) {
	var plans []leaguePlan
	for _, d := range []struct {
		sets           int
		found, rejects string // earlier values
		curves         [tableTypes]Curve
	}{
		{200, ".019–.020", ".066–.072", [...]Curve{Mono, Tick, Two, Band, Mono, Tick, fall, Two}},
		{100, "", "", [...]Curve{Mono, Null, Null, Null, Tick, Null, Null, Null}},
	} {
		law := NewLeague(crewOf(60, cell(d.curves[0], 0), cell(d.curves[0], .1)), crewOf(180, cell(d.curves[0], -.1), cell(d.curves[0], 0)))
		law.Idle = tableIdle
		active := 0
		for k, c := range d.curves {
			if c.Name != Null.Name {
				active += 2 * 2 * 2
			}
			if k > 0 {
				law = law.Then(.6, func(_ int, d *Design) { d.Cells[0].Curve, d.Cells[1].Curve = c, c })
			}
		}
		for v := range tableTypes {
			runs := View{Of: v, Effect: -.4}
			for _, d := range law.Views[v].Crews {
				runsOf(&d)
				runs.Crews = append(runs.Crews, d)
			}
			law.Views = append(law.Views, runs)
		}
		name := fmt.Sprintf("256 tests, %d active, 6 families dead", active)
		plans = append(plans, leaguePlan{name, o.stream(fmt.Sprint("study table ", active)), law, d.sets, (*dataset).publish, func(t *Sheet) {
			t.Mean(falseShare, AtMost(discovery), d.rejects)
			// bound by .10, which exact tests reach where most families are dead: so many
			// tables cannot tell the one from the other
			t.Mean(falseSelected, AtMost(.10), "")
			t.Mean("false share of found", AtMost(.05), d.found)
			t.Mean(falseDead, NoBar, "")
			t.Clustered(tablesDead, NoBar, "")
			t.Mean(oneFamily+falseShare, NoBar, "")
			t.Mean(oneFamily+falseDead, NoBar, "")
			t.Clustered(oneFamily+tablesDead, NoBar, "")
			t.Clustered(activeRejected, NoBar, "")
			t.Clustered(oneFamily+activeRejected, NoBar, "")
			t.Clustered("active tests found", NoBar, "")
		}})
	}
	return o.leagues(ctx, plans...)
}

// The measures of rejections: of the procedure, and of one family of all tests.
const (
	oneFamily      = "one family of all tests instead: "
	falseShare     = "false share of rejections"
	falseSelected  = "false share of rejections, mean of the selected families"
	falseDead      = "false rejections in dead families, a table"
	tablesDead     = "tables with a rejection in a dead family"
	activeRejected = "active tests rejected"
)

// publish tests every curve of a league as one table.
func (g *dataset) publish(s Scores) {
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
				null := g.law.Views[v].Crews[c].Cells[i].Curve.Name == Null.Name
				for k, t := range append([]*stats.Table{telling}, crew.Idle[i]...) {
					tables := []*stats.Table{t}
					openEnds(kind, tables...)
					test := stats.NewFlipTest(tables[0], Key(g.seed, "flips", g.number*4096+len(entries)))
					result := test.Run(firstFlips)
					if result.P <= judgedAt {
						result = test.Run(flips)
					}
					family := 2 * k
					if kind == stats.Mean {
						family++
					}
					entries = append(entries, entry{at{v, c, i}, family, k > 0, k == 0 && !null, tables[0]})
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
				s.Hit(name+activeRejected, q[n] <= discovery)
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
		s.Value(name+falseShare, wrong/max(1, rejected))
		s.Value(name+falseSelected, sum/float64(max(1, found.Selected)))
		s.Value(name+falseDead, dead)
		s.Hit(name+tablesDead, dead > 0)
	}
	reject("", all)
	reject(oneFamily, together)
	var seen [2]float64 // idle, active
	lines := map[int]stats.Line{}
	for n, e := range entries {
		shown := false
		if all[n] <= discovery {
			if _, ok := lines[e.view]; !ok {
				lines[e.view] = g.line(e.view, MedianLine, g.draws)
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
			s.Hit("active tests found", shown)
		}
	}
	s.Value("false share of found", seen[0]/max(1, seen[0]+seen[1]))
}
