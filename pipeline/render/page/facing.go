package page

import (
	"math"

	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// facing says who was facing the pitchers.
type facing struct {
	Told, Clear int    // combinations of pitch type, matchup and outcome
	Largest     string // difference that is shown, where none is clear; "" for none
	Rows        []facingRow
}

// facingRow is a combination whose batters were clearly better or worse than the
// league's.
type facingRow struct{ Type, Matchup, Outcome, Batters, By, Within, Rate, Adjusted string }

// tellFacing gathers who was facing.
func tellFacing(all []thresholds.Opponent) facing {
	var out facing
	largest := 0.0
	for i := range all {
		r := &all[i]
		if r.Difference == nil || r.Variable != "" { // bins stand in the file only
			continue
		}
		out.Told++
		if r.DifferenceLo != nil && *r.DifferenceLo > 0 || r.DifferenceHi != nil && *r.DifferenceHi < 0 {
			largest = max(largest, math.Abs(*r.Difference))
		}
		if !r.Clear {
			continue
		}
		out.Clear++
		o := words.OutcomeOf(r.Outcome)
		row := facingRow{Type: words.Type(r.PitchType), Matchup: words.Matchup(r.Hand, r.Side), Outcome: o.Title,
			Batters: "worse", By: words.SignedRate(*r.Difference),
			Within: signedSpan(r.DifferenceLo, r.DifferenceHi), Rate: words.Rate(r.Rate), Adjusted: words.OrDash(r.Adjusted, words.Rate)}
		if *r.Difference*float64(o.Sign) < 0 { // those who miss less, or hit more
			row.Batters = "better"
		}
		out.Rows = append(out.Rows, row)
	}
	if largest > 0 {
		out.Largest = words.Rate(largest)
	}
	return out
}
