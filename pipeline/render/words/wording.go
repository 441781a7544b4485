// Package words writes numbers and words of the vocabulary for people, in one
// way for every page, figure, table and sentence. It knows no row and no language
// but English.
package words

import (
	"slices"
	"strconv"
	"strings"
)

// ExceptSliver is what a verdict of always or never leaves open of the pitches it
// speaks of.
const ExceptSliver = "except perhaps a stretch narrower than a tenth of the pitches"

// NoBreak is a space at which no line is broken.
const NoBreak = "\u00a0"

// Spaced turns a word of the vocabulary into one for people.
func Spaced(word string) string { return strings.ReplaceAll(word, "_", " ") }

// Sentence begins with a capital, but for the trade's own spelling of wOBA.
func Sentence(s string) string {
	if s == "" || strings.HasPrefix(s, "wOBA") {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Number formats x with a true minus sign, and none before a zero.
func Number(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// Signed is Number with a plus sign where what is shown is positive.
func Signed(x float64, decimals int) string {
	s := Number(x, decimals)
	if strings.HasPrefix(s, "−") || strings.Trim(s, "0.") == "" {
		return s
	}
	return "+" + s
}

// Bare writes a number as the trade writes a rate: without the zero before the
// point.
func Bare(s string) string {
	for _, sign := range []string{"", "+", "−"} {
		if rest, ok := strings.CutPrefix(s, sign+"0."); ok {
			return sign + "." + rest
		}
	}
	return s
}

// Rate formats a rate: three decimals, no leading zero.
func Rate(x float64) string { return Bare(Number(x, 3)) }

// SignedRate formats a difference of rates.
func SignedRate(x float64) string { return Bare(Signed(x, 3)) }

// Count formats a whole number with its thousands apart.
func Count(n int64) string {
	digits := []byte(strconv.FormatInt(n, 10))
	for i := len(digits) - 3; i > 0 && digits[i-1] != '-'; i -= 3 {
		digits = slices.Insert(digits, i, ',')
	}
	return strings.Replace(string(digits), "-", "−", 1)
}

// Plural returns "1 pitcher" or "12 pitchers".
func Plural(n int64, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return Count(n) + " " + one + "s"
}

// Percent writes a share, with a decimal below ten percent.
func Percent(x float64) string {
	switch p := 100 * x; {
	case p == 0 || p >= 9.95:
		return Number(p, 0) + NoBreak + "%"
	case p < .05:
		return "<" + NoBreak + "0.1" + NoBreak + "%"
	default:
		return Number(p, 1) + NoBreak + "%"
	}
}
