package shape

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"sill/pipeline/pitch"
)

// TestOneSource: a provided column is used for every row, and nothing is filled
// in from the trajectory where a row lacks it; a column left out is derived for
// every row.
func TestOneSource(t *testing.T) {
	f, extension := throw("four_seam", pitch.RightHand)
	has := tracked("extension", "velocity")
	p := f.pitch(pitch.RightHand, extension)
	p.Num[pitch.Velocity] = 91.7
	complete(t, p, has, DefaultSource())
	near(t, "provided", p.Num[pitch.Velocity], 91.7, 0)
	near(t, "derived", p.Num[pitch.ReleaseHeight], 5.9, 1e-12)

	p = f.pitch(pitch.RightHand, extension)
	complete(t, p, has, DefaultSource())
	if !math.IsNaN(p.Num[pitch.Velocity]) {
		t.Errorf("a provider's gap was filled with %v", p.Num[pitch.Velocity])
	}
	// Told to derive it, sill does, and overwrites what the provider gives.
	s := DefaultSource()
	s.Derive = []string{"velocity"}
	p.Num[pitch.Velocity] = 91.7
	complete(t, p, has, s)
	near(t, "derived by choice", p.Num[pitch.Velocity], math.Sqrt(6.2*6.2+136*136+4.9*4.9)*15/22, 1e-9)
}

// TestSpeedPlace: speed measured at y = 50 is moved to release by a trajectory;
// without one the definition records the place.
func TestSpeedPlace(t *testing.T) {
	f, extension := throw("four_seam", pitch.RightHand)
	s := DefaultSource()
	s.SpeedAt = 50
	at, _ := f.timeAt(50)
	p := f.pitch(pitch.RightHand, extension)
	p.Num[pitch.Velocity] = f.speedAt(at) + .2 // the radar reads a little more
	complete(t, p, tracked("extension", "velocity"), s)
	near(t, "moved", p.Num[pitch.Velocity], f.speedAt(0)*(1+.2/f.speedAt(at)), 1e-9)

	r, err := NewResolver(having("velocity"), s)
	if err != nil {
		t.Fatal(err)
	}
	v := r.Variables(Variables)
	if len(v) != 1 || v[0].Definition != "velocity/50ft/mph" {
		t.Errorf("%+v", v)
	}
}

func TestChoices(t *testing.T) {
	s := DefaultSource()
	r, err := NewResolver(tracked("induced_vertical_break", "spin_rate", "spin_axis", "pitcher_height", "zone_top", "zone_bottom"), s)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, c := range r.Choices(Variables) {
		got[c.Variable] = c.Origin
		if (c.Definition == "") != (c.Origin == "absent") {
			t.Errorf("%+v", c)
		}
	}
	derivedWord := "derived from the trajectory"
	want := map[string]string{
		"velocity": derivedWord, "horizontal_break": derivedWord, "vertical_approach_angle": derivedWord,
		"induced_vertical_break": derivedWord + ": the source's flight interval is unstated",
		"neutral_approach_angle": derivedWord, "horizontal_approach_angle": derivedWord,
		"release_height": derivedWord, "release_side": derivedWord, "plate_height": derivedWord, "plate_side": derivedWord,
		"extension": "absent", "spin_rate": "provider", "axis_gap": "computed",
		"arm_slot": "proxy from the release point and the pitcher's height",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}

	// Nothing but velocity and a break over the whole flight.
	s.MovementFrom, s.MovementTo = AtRelease, AtPlateFront
	if r, err = NewResolver(having("velocity", "induced_vertical_break"), s); err != nil {
		t.Fatal(err)
	}
	if names := Names(r.Variables(Variables)); !cmp.Equal(names, []string{"velocity", "induced_vertical_break"}) {
		t.Error(names)
	}
}

// TestUnstatedMovement: breaks whose flight interval nobody states are refused
// with an error that says what to do.
func TestUnstatedMovement(t *testing.T) {
	_, err := NewResolver(having("horizontal_break"), DefaultSource())
	if err == nil || !strings.Contains(err.Error(), "horizontal_break") || !strings.Contains(err.Error(), "state the interval") {
		t.Error(err)
	}
}

func TestDefaults(t *testing.T) {
	f, _ := throw("four_seam", pitch.RightHand)
	p := f.pitch(pitch.RightHand, math.NaN())
	q := complete(t, p, tracked("extension"), DefaultSource())
	if q.DefaultExtension != 1 || q.DefaultZone != 1 || p.Num[pitch.ZoneTop] != 3.4 || p.Num[pitch.ZoneBottom] != 1.6 {
		t.Errorf("%+v", q)
	}
	// 55 ft in place of 54.2: .8 ft more of flight, half an inch of break.
	own := f.pitch(pitch.RightHand, 6.3)
	complete(t, own, tracked("extension"), DefaultSource())
	if more := p.Num[pitch.InducedVerticalBreak] - own.Num[pitch.InducedVerticalBreak]; !(more > .3 && more < .9) {
		t.Errorf("the default release adds %.2f in", more)
	}
	// The batter's own zone is kept, and not made up where a row lacks it.
	own.Num[pitch.ZoneTop], own.Num[pitch.ZoneBottom] = math.NaN(), 1.5
	q = complete(t, own, tracked("extension", "zone_top", "zone_bottom"), DefaultSource())
	if q.DefaultZone != 0 || !math.IsNaN(own.Num[pitch.ZoneTop]) || !math.IsNaN(plateShare(own)) {
		t.Errorf("%+v", q)
	}
}

func TestArmSlot(t *testing.T) {
	p := &pitch.Pitch{Hand: pitch.LeftHand}
	p.Num[pitch.ReleaseHeight], p.Num[pitch.ReleaseSide], p.Num[pitch.PitcherHeight] = 6.2, -2, 6
	complete(t, p, having("release_height", "release_side", "pitcher_height"), DefaultSource())
	near(t, "proxy", p.Num[pitch.ArmAngle], 45, 1e-9) // 6.2 − .70 × 6 = 2 ft up, 2 ft out
	p.Num[pitch.ArmAngle] = 33
	complete(t, p, having("release_height", "release_side", "pitcher_height", "arm_angle"), DefaultSource())
	near(t, "given", p.Num[pitch.ArmAngle], 33, 0)
}

// TestDisagreement: provider and trajectory are compared on the rows that have
// both, and counts of workers add.
func TestDisagreement(t *testing.T) {
	f, extension := throw("four_seam", pitch.RightHand)
	r, err := NewResolver(tracked("extension", "velocity", "release_height"), DefaultSource())
	if err != nil {
		t.Fatal(err)
	}
	speed := math.Sqrt(6.2*6.2+136*136+4.9*4.9) * mphPerFootSecond
	var a, b Quality
	for i, mph := range []float64{92.9, 93.3, 94, math.NaN()} {
		p := f.pitch(pitch.RightHand, extension)
		p.Num[pitch.Velocity], p.Num[pitch.ReleaseHeight] = mph, 5.95
		q := &a
		if i%2 == 1 {
			q = &b
		}
		if rule := r.Complete(p, q); rule != "" {
			t.Fatal(rule)
		}
	}
	a.Add(&b)
	want := []Disagreement{
		{Column: "velocity", Hand: "right", Unit: "mph", Tolerance: .5, Compared: 3, Beyond: 1, Mean: (92.9+93.3+94)/3 - speed},
		{Column: "release_height", Hand: "right", Unit: "ft", Tolerance: .1, Compared: 4, Mean: 5.95 - 5.9}}
	if diff := cmp.Diff(want, a.Disagreements(), cmpopts.EquateApprox(0, 1e-4)); diff != "" {
		t.Error(diff)
	}
	if a.Tracked != 4 {
		t.Errorf("%+v", a)
	}
}

// TestMovementFrom: a source says that its breaks are from release and gives them from
// y = 50. By hand they differ by the pitch type and the hand; the start that fits is
// found for each, whatever is said.
func TestMovementFrom(t *testing.T) {
	has := tracked("extension", "induced_vertical_break", "horizontal_break")
	for _, said := range []Place{AtRelease, 40, 50} {
		s := DefaultSource()
		s.MovementFrom, s.MovementTo = said, AtPlateFront
		r, err := NewResolver(has, s)
		if err != nil {
			t.Fatal(err)
		}
		var q Quality
		want := map[string]float64{}
		for _, name := range []string{"four_seam", "curveball"} {
			for _, hand := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
				f, extension := throw(name, hand)
				p := f.pitch(hand, extension)
				p.Type = map[string]pitch.Type{"four_seam": pitch.FourSeam, "curveball": pitch.Curveball}[name]
				// y(t) by hand: the root of ½·ay·t² + vy·t + y0 − y = 0.
				at := func(y float64) float64 { return (-f.vy - math.Sqrt(f.vy*f.vy-2*f.ay*(f.y-y))) / f.ay }
				short, full := at(pitch.PlateFront)-at(50), at(pitch.PlateFront)
				arm := hand.ArmSide()
				p.Num[pitch.HorizontalBreak], p.Num[pitch.InducedVerticalBreak] = arm*6*f.ax*short*short, 6*(f.az+pitch.Gravity)*short*short
				want[p.Type.String()+hand.String()] = arm * 6 * f.ax * (short*short - full*full)
				if rule := r.Complete(p, &q); rule != "" {
					t.Fatal(rule)
				}
			}
		}
		got := q.Disagreements()
		if len(got) != 8 {
			t.Fatalf("%+v", got)
		}
		for _, d := range slices.Concat(got, q.Columns()) {
			if d.Fit == nil || d.Fit.MovementFrom != "50" || d.Fit.Distance > 1e-3 || d.Unit != "in" {
				t.Errorf("said %v: %+v, %+v", said, d, d.Fit)
			}
			if mean, ok := want[d.PitchType+d.Hand]; ok && said == AtRelease && d.Column == "horizontal_break" && math.Abs(d.Mean-mean) > 1e-3 {
				t.Errorf("%+v, want %g", d, mean)
			}
		}
	}
}

func TestSourceValidate(t *testing.T) {
	for name, change := range map[string]func(*Source){
		"speed unstated":   func(s *Source) { s.SpeedAt = Unstated },
		"angles off":       func(s *Source) { s.AnglesAt = 99 },
		"half an interval": func(s *Source) { s.MovementFrom = 50 },
		"backwards":        func(s *Source) { s.MovementFrom, s.MovementTo = 1, 50 },
		"to release":       func(s *Source) { s.MovementFrom, s.MovementTo = 50, AtRelease },
		"not derivable":    func(s *Source) { s.Derive = []string{"spin_rate"} },
		"not a number":     func(s *Source) { s.SpeedAt = Place(math.NaN()) },
	} {
		s := DefaultSource()
		change(&s)
		if s.Validate() == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if err := DefaultSource().Validate(); err != nil {
		t.Error(err)
	}
	for want, p := range map[string]Place{"release": AtRelease, "plate_front": AtPlateFront, "unstated": Unstated, "50": 50, "0": 0} {
		if got := p.setting(); got != want {
			t.Errorf("%v is %q, want %q", float64(p), got, want)
		}
	}
}

// BenchmarkComplete derives the numbers of one pitch.
func BenchmarkComplete(b *testing.B) {
	f, extension := throw("four_seam", pitch.RightHand)
	r, err := NewResolver(tracked("extension"), DefaultSource())
	if err != nil {
		b.Fatal(err)
	}
	p := f.at(50).pitch(pitch.RightHand, extension)
	var q Quality
	for b.Loop() {
		if rule := r.Complete(p, &q); rule != "" {
			b.Fatal(rule)
		}
	}
}
