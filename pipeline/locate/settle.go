package locate

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// tooFewText says what a cell lacks to be tested against a line.
func tooFewText(c *estimate.Curve, l *estimate.Line, seasons int) string {
	if !c.Key.Tested() {
		return "pitches without a type of their own are counted, never tested"
	}
	var lacks []string
	factor := 1.0
	for _, s := range c.Shortfalls() {
		lacks = append(lacks, fmt.Sprintf("%s %s (has %s)", amount(s.Need), s.What, amount(math.Floor(s.Have*10)/10)))
		factor = max(factor, s.Need/max(s.Have, 1))
	}
	if !l.Usable() {
		lacks = append(lacks, fmt.Sprintf("%d qualified pitchers behind the line (has %d)", estimate.MinQualified, l.Qualified))
		factor = max(factor, float64(estimate.MinQualified)/float64(max(l.Qualified, 1)))
	}
	if len(lacks) == 0 {
		return ""
	}
	text := "needs " + strings.Join(lacks, ", ")
	if c.Events > 0 && len(c.Shortfalls()) > 0 {
		text += fmt.Sprintf("; at the rate so far, %s", more(factor, c, seasons))
	}
	return text
}

// inconclusiveText says how much data would reject a flat curve with 80 % power
// if the observed pattern is real: the normal score of p grows with the square
// root of the data. alpha is the largest p that would be rejected now.
func inconclusiveText(c *estimate.Curve, p, alpha float64, seasons int) string {
	z, need := normalScore(p), normalScore(alpha)+normalScore(.4) // .4 two-sided is 80 % power
	if z < .5 {
		return fmt.Sprintf("nothing points away from a flat curve: even 20 times the data (%s) need not settle it", more(20, c, seasons))
	}
	factor := float64(need/z) * (need / z)
	if factor > 20 {
		return fmt.Sprintf("the pattern is too faint for 20 times the data (%s) to settle", more(20, c, seasons))
	}
	return fmt.Sprintf("if the pattern is real, %s would settle it", more(max(1.1, factor), c, seasons))
}

// unresolvedText says how much data would show the sign that is missing for an
// edge, where the curve crosses the line at all.
func unresolvedText(b *stats.Band, c *estimate.Curve, seasons int) string {
	shown := 0.0
	for _, t := range b.T {
		if math.Abs(t) > b.Crit {
			shown = t
		}
	}
	best := 0.0 // largest |T| of the sign that is not shown
	for _, t := range b.T {
		if shown == 0 || (t > 0) != (shown > 0) {
			best = max(best, math.Abs(t))
		}
	}
	if best == 0 {
		return "the curve does not cross the line within the values observed: only pitches beyond them can show an edge"
	}
	need := b.Crit + normalScore(.4)
	factor := float64(need/best) * (need / best)
	if factor > 20 {
		return fmt.Sprintf("the far side of the line is too faint for 20 times the data (%s) to show", more(20, c, seasons))
	}
	return fmt.Sprintf("if the crossing is real, %s would show its far side", more(max(1.1, factor), c, seasons))
}

// jointSettle names what each outcome lacks where both at once get the same verdict as
// it.
func jointSettle(a, b *thresholds.Verdict, verdict string) string {
	if settled(a) && settled(b) && verdict == EdgeUnresolved {
		return "both outcomes beat their lines somewhere, but no stretch is certain of both"
	}
	var lacks []string
	for _, v := range []*thresholds.Verdict{a, b} {
		if v.Verdict == verdict && v.Settle != "" {
			lacks = append(lacks, outcome.Metrics[slices.Index(outcome.Names(), v.Outcome)].Title+": "+v.Settle)
		}
	}
	return strings.Join(lacks, "; ")
}

// more words factor times a cell's data in pitchers, pitches and seasons.
func more(factor float64, c *estimate.Curve, seasons int) string {
	n := math.Ceil(factor * float64(max(seasons, 1)))
	word := "seasons"
	if n == 1 {
		word = "season"
	}
	return fmt.Sprintf("about %s pitchers, %s pitches or %.0f %s alike", rounded(factor*float64(max(c.Pitchers, 1))),
		rounded(factor*float64(c.Pitches)), n, word)
}

// rounded is v with two significant digits, as whole words of a count.
func rounded(v float64) string {
	if v < 10 {
		return amount(math.Ceil(v))
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-1)
	return amount(math.Ceil(v/step) * step)
}

func amount(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// normalScore is the z that a standard normal exceeds in absolute value with
// probability p.
func normalScore(p float64) float64 { return math.Sqrt2 * math.Erfinv(1-min(1, p)) }
