// Package tally turns pitches into integer counts per season, stratum,
// matchup, pitch type, variable, bin and pitcher (and, in a second table, per
// batter), and holds the hand-over file in which those counts travel between
// machines. Counts add, so any order of files and any sharding gives the same
// tally.
//
// It knows how to count and nothing of rates, intervals or lines.
package tally

import (
	"math"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
)

// MissingBin is the bin of pitches whose variable is unknown.
const MissingBin = math.MinInt32

// AllStrata is the stratum that holds every pitch.
const AllStrata = ""

// Cell is what is estimated as one: a matchup and a pitch type, in a season
// and a stratum.
type Cell struct {
	Season  int16
	Stratum string
	Hand    pitch.Hand
	Side    pitch.Side
	Type    pitch.Type
}

// Counts are the sums of one (cell, variable, bin, cluster). Offsets d are in
// quanta from the bin's lower edge (0 ≤ d < width); sums over swings and over
// counted plate appearances are kept apart since each outcome has its own
// events. Adds are checked for overflow.
type Counts struct {
	Pitches, Swings, Whiffs, FoulTips int64
	Results                           [outcome.Classes]int64
	SwingD, SwingD2                   int64
	ResultD, ResultD2                 int64
}

// Row is one line of the pitcher table.
type Row struct {
	Cell     Cell
	Variable int32 // index into Tally.Variables
	Bin      int32 // floor(value / width), or MissingBin
	Cluster  int32 // index into Tally.Pitchers
	Counts   Counts
}

// BatterRow is one line of the batter table: no moments, so that it is small.
type BatterRow struct {
	Cell                     int32 // index into Tally.BatterCells
	Variable                 int32
	Bin                      int32
	Cluster                  int32 // index into Tally.Batters
	Swings, Whiffs, FoulTips uint32
	Results                  [outcome.Classes]uint32
}

// Variable describes a binned quality: what was counted, at which width.
type Variable struct {
	Name, Unit, Definition string
	Width                  float64 // bin width in Unit
	Quantum                float64
	WidthQ                 int64 // Width in quanta
}

// Tally is the whole count. Rows are sorted by (cell, variable, bin, cluster);
// names are sorted bytewise. It is immutable once built.
type Tally struct {
	Variables   []Variable
	Pitchers    []string // canonical keys
	Batters     []string // empty where the source has no batters
	Rows        []Row
	BatterCells []Cell
	BatterRows  []BatterRow
	// Totals are the counts of each (cell, pitcher) over all pitches, whether
	// or not a variable is known: the line m is computed from these.
	Totals []Row // Variable and Bin are −1
}
