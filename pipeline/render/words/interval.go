package words

import (
	"fmt"
	"math"
	"strings"
)

// Plain writes no-break spaces as spaces.
func Plain(s string) string { return strings.ReplaceAll(s, NoBreak, " ") }

// WithUnit puts the unit behind a number, on the same line; "" is no unit.
func WithUnit(number, unit string) string {
	if unit == "" {
		return number
	}
	return number + NoBreak + unit
}

// OrDash formats a number that may be missing.
func OrDash(x *float64, format func(float64) string) string { return or(x, "–", format) }

// or formats a number; one that is missing or unbounded is the word given.
func or(x *float64, missing string, format func(float64) string) string {
	if x == nil || math.IsNaN(*x) || math.IsInf(*x, 0) {
		return missing
	}
	return format(*x)
}

// Interval formats an interval in brackets: "(92.6–93.9)", or with "to" where a
// sign stands before a limit. A limit that is not pinned is a question mark.
func Interval(lo, hi *float64, format func(float64) string) string {
	l, h := or(lo, "?", format), or(hi, "?", format)
	if strings.ContainsAny(l+h, "−+") {
		return "(" + l + " to " + h + ")"
	}
	return "(" + l + "–" + h + ")"
}

// Tight formats an interval in as few characters as it takes: "92.6–93.9", "−5.3…−4.5".
// A limit that is not pinned is a question mark.
func Tight(lo, hi *float64, format func(float64) string) string {
	l, h := or(lo, "?", format), or(hi, "?", format)
	if strings.ContainsAny(l+h, "−+") {
		return l + "…" + h
	}
	return l + "–" + h
}

// Span is an interval in a sentence: a dash between plain numbers, else "to".
func Span(lo, hi string) string {
	if strings.ContainsAny(lo+hi, "−?+") {
		return lo + NoBreak + "to" + NoBreak + hi
	}
	return lo + "–" + hi
}

// SpanOf is Span of two limits; one that is not pinned is a question mark.
func SpanOf(lo, hi *float64, format func(float64) string) string {
	return Span(or(lo, "?", format), or(hi, "?", format))
}

// WithLimits formats an estimate with its limits: "+.081 (+.060 to +.102)".
func WithLimits(x, lo, hi float64, format func(float64) string) string {
	return format(x) + " (" + format(lo) + " to " + format(hi) + ")"
}

// Probability formats a p or q: three decimals, the next above it, so that one beyond a
// limit never reads as the limit; or a bound.
func Probability(p float64) string {
	if p < .001 {
		return "<" + NoBreak + ".001"
	}
	return Rate(math.Ceil(1000*p-1e-6) / 1000)
}

// WholePercent writes a share in whole per cent.
func WholePercent(x float64) string {
	if p := 100 * x; p > 0 && p < .5 {
		return "<" + NoBreak + "1" + NoBreak + "%"
	}
	return Number(100*x, 0) + NoBreak + "%"
}

// Ordinal writes a percentile: "81st"; the ends are held at the 1st and the 99th.
func Ordinal(x float64) string {
	n := int(min(99, max(1, math.Round(x))))
	suffix := "th"
	if n/10 != 1 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, suffix)
}

// About rounds up to two digits: a forecast is no more exact.
func About(x float64) string {
	unit := math.Pow(10, max(0, math.Floor(math.Log10(x))-1))
	return Count(int64(math.Ceil(x/unit) * unit))
}

// Commas writes "a, b, c".
func Commas(list []string) string { return strings.Join(list, ", ") }

// Listed writes "a", "a and b" or "a, b and c".
func Listed(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}
