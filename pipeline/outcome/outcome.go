// Package outcome says what a pitch led to: swings, whiffs, the results of
// plate appearances and their linear weights.
//
// It knows the rules of play and nothing of shapes or of statistics. A result,
// like the hand and the side, belongs to the pitch that ended the plate
// appearance; official scoring sometimes charges it to an earlier pitcher or
// batter (Official Baseball Rules 9.15(b) and 9.16(h)), which says nothing
// about the pitch.
package outcome

import "sill/pipeline/pitch"

// Class is the class of a counted plate appearance's result: what a linear
// weight can tell apart.
type Class uint8

// The classes, in the order of the tally's columns.
const (
	Strikeout Class = iota
	Walk
	HitByPitch
	Single
	Double
	Triple
	HomeRun
	ReachedOnError
	SacrificeFly
	OtherOut
	Classes int = iota
)

// NoClass is that of a pitch that ended no counted plate appearance.
const NoClass = Class(Classes)

// ClassNames are the words of the classes, as in the tally's columns.
var ClassNames = [Classes]string{"strikeouts", "walks", "hit_by_pitch", "singles", "doubles",
	"triples", "home_runs", "reached_on_error", "sacrifice_flies", "other_outs"}

// ClassOf returns the class of a result, or NoClass, and whether the plate appearance counts
// in wOBA's denominator, AB + BB − IBB + SF + HBP (Tango, Lichtman and Dolphin,
// The Book, 2007). A strikeout counts as one even if the batter reached base; a
// fielder's choice is an out even if all were safe; intentional walks,
// sacrifice bunts and catcher interference do not count.
func ClassOf(r pitch.Result) (c Class, counted bool) {
	switch r.Base() {
	case pitch.Strikeout:
		return Strikeout, true
	case pitch.Walk:
		if r.Has(pitch.Intentional) {
			return NoClass, false
		}
		return Walk, true
	case pitch.HitByPitch:
		return HitByPitch, true
	case pitch.Single:
		return Single, true
	case pitch.Double:
		return Double, true
	case pitch.Triple:
		return Triple, true
	case pitch.HomeRun:
		return HomeRun, true
	case pitch.ReachedOnError:
		return ReachedOnError, true
	case pitch.SacrificeFly:
		return SacrificeFly, true
	case pitch.Out, pitch.FieldersChoice:
		return OtherOut, true
	}
	return NoClass, false
}
