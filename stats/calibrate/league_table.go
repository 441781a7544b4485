package calibrate

import (
	"context"
	"fmt"
	"math"

	"sill/stats"
)

// jointZones judges the stretches where a proportion and run values of the same
// trials both beat their lines: published where both curves are found, from the
// larger lower to the smaller upper end of two certain zones.
func jointZones(ctx context.Context, o Options) ([]Finding, error) {
	const published, wrongly = "published", "published and not inside the true zone"
	const inside, events = "inside the true zone", "events truly inside"
	null := cell(Null, 0)
	var plans []leaguePlan
	for _, d := range []struct {
		name        string
		share, runs Cell
		flat        bool // one of the curves: every joint zone is false
	}{
		{"both smooth", cell(Mono, 0), cell(fall, 0), false},
		{"both smooth, edges apart", cell(Mono, .1), cell(fall, .1), false},
		{"both smooth, opposed", cell(Mono, 0), cell(Mono, 0), false},
		{"band and smooth", cell(Band, 0), cell(fall, 0), false},
		{"flat proportion on its line", null, cell(fall, 0), true},
		{"flat run values on their line", cell(Mono, 0), null, true},
	} {
		law := withRuns(shape{cells: [2][]Cell{{d.share, d.share}, {d.share, d.share}}}.league([2]int{120, 300}),
			[]Cell{d.runs, d.runs}, []Cell{d.runs, d.runs})
		seed := o.stream("study joint " + d.name)
		share, runs := law.Truth(0, MedianLine, seed), law.Truth(1, MedianLine, seed)
		plans = append(plans, leaguePlan{d.name, seed, law, 600, func(g *dataset, s Scores) {
			line := [2]stats.Line{g.line(0, MedianLine, g.draws), g.line(1, MedianLine, g.draws)}
			for c := range law.Views[0].Crews {
				for i := range law.Views[0].Crews[c].Cells {
					zones, wrong := g.jointOf(c, i, line), false
					s.Hit(published, len(zones) > 0)
					for _, z := range zones {
						share := within(z, VelocityLike, func(x float64) bool {
							return share[c].At(i, x) > share[c].Line && runs[c].At(i, x) < runs[c].Line
						})
						wrong = wrong || share < 1
						s.Hit(inside, share == 1)
						s.Value(events, share)
					}
					s.Hit(wrongly, wrong)
				}
			}
		}, func(t *Sheet) {
			if d.flat {
				t.Clustered(published, AtMost(.05), "")
				return
			}
			// Both intervals hold with .95, so both together with .90 at least.
			t.Clustered(published, NoBar, "")
			t.Clustered(wrongly, AtMost(.10), "")
			insideBar, eventsBar := AtLeast(.90), AtLeast(.95)
			if !(t.Rate(published) > .05) { // too few to tell
				insideBar, eventsBar = NoBar, NoBar
			}
			t.Clustered(inside, insideBar, "")
			t.Mean(events, eventsBar, "")
		}})
	}
	return o.leagues(ctx, plans...)
}

// jointOf returns the certain joint zones of a cell as {from, to}.
func (g *dataset) jointOf(crew, cell int, line [2]stats.Line) [][2]float64 {
	var zones [2][]sure
	for v := range zones {
		f := g.fit(at{v, crew, cell}, g.draws)
		band := f.against(line[v])
		edges := band.Edges()
		if len(edges.Confirmed) == 0 || g.p(at{v, crew, cell}, f) >= judgedAt {
			return nil
		}
		zones[v] = certain(band, edges)
	}
	var out [][2]float64
	for _, a := range zones[0] {
		for _, b := range zones[1] {
			lo, hi := math.Max(a.lo, b.lo), math.Min(a.hi, b.hi)
			if a.sign > 0 && b.sign > 0 && lo <= hi {
				out = append(out, [2]float64{lo, hi})
			}
		}
	}
	return out
}

// within returns the share of the events of a zone at which something holds; of
// its one point where it has no width.
func within(zone [2]float64, law Law, holds func(x float64) bool) float64 {
	const steps = 100
	var in, all float64
	for k := range steps + 1 {
		x := zone[0] + (zone[1]-zone[0])*float64(k)/steps
		z := (x - law.Centre) / math.Hypot(law.Between, law.Within)
		n := math.Exp(-z * z / 2)
		all += n
		if holds(x) {
			in += n
		}
	}
	return in / all
}

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
		seed := o.stream(fmt.Sprint("study table ", active))
		plans = append(plans, leaguePlan{name, seed, law, d.sets, (*dataset).publish, func(t *Sheet) {
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
