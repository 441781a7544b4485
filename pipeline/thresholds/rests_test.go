package thresholds_test

import (
	"testing"

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
