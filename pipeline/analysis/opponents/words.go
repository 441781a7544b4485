package opponents

import (
	"fmt"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/render/words"
)

// better says what the batters were like: those who miss less, or hit more, are the
// better ones.
func (f *Faced) better() string {
	if f.Difference*float64(outcome.Metrics[f.Metric].Sign) < 0 {
		return "better"
	}
	return "worse"
}

// Sentence says who was facing, and the rate with that held equal.
func (f *Faced) Sentence() string { return f.said("", nil) }

// Sentence says where, and who was facing there.
func (s *Stretch) Sentence() string {
	number := func(x float64) string { return words.Number(x, s.Variable.Decimals) }
	return s.said(" · "+s.Variable.Title+" "+number(s.Lower)+" to "+number(s.Upper)+answer.Unit(s.Variable.Unit), answer.Null(s.Q))
}

// said is the sentence on some of the cell's pitches, which q is of where there is one.
func (f *Faced) said(where string, q *float64) string {
	difference := answer.Estimate{X: f.Difference, Lo: f.Lo, Hi: f.Hi}
	return fmt.Sprintf("%s%s · %s: the batters faced were %s than the league's, by %s; the rate is %s, against the league's batters %s.",
		f.Title(), where, outcome.Metrics[f.Metric].Title, f.better(), words.Told(difference.Gain(), true, q, 0), words.Rate(f.Rate), words.Rate(f.Adjusted))
}
