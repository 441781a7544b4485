package compare

import (
	"fmt"
	"math"

	"sill/pipeline/locate"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// decimals is how many digits people are shown: one more than a bin's width has.
func decimals(v thresholds.Variable) int {
	if !(v.Width > 0) {
		return 2
	}
	return max(0, 1-int(math.Floor(math.Log10(v.Width)+1e-9)))
}

// change formats a difference and its interval, with q where it decides; an open limit
// is a question mark.
func change(r Row, digits int) string {
	if r.Difference == nil {
		return ""
	}
	limit := func(p *float64) string {
		switch {
		case p == nil:
			return "?"
		case r.Kind == KindLine:
			return words.Bare(words.Signed(*p, digits))
		}
		return words.Signed(*p, digits)
	}
	s := limit(r.Difference)
	if r.Rho == nil {
		return s
	}
	s += " (" + limit(r.DifferenceLo) + " to " + limit(r.DifferenceHi) + ")"
	if moved, apart := r.Change == Moved, words.Apart(r.DifferenceLo, r.DifferenceHi); moved || apart {
		return words.Told(s, moved == apart, r.Q, r.Together)
	}
	return s
}

// value formats one end of a breakpoint: "≥ 93.2", "≤ 88.0".
func (r Row) value(p *float64, digits int) string {
	switch {
	case p == nil:
		return "–"
	case r.Edge == "from":
		return "≥ " + words.Number(*p, digits)
	case r.Edge == "to":
		return "≤ " + words.Number(*p, digits)
	}
	return words.Bare(words.Number(*p, digits)) // a line
}

// within is value with its interval.
func (r Row) within(p, lo, hi *float64, digits int) string {
	if p == nil {
		return ""
	}
	return r.value(p, digits) + " " + words.Interval(lo, hi, func(x float64) string { return words.Number(x, digits) })
}

// cellTitle is "four-seam L-v-R"; the pitch type alone where there is no matchup.
func cellTitle(k thresholds.Key) string { return words.Cell(k.PitchType, k.Hand, k.Side) }

// quality is "velocity, mph".
func (d *Diff) quality(name string) string {
	v, ok := d.units[name]
	switch {
	case !ok:
		return words.Spaced(name)
	case v.Unit == "":
		return v.Title
	}
	return v.Title + ", " + v.Unit
}

// verdictTitle says a verdict for people.
func verdictTitle(word string) string {
	switch word {
	case "":
		return "no such pitch"
	case locate.Found:
		return "a threshold"
	case locate.AlwaysBeats:
		return "always beats the line"
	case locate.NeverBeats:
		return "never beats the line"
	case locate.EdgeUnresolved:
		return "changes, no clear edge"
	}
	return words.Spaced(word)
}

// count returns "1 threshold" or "12 thresholds".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
