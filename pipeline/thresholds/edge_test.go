package thresholds_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/thresholds"
)

// TestRestsOnOne walks the rule of the warning one_pitcher at a breakpoint of 93.
func TestRestsOnOne(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	x := at(93)
	for _, c := range []struct {
		lo, hi, without *float64
		want            bool
	}{
		{at(92), at(94), at(93), false}, {at(92), at(94), at(92.5), false}, {at(92), at(94), at(93.5), false},
		{at(92), at(94), at(92.4), true}, {at(92), at(94), at(93.6), true}, {at(92), at(94), nil, true},
		{nil, at(94), at(60), false}, {nil, at(94), at(95), true}, {at(92), nil, at(99), false}, {nil, nil, nil, true},
	} {
		if got := thresholds.RestsOnOne(x, c.lo, c.hi, c.without); got != c.want {
			t.Errorf("lo %v, hi %v, without %v: %v", c.lo, c.hi, c.without, got)
		}
	}
	if thresholds.RestsOnOne(nil, nil, nil, nil) {
		t.Error("no breakpoint rests on anyone")
	}
}

// TestEdges: only an end that is an edge is one, with what belongs to it, and a zone
// that falls behind the line turns what is better above.
func TestEdges(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	z := thresholds.Zone{Sign: 1,
		LowerKind: thresholds.EndEdge, Lower: at(90), LowerLo: at(89), LowerHi: at(91), LowerMinus: at(88), LowerPlus: at(92),
		LowerLargestShare: at(.2), LowerWithoutOne: at(90.5), BeyondLower: "holds",
		UpperKind: thresholds.EndEdge, Upper: at(95), UpperLo: at(94), UpperHi: at(96), UpperMinus: at(97), UpperPlus: at(93),
		UpperLargestShare: at(.3), UpperWithoutOne: at(95.5), BeyondUpper: "falls_back"}
	lower := thresholds.Edge{At: 90, Lo: at(89), Hi: at(91), Lower: true, BeatsAbove: true, Minus: at(88), Plus: at(92),
		LargestShare: at(.2), WithoutOne: at(90.5), Beyond: "holds"}
	upper := thresholds.Edge{At: 95, Lo: at(94), Hi: at(96), Minus: at(97), Plus: at(93),
		LargestShare: at(.3), WithoutOne: at(95.5), Beyond: "falls_back"}
	same := func(what string, want ...thresholds.Edge) {
		t.Helper()
		if d := cmp.Diff(want, z.Edges()); d != "" {
			t.Errorf("%s: %s", what, d)
		}
	}
	same("beats the line", lower, upper)
	z.Sign, lower.BeatsAbove, upper.BeatsAbove = -1, false, true
	same("falls behind", lower, upper)
	z.UpperKind = thresholds.EndOpen
	same("open above", lower)
	z.LowerKind = thresholds.EndUnresolved
	same("unresolved below")
}
