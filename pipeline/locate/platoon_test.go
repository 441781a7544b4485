package locate

import (
	"math"
	"strings"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// handsLeague has a curve for each side of each hand: left-handed pitchers gain by
// velocity against their own side only, right-handed ones against both alike.
func handsLeague() league {
	l := smallLeague()
	l.pitchers, l.pitches = 90, 1600
	l.types, l.variables = []pitch.Type{pitch.FourSeam}, []string{"velocity"}
	l.whiff = func(hand pitch.Hand, side pitch.Side, _ pitch.Type, x float64) float64 {
		slope := .25
		if hand == pitch.LeftHand && side == pitch.RightSide {
			slope = 0
		}
		return math.Log(.22/.78) + slope*x
	}
	return l
}

// platoonRows returns the whiff rate's rows of a hand.
func platoonRows(t *thresholds.Tables, hand, stratum string) (rows []thresholds.Contrast) {
	for _, c := range t.Contrasts {
		if c.Kind == KindPlatoon && c.HandA == hand && c.Outcome == "whiff_rate" && c.Stratum == stratum {
			rows = append(rows, c)
		}
	}
	return rows
}

// TestPlatoonPlanted: a gain against one side only splits, with the gap that was
// planted; the same gain against both is seldom said to split (in 4 of 6 leagues
// with a chance below .001).
func TestPlatoonPlanted(t *testing.T) {
	l := handsLeague()
	eo, o := quick()
	wrong := 0
	for l.seed = 1; l.seed <= 6; l.seed++ {
		l.pitches = 900
		right := platoonRows(locateAll(t, l.play(t), eo, o), "right", "")
		if right[0].Verdict == Splits {
			wrong++
		}
		if v := right[0].Verdict; (v == CannotTell) != (right[0].Note != "") {
			t.Errorf("%s with note %q", v, right[0].Note)
		}
	}
	if wrong > 3 {
		t.Errorf("the same gain against both sides splits in %d leagues of 6", wrong)
	}
	l = handsLeague()
	got := locateAll(t, l.play(t), eo, o)
	left, right := platoonRows(got, "left", ""), platoonRows(got, "right", "")
	if len(left) != 4 || len(right) != 4 || left[0].X != nil {
		t.Fatalf("%d and %d rows, the first at %v", len(left), len(right), left[0].X)
	}
	for k, r := range left {
		if r.Verdict != Splits || r.Pair != "left_same_opposite" || r.SideA != "left" || r.SideB != "right" || r.Q == nil {
			t.Errorf("row %d: %+v", k, r)
		}
	}
	// two thirds' means lie about 1.09 SD of 2.24 mph from the middle: the logit
	// differs by .25 × 4.9 = 1.2, the rate by about .21 less what clusters blur
	if c := left[0]; *c.Lo > .21 || *c.Hi < .16 || !(*c.Lo > 0) {
		t.Errorf("the gap changes by %.3f (%.3f to %.3f)", *c.Estimate, *c.Lo, *c.Hi)
	}
	if lo, hi := left[1], left[3]; !(*lo.X < *hi.X) || !(*lo.Estimate < 0 && *hi.Estimate > 0) {
		t.Errorf("gap %.3f at %.1f, %.3f at %.1f", *lo.Estimate, *lo.X, *hi.Estimate, *hi.X)
	}
}

// TestTravelsNeedsAnEffect: a gap that stays within delta travels only where the
// quality is shown to matter against both sides.
func TestTravelsNeedsAnEffect(t *testing.T) {
	for _, c := range []struct {
		slope float64
		want  string
	}{{.25, Travels}, {0, CannotTell}} {
		a, b := fitted{flat: .001}, fitted{flat: .001}
		if c.slope == 0 {
			b.flat = .6
		}
		l := handsLeague()
		l.whiff = func(pitch.Hand, pitch.Side, pitch.Type, float64) float64 { return math.Log(.22 / .78) }
		l.spread, l.pitches = 0, 3000
		eo, _ := quick()
		e, err := estimate.New(t.Context(), l.play(t), eo)
		if err != nil {
			t.Fatal(err)
		}
		curves, err := e.Group(t.Context(), tally.AllStrata, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		a.curve, b.curve = curves[3], curves[2]
		got := platoon(&a, &b, "right_same_opposite", e.Variables()[0], DefaultOptions())
		got.finish(.5, 1, .1)
		for _, r := range got.rows {
			if r.Verdict != c.want {
				t.Errorf("slope %v: %s (%s), change %+v to %+v", c.slope, r.Verdict, r.Note, *got.rows[0].Lo, *got.rows[0].Hi)
			}
		}
		if c.want == CannotTell && !strings.Contains(got.rows[0].Note, "not shown to do anything") {
			t.Errorf("note %q", got.rows[0].Note)
		}
	}
}

// TestSeasonPairs: seasons counted as a stratum are compared with the one before,
// with one draw for both; a change that was planted is found, and rows of all
// pitches stay.
func TestSeasonPairs(t *testing.T) {
	l := handsLeague()
	l.seasons, l.pitches = 2, 900
	season, err := tally.StrataNamed([]string{tally.Seasons})
	if err != nil {
		t.Fatal(err)
	}
	contact := 0
	l.edit = func(p *pitch.Pitch) { // whiffs go up in the later season
		if p.Season == 2032 && p.Outcome == pitch.InPlay {
			if contact++; contact%4 == 0 {
				p.Outcome = pitch.SwingingStrike
			}
		}
	}
	eo, o := quick()
	plain := locateAll(t, l.play(t), eo, o)
	l.strat = season
	got := locateAll(t, l.play(t), eo, o)
	pairs := map[string]int{}
	for _, c := range got.Contrasts {
		if c.Pair != seasonPair {
			continue
		}
		if c.Stratum != "season:2032/2031" || c.HandA != c.HandB || c.SideA != c.SideB || c.TypeA != c.TypeB {
			t.Fatalf("%+v", c)
		}
		if c.Kind != KindLevel || c.Outcome != "whiff_rate" {
			continue
		}
		pairs[c.HandA+" "+c.SideA]++
		if c.Verdict != Differs || *c.X > 89 && *c.X < 97 && !(*c.Lo > 0) {
			t.Errorf("%s at %.1f: %s, %.3f (%.3f to %.3f)", c.HandA, *c.X, c.Verdict, *c.Estimate, *c.Lo, *c.Hi)
		}
	}
	if len(pairs) != 4 {
		t.Errorf("season pairs of %v", pairs)
	}
	n := 0
	for _, c := range got.Contrasts {
		if c.Stratum == "" {
			n++
		}
	}
	if n != len(plain.Contrasts) {
		t.Errorf("%d contrasts of all pitches, %d without the stratum", n, len(plain.Contrasts))
	}
	for _, c := range plain.Contrasts {
		if c.Pair == seasonPair {
			t.Fatal("a season pair without the stratum")
		}
	}
}

// TestBundles: groups that differ by season only are one task; every group is in
// one.
func TestBundles(t *testing.T) {
	groups := []group{{"", 0, 0}, {"", 0, 1}, {"season:2031", 0, 0}, {"season:2031", 0, 1}, {"season:2032", 0, 0}, {"season:2032", 0, 1}, {"seasonal:x", 0, 0}}
	got := bundles(groups)
	want := [][]int{{0}, {1}, {2, 4}, {3, 5}, {6}}
	if len(got) != len(want) {
		t.Fatalf("%v", got)
	}
	for i := range want {
		if len(got[i]) != len(want[i]) || got[i][len(got[i])-1] != want[i][len(want[i])-1] {
			t.Errorf("%v, want %v", got, want)
		}
	}
}
