// Package trial tries stated cutoffs in a league: does "four-seam, 93 mph and
// more" beat the rest there, by how much, and do pitchers who throw on both sides
// of it show it themselves?
//
// It reads claims, counts and published zones. It estimates no curve and writes
// no files.
package trial

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// Kind is how a region lies along a variable.
type Kind int

// The kinds of regions. A lower bound belongs to what is above it and an upper
// bound too, as the edges of bins do: at most 5 is everything below 5.
const (
	AtLeast Kind = iota // x ≥ A
	AtMost              // x < A
	Between             // A ≤ x < B
	Outside             // x < A or x ≥ B
)

var kindWords = [...]string{"at least", "at most", "between", "outside"}

// Region is a stretch of a variable that is said to be the better one.
type Region struct {
	Kind Kind
	A, B float64 // B of Between and Outside alone
}

// two tells whether the region has two bounds.
func (r Region) two() bool { return r.Kind >= Between }

// contains tells whether a place lies in the region that is this many bounds up:
// 0 below the first bound, 1 above it, 2 above the second.
func (r Region) contains(above int) bool {
	switch r.Kind {
	case AtLeast, Between:
		return above == 1
	default:
		return above != 1
	}
}

// String returns "at least 93" or "between 2 and 15".
func (r Region) String() string {
	if r.two() {
		return kindWords[r.Kind] + " " + plainNumber(r.A) + " and " + plainNumber(r.B)
	}
	return kindWords[r.Kind] + " " + plainNumber(r.A)
}

func plainNumber(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// ParseRegion reads "at least 93", "at most 5 in", "between 2 and 15" or "outside
// 2 and 15"; a unit, where one is given, must be the variable's.
func ParseRegion(s, unit string) (Region, error) {
	words := strings.Fields(strings.ReplaceAll(strings.ToLower(s), "−", "-"))
	const how = `; write at least 93, at most 5, between 2 and 15, or outside 2 and 15`
	if n := len(words); n > 2 && !isNumber(words[n-1]) {
		given := words[n-1]
		switch {
		case unit == "":
			return Region{}, fmt.Errorf("%q has the unit %s, but the variable has none", s, given)
		case given != unit:
			return Region{}, fmt.Errorf("%q is in %s, but the variable is in %s", s, given, unit)
		}
		words = words[:n-1]
	}
	for k, word := range kindWords {
		rest, ok := after(words, strings.Fields(word))
		if !ok {
			continue
		}
		r := Region{Kind: Kind(k)}
		if r.two() != (len(rest) == 3 && rest[1] == "and") || !r.two() && len(rest) != 1 {
			break
		}
		var err error
		if r.A, err = number(rest[0]); err != nil {
			return Region{}, err
		}
		if r.two() {
			if r.B, err = number(rest[2]); err != nil {
				return Region{}, err
			}
			if r.A >= r.B {
				return Region{}, fmt.Errorf("%q: the first number must be the smaller one", s)
			}
		}
		return r, nil
	}
	return Region{}, fmt.Errorf("%q is no region%s", s, how)
}

func after(words, first []string) ([]string, bool) {
	if len(words) < len(first) || !slices.Equal(words[:len(first)], first) {
		return nil, false
	}
	return words[len(first):], true
}

func isNumber(s string) bool { _, err := strconv.ParseFloat(s, 64); return err == nil }

// number reads a bound; its size is held to what a variable can be.
func number(s string) (float64, error) {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e5 {
		return 0, fmt.Errorf("%q is no number between -100000 and 100000", s)
	}
	return x, nil
}

// Claim says that a pitch does better inside a region than outside it.
type Claim struct {
	Line     int // in its file, 0 for none
	Type     pitch.Type
	Hand     pitch.Hand // unknown for both
	Side     pitch.Side // unknown for both
	Variable string
	// Definition is what the claim's variable measures, "" where it does not say;
	// a league that measures otherwise cannot answer.
	Definition string
	Region     Region
	Metric     int     // index of outcome.Metrics
	Both       bool    // every outcome at once; Metric is then the first
	Smallest   float64 // smallest advantage of interest, in units of the outcome; 0 of both, where each has its own
	Source     string
}

// matchups lists the matchups that the claim speaks of.
func (c Claim) matchups() []pitch.Matchup {
	var out []pitch.Matchup
	for _, m := range pitch.Matchups {
		if (c.Hand == pitch.UnknownHand || c.Hand == m.Hand) && (c.Side == pitch.UnknownSide || c.Side == m.Side) {
			out = append(out, m)
		}
	}
	return out
}

func (c Claim) outcome() outcome.Metric { return outcome.Metrics[c.Metric] }

// measure names what is claimed: an outcome, or both at once.
func (c Claim) measure() string {
	if c.Both {
		return thresholds.Joint
	}
	return c.outcome().Name
}
