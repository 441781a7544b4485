package opponents

import (
	"fmt"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
)

// title names a cell: "four-seam L-v-R".
func (c Cell) title() string {
	kind := words.Spaced(c.Type.String())
	if c.Type == pitch.FourSeam {
		kind = "four-seam"
	}
	return kind + " " + pitch.Matchup{Hand: c.Hand, Side: c.Side}.String()
}

// better says what the batters were like: those who miss less, or hit more, are the
// better ones.
func (f *Faced) better() string {
	if f.Difference*float64(outcome.Metrics[f.Metric].Sign) < 0 {
		return "better"
	}
	return "worse"
}

// limits are the difference with its interval.
func (f *Faced) limits() string {
	return words.SignedRate(f.Difference) + " (" + words.SignedRate(f.Lo) + " to " + words.SignedRate(f.Hi) + ")"
}

// Sentence says who was facing, and the rate with that held equal.
func (f *Faced) Sentence() string {
	m := outcome.Metrics[f.Metric]
	return fmt.Sprintf("%s · %s: the batters faced were %s than the league's, by %s; the rate is %s, against the league's batters %s.",
		f.title(), m.Title, f.better(), f.limits(), words.Rate(f.Rate), words.Rate(f.Adjusted))
}

// Sentence says where, and who was facing there.
func (s *Stretch) Sentence() string {
	m := outcome.Metrics[s.Metric]
	unit := ""
	if s.Variable.Unit != "" {
		unit = " " + s.Variable.Unit
	}
	return fmt.Sprintf("%s · %s %s to %s%s · %s: the batters faced were %s than the league's, by %s; the rate is %s, against the league's batters %s.",
		s.title(), s.Variable.Title, words.Number(s.Lower, s.Variable.Decimals), words.Number(s.Upper, s.Variable.Decimals), unit, m.Title,
		s.better(), s.limits(), words.Rate(s.Rate), words.Rate(s.Adjusted))
}
