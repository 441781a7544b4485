package locate

import (
	"math"

	"sill/pipeline/thresholds"
	"sill/stats"
)

// The verdicts on a cell, in the order in which they are given.
const (
	TooFew         = "too_few"
	AlwaysBeats    = "always_beats"
	NeverBeats     = "never_beats"
	Found          = "found"
	EdgeUnresolved = "edge_unresolved"
	Inconclusive   = "inconclusive"
)

// The verdicts on the level of a cell.
const (
	Above    = "above"
	Below    = "below"
	NotShown = "not_shown"
)

// evidence is what a verdict is made of.
type evidence struct {
	testable bool // the cell is large enough
	line     bool // enough qualified pitchers are behind the line in use
	always   int  // +1 beats, −1 never beats over the central nine tenths, 0 neither
	rejected bool // q within the false discovery rate
	edges    int  // confirmed edges
}

// verdict gives the first that applies: too few; always or never, which needs
// no flatness test; found; edge unresolved; inconclusive.
func (e evidence) verdict() string {
	switch {
	case !e.testable || !e.line:
		return TooFew
	case e.always > 0:
		return AlwaysBeats
	case e.always < 0:
		return NeverBeats
	case e.rejected && e.edges > 0:
		return Found
	case e.rejected:
		return EdgeUnresolved
	}
	return Inconclusive
}

// levelWords are the words of a level's verdict, by 1 + its sign.
var levelWords = [3]string{Below, NotShown, Above}

// orNil is v, or nil where it is not a number.
func orNil(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// endWords are the kinds of a zone's ends.
var endWords = [...]string{stats.Unresolved: thresholds.EndUnresolved, stats.Open: thresholds.EndOpen, stats.Edged: thresholds.EndEdge}

// courseWords say how an advantage goes on past a breakpoint.
var courseWords = [...]string{stats.CannotTell: "cannot_tell", stats.KeepsRising: "keeps_rising",
	stats.Holds: "holds", stats.FallsBack: "falls_back"}
