package tally

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// TestStrataAreSound: names that last, known words, and values that Of gives and
// no others.
func TestStrataAreSound(t *testing.T) {
	known := append(shape.Names(shape.Variables), pitch.Names()...)
	names := &Names{Levels: []string{"first"}}
	var seen []string
	for _, s := range Strata {
		if slices.Contains(seen, s.Name) || s.Title == "" || s.Meaning == "" || s.validate() != nil {
			t.Errorf("%q: named twice, without words, or %v", s.Name, s.validate())
		}
		seen = append(seen, s.Name)
		for _, n := range slices.Concat(s.Needs, s.Variables, s.Except) {
			if !slices.Contains(known, n) {
				t.Errorf("%s: unknown column or variable %q", s.Name, n)
			}
		}
		if s.Values == nil {
			continue
		}
		var p pitch.Pitch
		got := map[string]int{}
		rng := rand.New(rand.NewPCG(1, 2))
		for range 20_000 {
			p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 3.4, 1.6
			p.Num[pitch.PlateHeight], p.Num[pitch.PlateSide] = 6*rng.Float64(), 4*rng.Float64()-2
			p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore] = float64(rng.IntN(4)), float64(rng.IntN(3))
			p.Num[pitch.ArmAngle], p.Num[pitch.Velocity] = 180*rng.Float64()-90, 60+50*rng.Float64()
			got[s.Of(&p, names)]++
		}
		for v := range got {
			if !slices.Contains(s.Values, v) {
				t.Errorf("%s gives %q, which is none of its values", s.Name, v)
			}
		}
		if len(got) != len(s.Values) {
			t.Errorf("%s gives %d of its %d values", s.Name, len(got), len(s.Values))
		}
		for n := range p.Num {
			p.Num[n] = math.NaN()
		}
		if v := s.Of(&p, names); v != "" {
			t.Errorf("%s of an unknown pitch is %q", s.Name, v)
		}
	}
}

// stratumOf returns the function of a named stratum.
func stratumOf(t *testing.T, name string) func(*pitch.Pitch, *Names) string {
	t.Helper()
	s, err := StrataNamed([]string{name})
	if err != nil {
		t.Fatal(err)
	}
	return s[0].Of
}

// TestEdgesOfStrata: each edge belongs to the value above it, also where the
// number was stored in metres.
func TestEdgesOfStrata(t *testing.T) {
	var p pitch.Pitch
	velocity, slot := stratumOf(t, "velocity_band"), stratumOf(t, "arm_slot_band")
	for mph, want := range map[float64]string{71.9: "below_72_mph", 72: "72_to_75_mph", 89.9: "87_to_90_mph", 90: "90_to_93_mph",
		float64(float32(90*.44704)) / .44704: "90_to_93_mph", 98.9: "96_to_99_mph", 99: "99_mph_up"} {
		if p.Num[pitch.Velocity] = mph; velocity(&p, nil) != want {
			t.Errorf("%v mph: %q, want %q", mph, velocity(&p, nil), want)
		}
	}
	for deg, want := range map[float64]string{-.1: "below_0_deg", 0: "0_to_20_deg", 19.9: "0_to_20_deg", 60: "60_deg_up"} {
		if p.Num[pitch.ArmAngle] = deg; slot(&p, nil) != want {
			t.Errorf("%v°: %q, want %q", deg, slot(&p, nil), want)
		}
	}
	part := stratumOf(t, "zone_part")
	p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 3.4, 1.6
	for at, want := range map[[2]float64]string{{0, 2.5}: "centre", {.46, 2.5}: "centre", {.47, 2.5}: "border", {-.94, 2.5}: "border",
		{.96, 2.5}: "outside", {0, 1.85}: "centre", {0, 1.83}: "border", {0, 1.37}: "border", {0, 1.35}: "outside",
		{0, 3.63}: "border", {0, 3.65}: "outside", {.96, 3.3}: "outside"} {
		if p.Num[pitch.PlateSide], p.Num[pitch.PlateHeight] = at[0], at[1]; part(&p, nil) != want {
			t.Errorf("%v ft: %q, want %q", at, part(&p, nil), want)
		}
	}
	count := stratumOf(t, "count")
	for at, want := range map[[2]float64]string{{0, 0}: "even", {1, 1}: "even", {0, 1}: "ahead", {1, 0}: "behind", {3, 1}: "behind",
		{0, 2}: "two_strikes", {3, 2}: "two_strikes"} {
		if p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore] = at[0], at[1]; count(&p, nil) != want {
			t.Errorf("%v: %q, want %q", at, count(&p, nil), want)
		}
	}
	level := stratumOf(t, "level")
	if p.Level = 1; level(&p, &Names{Levels: []string{"lower", "upper: north"}}) != "upper: north" {
		t.Errorf("level %q", level(&p, &Names{Levels: []string{"lower", "upper: north"}}))
	}
	if p.Level = -1; level(&p, &Names{}) != "" {
		t.Error("an unknown level has a value")
	}
}

// TestStrataSum: the values of each stratum that knows every pitch share out the
// pitches that were thrown to be hit, none twice and none lost, type by type.
func TestStrataSum(t *testing.T) {
	l := newLeague(6000, 25, 30)
	strata, err := StrataNamed([]string{"plate_height_third", "zone_part", "arm_slot_band", "velocity_band", "season"})
	if err != nil {
		t.Fatal(err)
	}
	got := mustBuild(t, l, strata, 2, noFold, nil)
	sum := map[string]outcome.Counts{}
	for _, table := range got.Cells {
		name, _, _ := strings.Cut(table.Cell.Stratum, ":")
		c := sum[name]
		for _, r := range table.Totals {
			if err := c.Add(&r.Counts); err != nil {
				t.Fatal(err)
			}
		}
		sum[name] = c
	}
	if len(sum) != 1+len(strata) {
		t.Fatalf("%d stratifications counted", len(sum)-1)
	}
	want := got.Notes.Pitches - got.Notes.Unshaped
	for name, c := range sum {
		if name != "" && int64(c.Pitches) != want {
			t.Errorf("%s holds %d pitches of %d", name, c.Pitches, want)
		}
		if name != "" && c.Swings != sum[""].Swings {
			t.Errorf("%s holds %d swings of %d", name, c.Swings, sum[""].Swings)
		}
	}
	if want == 0 || got.Notes.Unshaped == 0 {
		t.Error("the league tries nothing")
	}
}

func TestStrataNamed(t *testing.T) {
	got, err := StrataNamed([]string{"count", FastballThirds})
	if err != nil || len(got) != 2 || got[0].Name != FastballThirds {
		t.Errorf("%v, %v", got, err)
	}
	_, err = StrataNamed([]string{"coutn", "season", "season", "moon"})
	for _, want := range []string{`did you mean "count"`, "season is given twice", `unknown stratum "moon" (known: `} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v lacks %s", err, want)
		}
	}
}

func TestStratumLacks(t *testing.T) {
	has := func(name string) bool { return name != "plate_side" }
	s, _ := StrataNamed([]string{"zone_part", FastballThirds})
	if why := s[1].Lacks(shape.Variables, has); why != "the source does not tell plate_side" {
		t.Error(why)
	}
	if why := s[0].Lacks(shape.Variables, has); why != "" {
		t.Error(why)
	}
	spin, _ := shape.Only(shape.Variables, []string{"spin_rate"})
	if why := s[0].Lacks(spin, has); !strings.Contains(why, "velocity, vertical_approach_angle") {
		t.Error(why)
	}
}

// TestMergeStrata: counts that are split differently are not added up.
func TestMergeStrata(t *testing.T) {
	l := newLeague(400, 5, 5)
	half := func(strata []Stratum, keep uint32) *Tally {
		return mustBuild(t, l, strata, 1, noFold, func(p *pitch.Pitch) bool { return uint32(p.Game)%2 == keep })
	}
	if _, err := Merge(half(byHeight(), 0), half(byHeight(), 1)); err != nil {
		t.Error(err)
	}
	if _, err := Merge(half(byHeight(), 0), half(nil, 1)); err == nil || !strings.Contains(err.Error(), "strata") {
		t.Errorf("error %v", err)
	}
}
