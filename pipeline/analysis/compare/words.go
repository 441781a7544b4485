package compare

import (
	"fmt"
	"math"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
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

// change formats a difference and its interval; an open limit is a question mark.
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
	return s + " (" + limit(r.DifferenceLo) + " to " + limit(r.DifferenceHi) + ")"
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
	limit := func(p *float64) string {
		if p == nil {
			return "?"
		}
		return words.Number(*p, digits)
	}
	l, h := limit(lo), limit(hi)
	if strings.Contains(l+h, "−") {
		return r.value(p, digits) + " (" + l + " to " + h + ")"
	}
	return r.value(p, digits) + " (" + l + "–" + h + ")"
}

func typeTitle(word string) string {
	if word == pitch.FourSeam.String() {
		return "four-seam"
	}
	return words.Spaced(word)
}

// cellTitle is "four-seam L-v-R"; the pitch type alone where there is no matchup.
func cellTitle(k thresholds.Key) string {
	h, err1 := pitch.ParseHand(k.Hand)
	s, err2 := pitch.ParseSide(k.Side)
	if err1 != nil || err2 != nil || k.Hand == "" {
		return typeTitle(k.PitchType)
	}
	return typeTitle(k.PitchType) + " " + pitch.Matchup{Hand: h, Side: s}.String()
}

func outcomeTitle(name string) string {
	if i := metricOf(name); i >= 0 {
		return outcome.Metrics[i].Title
	}
	return words.Spaced(name)
}

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
