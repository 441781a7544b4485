package opponents

import (
	"math"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
)

// Rows returns what is published of every cell and outcome.
func Rows(list []Faced) []thresholds.Opponent {
	out := make([]thresholds.Opponent, len(list))
	for i := range list {
		f := &list[i]
		out[i] = thresholds.Opponent{Hand: f.Hand.String(), Side: f.Side.String(), PitchType: f.Type.String(), Outcome: outcome.Metrics[f.Metric].Name,
			Events: f.Events, Pitchers: f.Pitchers, Batters: f.Batters, Rate: f.Rate, League: f.League, Opponents: orNil(f.Opponents),
			Difference: orNil(f.Difference), DifferenceLo: orNil(f.Lo), DifferenceHi: orNil(f.Hi), Shrunk: orNil(f.Shrunk), Adjusted: orNil(f.Adjusted), Clear: f.Clear()}
	}
	return out
}

// Caveats returns the warning for every cell and outcome whose batters are clearly
// better or worse than the league's.
func Caveats(list []Faced) []locate.Caveat {
	var out []locate.Caveat
	for i := range list {
		if f := &list[i]; f.Clear() {
			out = append(out, locate.Caveat{Code: locate.WarnOpponents, PitchType: f.Type.String(), Hand: f.Hand.String(), Side: f.Side.String(),
				Outcome: outcome.Metrics[f.Metric].Name})
		}
	}
	return out
}

func orNil(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
