package opponents

import (
	"math"
	"slices"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
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

// FromRows returns what rows tell, for sentences.
func FromRows(rows []thresholds.Opponent) []Faced {
	out := make([]Faced, len(rows))
	for i, r := range rows {
		hand, _ := pitch.ParseHand(r.Hand)
		side, _ := pitch.ParseSide(r.Side)
		kind, _ := pitch.ParseType(r.PitchType)
		metric := max(0, slices.IndexFunc(outcome.Metrics, func(m outcome.Metric) bool { return m.Name == r.Outcome }))
		out[i] = Faced{Cell: Cell{hand, side, kind}, Metric: metric, Events: r.Events, Pitchers: r.Pitchers, Batters: r.Batters, Rate: r.Rate, League: r.League,
			Opponents: orNaN(r.Opponents), Difference: orNaN(r.Difference), Lo: orNaN(r.DifferenceLo), Hi: orNaN(r.DifferenceHi), Adjusted: orNaN(r.Adjusted),
			P: nan, Shrunk: orNaN(r.Shrunk)}
	}
	return out
}

func orNaN(p *float64) float64 {
	if p == nil {
		return nan
	}
	return *p
}

// StretchRow is a stretch as JSON.
type StretchRow struct {
	thresholds.Opponent
	Variable string   `json:"variable" doc:"quality of the pitch"`
	Lower    float64  `json:"lower" doc:"lower edge of the bin, included"`
	Upper    float64  `json:"upper" doc:"upper edge, excluded"`
	Q        *float64 `json:"q" doc:"of no difference, after Benjamini-Hochberg over all stretches"`
	Clear    bool     `json:"clear" doc:"whether the difference is .010 or more, its interval leaves 0 out, and it stays with 10 % false discoveries among all stretches"`
}

// StretchRows returns stretches as they are written.
func StretchRows(list []Stretch) []StretchRow {
	out := make([]StretchRow, len(list))
	for i := range list {
		s := &list[i]
		out[i] = StretchRow{Rows([]Faced{s.Faced})[0], s.Variable.Name, s.Lower, s.Upper, orNil(s.Q), s.Clear()}
	}
	return out
}
