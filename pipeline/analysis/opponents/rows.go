package opponents

import (
	"sill/pipeline/analysis/answer"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
)

// Rows returns what is published: of every cell and outcome, then of every bin.
func Rows(cells []Faced, along []Stretch) []thresholds.Opponent {
	out := make([]thresholds.Opponent, 0, len(cells)+len(along))
	for i := range cells {
		r := cells[i].row()
		r.Clear = cells[i].Clear()
		out = append(out, r)
	}
	for i := range along {
		s := &along[i]
		r := s.row()
		r.Variable, r.Lower, r.Upper, r.Q, r.Clear = s.Variable.Name, answer.Null(s.Lower), answer.Null(s.Upper), answer.Null(s.Q), s.Clear()
		out = append(out, r)
	}
	return out
}

func (f *Faced) row() thresholds.Opponent {
	return thresholds.Opponent{Hand: f.Hand.String(), Side: f.Side.String(), PitchType: f.Type.String(), Outcome: outcome.Metrics[f.Metric].Name,
		Events: f.Events, Pitchers: f.Pitchers, Batters: f.Batters, Rate: f.Rate, League: f.League, Opponents: answer.Null(f.Opponents),
		Difference: answer.Null(f.Difference), DifferenceLo: answer.Null(f.Lo), DifferenceHi: answer.Null(f.Hi),
		Shrunk: answer.Null(f.Shrunk), Adjusted: answer.Null(f.Adjusted)}
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

// FromRows returns what rows tell, for sentences.
func FromRows(rows []thresholds.Opponent) (cells []Faced, along []Stretch) {
	or := func(p *float64) float64 { return answer.Or(p, answer.NaN) }
	for _, r := range rows {
		cell, _ := answer.ParseCell(r.PitchType, r.Hand, r.Side)
		f := Faced{Cell: cell, Metric: max(0, outcome.MetricIndex(r.Outcome)),
			Events: r.Events, Pitchers: r.Pitchers, Batters: r.Batters,
			Rate: r.Rate, League: r.League, Opponents: or(r.Opponents), Difference: or(r.Difference), Lo: or(r.DifferenceLo), Hi: or(r.DifferenceHi), Adjusted: or(r.Adjusted),
			P: answer.NaN, Shrunk: or(r.Shrunk)}
		if r.Variable == "" {
			cells = append(cells, f)
			continue
		}
		along = append(along, Stretch{Faced: f, Variable: answer.Variable(r.Variable), Lower: or(r.Lower), Upper: or(r.Upper), Q: or(r.Q)})
	}
	return cells, along
}
