package thresholds

import (
	"cmp"
	"slices"

	"sill/pipeline/pitch"
)

// Outcomes lists the outcomes in the order every table uses; others follow by
// name.
var Outcomes = []string{"whiff_rate", "woba_against"}

// Joint is the outcome of both at once, which is good where each beats its line. It
// has verdicts, zones and stretches, and no curve.
const Joint = "joint"

// Sort puts every resource into the dictionary's order: pitch type (the common ones,
// those that a source declares by name, and the rest), variable,
// outcome, hand, side, stratum, reference, then zone, x or bin. The variables
// are named in their order; an unknown one comes last, by name. A reference
// keeps the order of its name; rows equal in all of these keep theirs.
func Sort(t *Tables, variables []string) {
	o := order{rank(variables), rank(Outcomes)}
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
type order struct{ variables, outcomes ranks }

// ranks number words from 1. The empty word, which stands for all of them, comes
// first; a word that is not ranked comes last, by name.
type ranks map[string]int

func rank(words []string) ranks {
	r := ranks{"": 0}
	for i, w := range words {
		r[w] = i + 1
	}
	return r
}

func (r ranks) compare(a, b string) int {
	if a == b {
		return 0
	}
	of := func(word string) int {
		if n, ok := r[word]; ok {
			return n
		}
		return len(r)
	}
	return cmp.Or(cmp.Compare(of(a), of(b)), cmp.Compare(a, b))
}

func (o order) keys(a, b Key) int {
	return cmp.Or(
		pitch.CompareTypes(a.PitchType, b.PitchType),
		o.variables.compare(a.Variable, b.Variable),
		o.outcomes.compare(a.Outcome, b.Outcome),
		// left before right, unstratified first: the words' own order
		cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Side, b.Side), cmp.Compare(a.Stratum, b.Stratum))
}

// binKinds are the kinds of bins along the variable, the missing row last.
var binKinds = []string{"open_low", "regular", "open_high"}

func binPlace(kind string) int {
	if i := slices.Index(binKinds, kind); i >= 0 {
		return i
	}
	return len(binKinds)
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
