package compare

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// number formats x with a true minus sign.
func number(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// signed is number with a plus sign where x is positive.
func signed(x float64, decimals int) string {
	s := number(x, decimals)
	if strings.HasPrefix(s, "−") || strings.Trim(s, "0.") == "" {
		return s
	}
	return "+" + s
}

// trade writes a rate as the trade does: without the zero before the point.
func trade(s string) string {
	for _, sign := range []string{"", "+", "−"} {
		if rest, ok := strings.CutPrefix(s, sign+"0."); ok {
			return sign + "." + rest
		}
	}
	return s
}

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
			return trade(signed(*p, digits))
		}
		return signed(*p, digits)
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
		return "≥ " + number(*p, digits)
	case r.Edge == "to":
		return "≤ " + number(*p, digits)
	}
	return trade(number(*p, digits)) // a line
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
		return number(*p, digits)
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
	return spaced(word)
}

func spaced(word string) string { return strings.ReplaceAll(word, "_", " ") }

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
	return spaced(name)
}

// quality is "velocity, mph".
func (d *Diff) quality(name string) string {
	v, ok := d.units[name]
	switch {
	case !ok:
		return spaced(name)
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
	return spaced(word)
}

// count returns "1 threshold" or "12 thresholds".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
