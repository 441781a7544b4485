package answer

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// TypeTitle is a pitch type for people.
func TypeTitle(word string) string {
	if word == pitch.FourSeam.String() {
		return "four-seam"
	}
	return words.Spaced(word)
}

// OutcomeTitle is an outcome for people.
func OutcomeTitle(name string) string {
	if m := Metric(name); m >= 0 {
		return outcome.Metrics[m].Title
	}
	return words.Spaced(name)
}

// Variable describes a variable by its name.
func Variable(name string) shape.Variable {
	i := slices.IndexFunc(shape.Variables, func(v shape.Variable) bool { return v.Name == name })
	if i < 0 {
		return shape.Variable{Name: name, Title: words.Spaced(name), Decimals: 2}
	}
	return shape.Variables[i]
}

// Unit is what follows a number in a unit: " mph", or nothing.
func Unit(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// Gain is a difference of rates with its limits: "+.081 (+.060 to +.102)"; nothing
// where it is not known.
func (e Estimate) Gain() string {
	if math.IsNaN(e.Lo) {
		return ""
	}
	return words.SignedRate(e.X) + " (" + words.SignedRate(e.Lo) + " to " + words.SignedRate(e.Hi) + ")"
}

// Batters says what batters did: "batters missed .245 of their swings".
func Batters(metric int, rate float64) string {
	return words.OutcomeOf(outcome.Metrics[metric].Name).Batters(rate)
}

// Span writes limits in brackets, one that is open as a question mark.
func Span(lo, hi *float64, format func(float64) string) string {
	text := func(p *float64) string {
		if p == nil {
			return "?"
		}
		return format(*p)
	}
	l, h := text(lo), text(hi)
	if strings.ContainsAny(l+h, "−+") {
		return "(" + l + " to " + h + ")"
	}
	return "(" + l + "–" + h + ")"
}

// Probability formats a p or a q.
func Probability(p float64) string {
	if p < .001 {
		return "< .001"
	}
	return words.Rate(p)
}

// Forecast formats a sample that is forecast: rounded up to two digits, since it is no
// more exact.
func Forecast(x float64) string {
	unit := math.Pow(10, max(0, math.Floor(math.Log10(x))-1))
	return words.Count(int64(math.Ceil(x/unit) * unit))
}

// Verdict is a verdict in words for people: alone, and as what one or several of the
// things asked about do.
type Verdict struct{ Word, Name, One, Several string }

// Named is the verdict's name for people.
func Named(list []Verdict, word string) string {
	if i := slices.IndexFunc(list, func(v Verdict) bool { return v.Word == word }); i >= 0 {
		return list[i].Name
	}
	return ""
}

// Count is how many of a list are so.
func Count[T any](list []T, is func(*T) bool) int {
	n := 0
	for i := range list {
		if is(&list[i]) {
			n++
		}
	}
	return n
}

// Counted says how often each verdict was given, in their order: "3 hold, 1 is open";
// before stands before every number.
func Counted(before string, list []Verdict, count func(word string) int) string {
	var parts []string
	for _, v := range list {
		switch n := count(v.Word); n {
		case 0:
		case 1:
			parts = append(parts, before+"1 "+v.One)
		default:
			parts = append(parts, fmt.Sprintf("%s%d %s", before, n, v.Several))
		}
	}
	return strings.Join(parts, ", ")
}
