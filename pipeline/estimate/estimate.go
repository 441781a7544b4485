// Package estimate turns integer counts into rates with intervals: bins, smooth
// curves with joint replicates of whole pitchers, and the lines that curves are
// compared with.
//
// It knows clusters, bins and lines. It does not look for thresholds and gives
// no verdicts (package locate).
package estimate

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync/atomic"

	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// Estimate holds what all curves of a tally share: the joint draws of each
// hand's pitchers and every line. It is immutable and safe for concurrent use.
type Estimate struct {
	options Options
	scoring outcome.Scoring
	tally   *tally.Tally
	crews   [3]crew // by hand
	grid    []float64
	cells   []cell // sorted by key
	lines_  []*Line
	index   map[lineKey]*Line
}

// CellKey names a cell over all seasons of the tally.
type CellKey struct {
	Stratum string
	Type    pitch.Type
	Hand    pitch.Hand
	Side    pitch.Side
}

// Compare orders keys by stratum, pitch type, hand and side.
func (k CellKey) Compare(o CellKey) int {
	return cmp.Or(cmp.Compare(k.Stratum, o.Stratum), cmp.Compare(k.Type, o.Type),
		cmp.Compare(k.Hand, o.Hand), cmp.Compare(k.Side, o.Side))
}

// Tested tells whether thresholds are sought in the cell: pitches of an unknown
// or another type are counted only.
func (k CellKey) Tested() bool { return k.Type != pitch.UnknownType && k.Type != pitch.OtherType }

// cell is a key with its tables, one per season.
type cell struct {
	key    CellKey
	tables []*tally.CellTable
}

type lineKey struct {
	name    string
	stratum string
	typ     pitch.Type
	hand    pitch.Hand
	side    pitch.Side
	metric  int
}

// New draws the pitchers and computes every line. All seasons of the tally are
// one set.
func New(ctx context.Context, t *tally.Tally, o Options) (*Estimate, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	e := &Estimate{options: o, scoring: o.Scoring(), tally: t, grid: stats.LambdaGrid(o.LambdaSteps), index: map[lineKey]*Line{}}
	for _, h := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
		e.crews[h] = newCrew(t, h, o)
	}
	at := map[CellKey]int{}
	for i := range t.Cells {
		c := &t.Cells[i]
		k := CellKey{c.Cell.Stratum, c.Cell.Type, c.Cell.Hand, c.Cell.Side}
		j, ok := at[k]
		if !ok {
			j = len(e.cells)
			at[k] = j
			e.cells = append(e.cells, cell{key: k})
		}
		e.cells[j].tables = append(e.cells[j].tables, c)
	}
	slices.SortFunc(e.cells, func(a, b cell) int { return a.key.Compare(b.key) })
	return e, e.addLines(ctx)
}

// Fitted builds and fits one curve; nil where the cell has no eligible event or
// is too small to be tested.
func (e *Estimate) Fitted(k CellKey, variable, metric int) (*Curve, error) {
	of := e.cell(k)
	if of == nil {
		return nil, nil
	}
	c, err := e.sample(of, variable, metric)
	if err != nil || c == nil || !c.Testable() {
		return nil, err
	}
	e.fit(c)
	return c, nil
}

// cell finds a cell, nil where no such pitch was thrown.
func (e *Estimate) cell(k CellKey) *cell {
	i, ok := slices.BinarySearchFunc(e.cells, k, func(c cell, k CellKey) int { return c.key.Compare(k) })
	if !ok {
		return nil
	}
	return &e.cells[i]
}

// Options returns what the estimate was made with.
func (e *Estimate) Options() Options { return e.options }

// Variables lists the variables in the tally's order.
func (e *Estimate) Variables() []tally.Variable { return e.tally.Variables }

// Seasons lists the seasons that the tally holds.
func (e *Estimate) Seasons() []int16 { return seasons(e.tally) }

// Strata lists the strata, the one of all pitches first.
func (e *Estimate) Strata() []string {
	var out []string
	for i := range e.cells {
		if s := e.cells[i].key.Stratum; !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return out
}

// Lines lists every line, sorted by stratum, pitch type, metric, name, hand and
// side.
func (e *Estimate) Lines() []*Line { return e.lines_ }

// LinesOf lists the lines that a cell is compared with, headline ones first.
func (e *Estimate) LinesOf(k CellKey, metric int) []*Line {
	keys := []lineKey{
		{name: TypeMedian, typ: k.Type},
		{name: TypeRate, typ: k.Type},
		{name: HandMedian, typ: k.Type, hand: k.Hand},
		{name: HandRate, typ: k.Type, hand: k.Hand},
		{name: MatchupMedian, typ: k.Type, hand: k.Hand, side: k.Side},
		{name: MatchupRate, typ: k.Type, hand: k.Hand, side: k.Side},
		{name: LeagueMedian},
		{name: LeagueRate},
		{name: StratumMedian, typ: k.Type, stratum: k.Stratum},
		{name: StratumRate, typ: k.Type, stratum: k.Stratum},
		{name: Fixed, typ: k.Type},
	}
	var out []*Line
	for _, key := range keys {
		key.metric = metric
		if l := e.index[key]; l != nil {
			out = append(out, l)
		}
	}
	return out
}

// addLines computes the lines of every pool, one pool per task.
func (e *Estimate) addLines(ctx context.Context) error {
	type task struct {
		key  lineKey // name empty
		med  string
		rate string
		out  [2]*Line
	}
	var tasks []task
	seen := map[lineKey]bool{}
	add := func(med, rate string, k lineKey) {
		for m := range outcome.Metrics {
			k.metric = m
			k.name = med
			if !seen[k] {
				seen[k] = true
				tasks = append(tasks, task{key: k, med: med, rate: rate})
			}
		}
	}
	for i := range e.cells {
		k := e.cells[i].key
		if k.Stratum != tally.AllStrata {
			add(StratumMedian, StratumRate, lineKey{typ: k.Type, stratum: k.Stratum})
			continue
		}
		add(TypeMedian, TypeRate, lineKey{typ: k.Type})
		add(HandMedian, HandRate, lineKey{typ: k.Type, hand: k.Hand})
		add(MatchupMedian, MatchupRate, lineKey{typ: k.Type, hand: k.Hand, side: k.Side})
		add(LeagueMedian, LeagueRate, lineKey{})
	}
	var done atomic.Int64
	err := parallel.Each(ctx, runtime.GOMAXPROCS(0), len(tasks), func(_, i int) error {
		k := tasks[i].key
		p := e.pool(k.metric, func(c tally.Cell) bool {
			return c.Stratum == k.stratum && (tasks[i].med == LeagueMedian || c.Type == k.typ) &&
				(k.hand == pitch.UnknownHand || c.Hand == k.hand) &&
				(k.side == pitch.UnknownSide || c.Side == k.side)
		})
		at := Line{Type: k.typ, Hand: k.hand, Side: k.side, Stratum: k.stratum}
		tasks[i].out = e.lines(p, k.metric, tasks[i].med, tasks[i].rate, at)
		if n := int(done.Add(1)); e.options.Progress != nil {
			e.options.Progress(n, len(tasks))
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, t := range tasks {
		for _, l := range t.out {
			e.addLine(l)
		}
	}
	for _, f := range e.options.Fixed {
		typ, _ := pitch.ParseType(f.PitchType) // checked by Validate
		l := &Line{Name: Fixed, Type: typ, Metric: outcome.MetricIndex(f.Outcome), Value: f.Value,
			Lo: nan, Hi: nan, RateMinusMedian: nan}
		e.addLine(l)
	}
	slices.SortFunc(e.lines_, func(a, b *Line) int {
		return cmp.Or(cmp.Compare(a.Stratum, b.Stratum), cmp.Compare(a.Type, b.Type),
			cmp.Compare(a.Metric, b.Metric), cmp.Compare(lineRank(a.Name), lineRank(b.Name)),
			cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Side, b.Side))
	})
	return nil
}

func (e *Estimate) addLine(l *Line) {
	e.lines_ = append(e.lines_, l)
	e.index[lineKey{l.Name, l.Stratum, l.Type, l.Hand, l.Side, l.Metric}] = l
}

// lineRank is the place of a line's name in every table.
func lineRank(name string) int {
	return slices.Index([]string{TypeMedian, TypeRate, HandMedian, HandRate, MatchupMedian,
		MatchupRate, LeagueMedian, LeagueRate, StratumMedian, StratumRate, Fixed}, name)
}
