package opponents

import (
	"math"
	"slices"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
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
		r.Variable, r.Lower, r.Upper, r.Q, r.Clear = s.Variable.Name, orNil(s.Lower), orNil(s.Upper), orNil(s.Q), s.Clear()
		out = append(out, r)
	}
	return out
}

func (f *Faced) row() thresholds.Opponent {
	return thresholds.Opponent{Hand: f.Hand.String(), Side: f.Side.String(), PitchType: f.Type.String(), Outcome: outcome.Metrics[f.Metric].Name,
		Events: f.Events, Pitchers: f.Pitchers, Batters: f.Batters, Rate: f.Rate, League: f.League, Opponents: orNil(f.Opponents),
		Difference: orNil(f.Difference), DifferenceLo: orNil(f.Lo), DifferenceHi: orNil(f.Hi), Shrunk: orNil(f.Shrunk), Adjusted: orNil(f.Adjusted)}
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
func FromRows(rows []thresholds.Opponent) (cells []Faced, along []Stretch) {
	for _, r := range rows {
		hand, _ := pitch.ParseHand(r.Hand)
		side, _ := pitch.ParseSide(r.Side)
		kind, _ := pitch.ParseType(r.PitchType)
		metric := max(0, slices.IndexFunc(outcome.Metrics, func(m outcome.Metric) bool { return m.Name == r.Outcome }))
		f := Faced{Cell: Cell{hand, side, kind}, Metric: metric, Events: r.Events, Pitchers: r.Pitchers, Batters: r.Batters, Rate: r.Rate, League: r.League,
			Opponents: orNaN(r.Opponents), Difference: orNaN(r.Difference), Lo: orNaN(r.DifferenceLo), Hi: orNaN(r.DifferenceHi), Adjusted: orNaN(r.Adjusted),
			P: nan, Shrunk: orNaN(r.Shrunk)}
		if r.Variable == "" {
			cells = append(cells, f)
			continue
		}
		v := shape.Variable{Name: r.Variable, Title: words.Spaced(r.Variable)}
		if i := slices.IndexFunc(shape.Variables, func(v shape.Variable) bool { return v.Name == r.Variable }); i >= 0 {
			v = shape.Variables[i]
		}
		along = append(along, Stretch{Faced: f, Variable: v, Lower: orNaN(r.Lower), Upper: orNaN(r.Upper), Q: orNaN(r.Q)})
	}
	return cells, along
}

func orNaN(p *float64) float64 {
	if p == nil {
		return nan
	}
	return *p
}
