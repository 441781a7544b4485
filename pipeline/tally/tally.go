// Package tally turns pitches into integer counts per season, stratum,
// matchup, pitch type, variable, bin and pitcher (and, in a second table, per
// batter), and holds the hand-over file in which those counts travel between
// machines. Counts add, so any order of files and any sharding gives the same
// tally.
//
// It knows how to count and nothing of rates, intervals or lines.
package tally

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
)

// MissingBin is the bin of the pitches that a variable does not count: its
// value is unknown, or the pitch was not thrown to be hit (outcome.Shaped). It
// sorts first.
const MissingBin = math.MinInt32

// AllStrata is the stratum that holds every pitch.
const AllStrata = ""

// Cell is what is estimated as one: a matchup and a pitch type, in a season
// and a stratum.
type Cell struct {
	Season  int16
	Stratum string // AllStrata, or "name:value" such as "plate_height_third:upper"
	Hand    pitch.Hand
	Side    pitch.Side
	Type    pitch.Type
}

// Compare orders cells by season, stratum, hand, side and type.
func (c Cell) Compare(o Cell) int {
	return cmp.Or(cmp.Compare(c.Season, o.Season), cmp.Compare(c.Stratum, o.Stratum),
		cmp.Compare(c.Hand, o.Hand), cmp.Compare(c.Side, o.Side), c.Type.Compare(o.Type))
}

// Variable describes a binned quality: what was counted, at which width.
type Variable struct {
	Name, Unit, Definition string
	WidthQ                 int64 // bin width in quanta
	PerUnit                int64 // quanta in one unit
	// Step is the greatest common divisor of all values counted, in quanta: the
	// step to which the data are rounded; 0 where no value was known.
	Step int64
}

// Comb tells whether the bin width is no multiple of the step to which the
// data are rounded, so that neighbouring bins hold different numbers of steps.
func (v Variable) Comb() bool { return v.Step > 0 && v.WidthQ%v.Step != 0 }

// same tells whether two variables count the same thing.
func (v Variable) same(o Variable) bool {
	v.Step, o.Step = 0, 0
	return v == o
}

// Width returns the bin width in units.
func (v Variable) Width() float64 { return float64(v.WidthQ) / float64(v.PerUnit) }

// Lower returns the lower edge of a bin in units; the upper one is Lower(bin+1).
func (v Variable) Lower(bin int32) float64 {
	return float64(int64(bin)*v.WidthQ) / float64(v.PerUnit)
}

// Mean returns the mean value of n events of a bin whose offsets sum to d
// quanta. It is exact but for the last rounding.
func (v Variable) Mean(bin int32, n, d int64) float64 {
	return float64(int64(bin)*v.WidthQ*n+d) / float64(n*v.PerUnit)
}

// Tally is the whole count: tables of cells sorted by Cell.Compare, names
// sorted bytewise and each with at least one pitch. It is immutable once built.
type Tally struct {
	Variables []Variable
	Strata    []string // names of the strata counted
	Pitchers  []string // canonical keys
	Batters   []string // empty where the source has no batters
	Games     []string // ids of the games counted
	Notes     Notes
	Cells     []CellTable
}

// Seasons lists the seasons of the cells in ascending order.
func (t *Tally) Seasons() []int16 {
	var out []int16
	for i := range t.Cells {
		if s := t.Cells[i].Cell.Season; !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return out
}

// Notes count what a reader of the tally should be told.
type Notes struct {
	Pitches      int64 `json:"pitches"`       // all that were counted
	Unshaped     int64 `json:"unshaped"`      // of these not thrown to be hit: in totals, in no bin but the missing one
	Gameless     int64 `json:"gameless"`      // without a game id: such a tally cannot be merged
	Batterless   int64 `json:"batterless"`    // without a batter: absent from the batter table
	BuntsUnknown int64 `json:"bunts_unknown"` // balls in play that may have been bunts
}

func (n *Notes) add(o Notes) {
	n.Pitches += o.Pitches
	n.Unshaped += o.Unshaped
	n.Gameless += o.Gameless
	n.Batterless += o.Batterless
	n.BuntsUnknown += o.BuntsUnknown
}

// CellTable holds the counts of one cell.
type CellTable struct {
	Cell Cell
	// Totals are the counts by pitcher over all pitches of the cell, whether
	// or not a variable is known: the line m is computed from these. Their
	// offsets are zero.
	Totals []Row
	// BatterTotals are the eligible events by batter, known variable or not.
	BatterTotals []BatterCount
	// Curves are indexed as Tally.Variables; a variable that a stratum does
	// not split is empty.
	Curves []Curve
}

// Curve holds the counts of one cell and one variable, sparse by bin: those of
// Bins[i] are Rows[Start[i]:Start[i+1]], sorted by pitcher, and
// BatterCounts[BatterStart[i]:BatterStart[i+1]], sorted by batter and event.
// Over all bins, the missing one included, they sum to the cell's totals.
type Curve struct {
	Bins         []int32 // ascending; MissingBin, where present, is the first
	Start        []int32
	Rows         []Row
	BatterStart  []int32
	BatterCounts []BatterCount
	// Parts are the known bins in quarters, over all pitchers, ascending; nil where
	// whoever counted left them out.
	Parts []PartRow
}

// PartsPerBin is how many parts a bin has.
const PartsPerBin = 4

// PartRow is the count of one part of a bin over all pitchers. Its offsets are from
// the lower edge of the bin.
type PartRow struct {
	Part int32 // PartsPerBin·bin + the part's place in the bin
	outcome.Counts
}

// partOf is the part of an offset in a bin of some width; the product is exact, as
// widths fit 32 bits.
func partOf(bin int32, d, width int64) int32 { return bin*PartsPerBin + int32(d*PartsPerBin/width) }

// BinOf is the bin that a part belongs to.
func BinOf(part int32) int32 { return part >> 2 }

// Row is the count of one cluster.
type Row struct {
	Cluster int32 // index into Tally.Pitchers
	outcome.Counts
}

// Known returns the index of the first bin that is not the missing one.
func (c *Curve) Known() int {
	if len(c.Bins) > 0 && c.Bins[0] == MissingBin {
		return 1
	}
	return 0
}

// Bin returns the pitcher rows of Bins[i].
func (c *Curve) Bin(i int) []Row { return c.Rows[c.Start[i]:c.Start[i+1]] }

// BatterBin returns the batter counts of Bins[i].
func (c *Curve) BatterBin(i int) []BatterCount {
	return c.BatterCounts[c.BatterStart[i]:c.BatterStart[i+1]]
}

// startAt notes where the rows and batter counts of the next bin start, or where
// those of the last end.
func (c *Curve) startAt(row, batter int) {
	c.Start, c.BatterStart = append(c.Start, int32(row)), append(c.BatterStart, int32(batter))
}

// Curves walks the non-empty curves of one variable in the order of the cells.
func (t *Tally) Curves(variable int) iter.Seq2[*CellTable, *Curve] {
	return func(yield func(*CellTable, *Curve) bool) {
		for i := range t.Cells {
			table := &t.Cells[i]
			if c := &table.Curves[variable]; len(c.Bins) > 0 && !yield(table, c) {
				return
			}
		}
	}
}

// Find returns the table of a cell, nil if it holds no pitch.
func (t *Tally) Find(c Cell) *CellTable {
	if i, ok := slices.BinarySearchFunc(t.Cells, c, func(t CellTable, c Cell) int { return t.Cell.Compare(c) }); ok {
		return &t.Cells[i]
	}
	return nil
}

// VariableIndex returns the index of a variable, -1 if it was not counted.
func (t *Tally) VariableIndex(name string) int {
	return slices.IndexFunc(t.Variables, func(v Variable) bool { return v.Name == name })
}
