package locate

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// TestShown holds the word of every constellation.
func TestShown(t *testing.T) {
	const sure, unsure = .01, .5
	for _, c := range []struct {
		within, between float64
		qWithin         float64
		qBetween        float64
		half            float64 // of both intervals
		want            string
	}{
		{.02, .03, sure, sure, .01, ShownBoth},
		{-.02, -.03, sure, sure, .01, ShownBoth},
		{-.02, .03, sure, sure, .01, ShownOpposite},
		{.02, .03, sure, unsure, .01, ShownWithin},
		{.02, .03, unsure, sure, .01, ShownBetween},
		{.001, .002, unsure, unsure, .007, ShownNeither}, // both inside ±.010
		{.001, .002, unsure, unsure, .0085, ShownNot},    // one reaches .0105
		{.001, -.002, unsure, unsure, .0085, ShownNot},   // or −.0105
		{.02, .03, .1, .1, .01, ShownBoth},               // q at the limit counts
	} {
		around := func(v float64) stats.Slope { return stats.Slope{Value: v, Lo: v - c.half, Hi: v + c.half} }
		s := slope{found: &stats.Slopes{Within: around(c.within), Between: around(c.between)}, small: .01}
		s.row.WithinQ, s.row.BetweenQ = &c.qWithin, &c.qBetween
		if got := s.shown(.10); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
	if got := (&slope{}).shown(.10); got != ShownNot {
		t.Errorf("no slope: %s", got)
	}
}

// TestSlopeRows: velocity carries the whiffs of the small league, break does not;
// every headline cell that is not too few has its row, and a stratum adds none and
// changes none.
func TestSlopeRows(t *testing.T) {
	eo, o := quick()
	o.Contrasts = false
	l := smallLeague()
	l.edit = func(p *pitch.Pitch) {
		p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateHeight] = 3.4, 1.6, 2.5
	}
	plain := locateAll(t, l.play(t), eo, o)
	if want := 4 * 2 * 2 * 2; len(plain.Slopes) != want { // matchups, types, variables, outcomes
		t.Errorf("%d slopes, want %d", len(plain.Slopes), want)
	}
	for _, s := range plain.Slopes {
		moves := s.Variable == "velocity" && s.Outcome == "whiff_rate"
		if moves != (s.Shown == ShownBoth) {
			t.Errorf("%+v is %s: within %.4f (q %.3f), between %.4f (q %.3f)", s.Key, s.Shown, *s.Within, *s.WithinQ, *s.Between, *s.BetweenQ)
		}
		// a slope of .25 on the logit at 22 % is .25·.22·.78 = .043 a mph
		if moves && (*s.WithinLo > .043 || *s.WithinHi < .03) {
			t.Errorf("%+v: within %.4f to %.4f", s.Key, *s.WithinLo, *s.WithinHi)
		}
	}
	var err error
	if l.strat, err = tally.StrataNamed([]string{"season"}); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(plain.Slopes, locateAll(t, l.play(t), eo, o).Slopes); diff != "" {
		t.Errorf("a stratum changed the slopes: %s", diff)
	}
}

// TestSlopesOfNothing: an empty table stays one.
func TestSlopesOfNothing(t *testing.T) {
	if got := finishSlopes(nil, DefaultOptions()); len(got) != 0 {
		t.Errorf("%v", got)
	}
	missing := slope{row: thresholds.Slope{Shown: ShownNot}}
	if got := finishSlopes([]slope{missing}, DefaultOptions()); len(got) != 1 || got[0].WithinQ != nil {
		t.Errorf("%v", got)
	}
}
