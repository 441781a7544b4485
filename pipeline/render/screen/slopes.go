package screen

import (
	"fmt"
	"math"

	"sill/pipeline/locate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// slopes writes how much of the pattern is seen inside the same pitcher, and how
// much between pitchers; nothing where the version holds no such row.
func (e *Evidence) slopes(p *terminal.Printer, v shape.Variable) {
	lines := e.slopeWords(v)
	if len(lines) == 0 {
		return
	}
	p.Line(terminal.Bold, "In the same pitcher, or from pitcher to pitcher?")
	for _, s := range lines {
		p.Prose(terminal.Plain, "  ", "  ", sentence(s))
	}
	p.Blank()
}

// slopeWords are the sentences of slopes.
func (e *Evidence) slopeWords(v shape.Variable) []string {
	s := e.Slope
	if s == nil || s.Within == nil || s.Between == nil || s.Difference == nil {
		return nil
	}
	m := metricOf(s.Outcome)
	width := step(v)
	within, between := words.SlopesShown(s.Shown)
	gain := func(shown bool, at, lo, hi, q *float64) string {
		scaled := func(x float64) string { return words.SignedRate(x * width) }
		decided := map[bool]string{true: "shown", false: "not shown"}[shown]
		return scaled(*at) + " " + words.Interval(lo, hi, scaled) + ", " + words.Told(decided, words.Apart(lo, hi) == shown, q, s.Together)
	}
	more := words.WithUnit(tickLabel(width, 4), v.Unit) + " more " + v.Title
	out := []string{
		fmt.Sprintf("%s goes with a change in %s of %s, among the same pitcher's pitches", more, m.Title, gain(within, s.Within, s.WithinLo, s.WithinHi, s.WithinQ)),
		fmt.Sprintf("from pitcher to pitcher it goes with %s", gain(between, s.Between, s.BetweenLo, s.BetweenHi, s.BetweenQ))}
	apart := s.DifferenceQ != nil && *s.DifferenceQ <= locate.DefaultOptions().Discovery
	differ := "the two are not shown to differ"
	if apart {
		differ = "the two differ"
	}
	differ = words.Told(differ, words.Apart(s.DifferenceLo, s.DifferenceHi) == apart, s.DifferenceQ, s.Together)
	switch s.Shown {
	case locate.ShownBoth:
		out = append(out, "it is shown in the same pitcher and from pitcher to pitcher; "+differ)
	case locate.ShownWithin:
		out = append(out, "it is shown in the same pitcher, and not shown from pitcher to pitcher; "+differ)
	case locate.ShownBetween:
		out = append(out, "it is shown from pitcher to pitcher only, not in the same pitcher: it may be who throws such pitches, not the pitches; "+differ)
	case locate.ShownOpposite:
		out = append(out, "the two run in opposite directions: what holds from pitcher to pitcher is turned round in the same pitcher")
	case locate.ShownNeither:
		sd := orNaN(e.Verdict.SD)
		out = append(out, fmt.Sprintf("both are shown to be small: below %s over one standard deviation, %s", words.Rate(m.Delta), words.WithUnit(words.Number(sd, v.Decimals+1), v.Unit)))
	default:
		out = append(out, "neither is shown, nor shown to be small: it cannot be told yet")
	}
	if s.BetweenShare != nil && !math.IsNaN(*s.BetweenShare) {
		out = append(out, fmt.Sprintf("%s of the variance of %s lies between pitchers", words.Percent(*s.BetweenShare), v.Title))
	}
	return append(out, "these are straight lines through all pitches: they see no edge, and do not say what would become of a pitcher who changed")
}
