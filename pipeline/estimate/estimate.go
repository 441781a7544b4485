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
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// Estimate holds what all curves of a tally share: the joint draws of each
// hand's pitchers and every line. It is immutable and safe for concurrent use.
type Estimate struct {
	options  Options
	scoring  outcome.Scoring
	tally    *tally.Tally
	pitchers [3]clusterSet // by hand
	grid     []float64
	cells    []cell // sorted by key
	lines_   []*Line
	index    map[lineKey]*Line
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
	return cmp.Or(cmp.Compare(k.Stratum, o.Stratum), k.Type.Compare(o.Type),
		cmp.Compare(k.Hand, o.Hand), cmp.Compare(k.Side, o.Side))
}

// Tested tells whether thresholds are sought in the cell: pitches of an unknown
// or another type are counted only.
func (k CellKey) Tested() bool { return k.Type.Tested() }

// cell is a key with its tables, one per season.
type cell struct {
	key    CellKey
	tables []*tally.CellTable
}

// New draws the pitchers and computes every line. All seasons of the tally are
// one set.
func New(ctx context.Context, t *tally.Tally, o Options) (*Estimate, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	e := &Estimate{options: o, scoring: o.Scoring(), tally: t, grid: stats.LambdaGrid(o.LambdaSteps), index: map[lineKey]*Line{}}
	for _, h := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
		e.pitchers[h] = newClusterSet(t, h, o)
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
func (e *Estimate) Seasons() []int16 { return e.tally.Seasons() }

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
