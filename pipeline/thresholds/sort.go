package thresholds

import (
	"cmp"
	"slices"

	"sill/pipeline/pitch"
)

// Outcomes lists the outcomes in the order every table uses; others follow by
// name.
var Outcomes = []string{"whiff_rate", "woba_against"}

// Sort puts every resource into the dictionary's order: pitch type, variable,
// outcome, hand, side, stratum, reference, then zone, x or bin. The variables
// are named in their order; an unknown one comes last, by name. A reference
// keeps the order of its name; rows equal in all of these keep theirs.
func Sort(t *Tables, variables []string) {
	o := order{rank(pitch.Words("pitch_type")), rank(variables), rank(Outcomes)}
	slices.SortStableFunc(t.Thresholds, func(a, b Threshold) int {
		return cmp.Or(o.keys(a.Key, b.Key), cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.Zone, b.Zone))
	})
	slices.SortStableFunc(t.Verdicts, func(a, b Verdict) int {
		return cmp.Or(o.keys(a.Key, b.Key), cmp.Compare(a.Reference, b.Reference))
	})
	slices.SortStableFunc(t.Zones, func(a, b Zone) int {
		return cmp.Or(o.keys(a.Key, b.Key), cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.Zone, b.Zone))
	})
	slices.SortStableFunc(t.Curves, func(a, b CurvePoint) int {
		return cmp.Or(o.keys(a.Key, b.Key), cmp.Compare(a.Reference, b.Reference), cmp.Compare(a.X, b.X))
	})
	slices.SortStableFunc(t.Bins, func(a, b Bin) int {
		return cmp.Or(o.keys(a.Key, b.Key), cmp.Compare(binPlace(a.Kind), binPlace(b.Kind)), compareNumber(a.Lower, b.Lower))
	})
	slices.SortStableFunc(t.Contrasts, func(a, b Contrast) int {
		return cmp.Or(
			cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Pair, b.Pair),
			o.keys(a.first(), b.first()), o.keys(a.second(), b.second()),
			cmp.Compare(a.Reference, b.Reference), compareNumber(a.X, b.X))
	})
	slices.SortStableFunc(t.References, func(a, b Reference) int {
		return cmp.Or(o.keys(a.key(), b.key()), cmp.Compare(a.Reference, b.Reference))
	})
	slices.SortStableFunc(t.Slopes, func(a, b Slope) int { return o.keys(a.Key, b.Key) })
	slices.SortStableFunc(t.Opponents, func(a, b Opponent) int {
		return cmp.Or(o.keys(a.key(), b.key()), compareNumber(a.Lower, b.Lower))
	})
}

func (p Opponent) key() Key {
	return Key{Hand: p.Hand, Side: p.Side, PitchType: p.PitchType, Variable: p.Variable, Outcome: p.Outcome}
}

func (c Contrast) first() Key {
	return Key{c.HandA, c.SideA, c.TypeA, c.Stratum, c.Variable, c.Outcome}
}

func (c Contrast) second() Key {
	return Key{c.HandB, c.SideB, c.TypeB, c.Stratum, c.Variable, c.Outcome}
}

func (r Reference) key() Key {
	return Key{Hand: r.Hand, Side: r.Side, PitchType: r.PitchType, Outcome: r.Outcome}
}

// order ranks the words of each dimension that has an order of its own.
type order struct{ types, variables, outcomes map[string]int }

// rank numbers the words from 1. The empty word, which stands for all of them,
// comes first.
func rank(words []string) map[string]int {
	m := map[string]int{"": 0}
	for i, w := range words {
		m[w] = i + 1
	}
	return m
}

func compareWord(m map[string]int, a, b string) int {
	if a == b {
		return 0
	}
	ra, okA := m[a]
	rb, okB := m[b]
	switch {
	case okA && okB:
		return cmp.Compare(ra, rb)
	case okA:
		return -1
	case okB:
		return 1
	}
	return cmp.Compare(a, b)
}

func (o order) keys(a, b Key) int {
	if c := compareWord(o.types, a.PitchType, b.PitchType); c != 0 {
		return c
	}
	if c := compareWord(o.variables, a.Variable, b.Variable); c != 0 {
		return c
	}
	if c := compareWord(o.outcomes, a.Outcome, b.Outcome); c != 0 {
		return c
	}
	// left before right, unstratified first: the words' own order
	return cmp.Or(cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Side, b.Side), cmp.Compare(a.Stratum, b.Stratum))
}

// binPlace orders the kinds of bins along the variable, the missing row last.
func binPlace(kind string) int {
	switch kind {
	case "open_low":
		return 0
	case "regular":
		return 1
	case "open_high":
		return 2
	}
	return 3
}

// compareNumber orders numbers, null first.
func compareNumber(a, b *float64) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return -1
	case b == nil:
		return 1
	}
	return cmp.Compare(*a, *b)
}
