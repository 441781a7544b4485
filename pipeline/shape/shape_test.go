package shape

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"sill/pipeline/pitch"
)

func variable(t *testing.T, name string) Variable {
	t.Helper()
	for _, v := range Variables {
		if v.Name == name {
			return v
		}
	}
	t.Fatal("no variable", name)
	return Variable{}
}

func binOf(t *testing.T, v Variable, x float64) int64 {
	t.Helper()
	q, ok := v.Quantize(x)
	if !ok {
		t.Fatalf("%s: %v has no bin", v.Name, x)
	}
	bin, d := Bin(q, v.WidthQ())
	if d < 0 || d >= v.WidthQ() || bin*v.WidthQ()+d != q {
		t.Fatalf("%s: %v is bin %d, offset %d", v.Name, x, bin, d)
	}
	return bin
}

// TestVariables: names are distinct, widths are whole quanta, definitions are
// distinct and name the variable.
func TestVariables(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range Variables {
		if err := v.Validate(); err != nil {
			t.Error(err)
		}
		if seen[v.Name] || seen[v.Definition] || len(v.Definition) <= len(v.Name) || v.Definition[:len(v.Name)] != v.Name {
			t.Errorf("%s: definition %q", v.Name, v.Definition)
		}
		seen[v.Name], seen[v.Definition] = true, true
		if got := float64(v.WidthQ()) / float64(v.PerUnit()); got != v.Width {
			t.Errorf("%s: width %v of %v", v.Name, got, v.Width)
		}
	}
	if len(Variables) != 14 {
		t.Errorf("%d variables", len(Variables))
	}
}

// TestSixteenInches: 16 in stored as 16/12 ft lands in the 16-inch bin, in 64
// and in 32 bits, and so does every other whole inch.
func TestSixteenInches(t *testing.T) {
	v := variable(t, "induced_vertical_break")
	low := 0
	for in := -30; in <= 30; in++ {
		for _, x := range []float64{float64(in) / 12 * 12, float64(float32(float64(in)/12)) * 12,
			float64(in) * 2.54 / 100 / .3048 * 12, float64(float32(float64(in)*2.54)) / 2.54} {
			if got := binOf(t, v, x); got != int64(in) {
				t.Errorf("%v in: bin %d", x, got)
			}
			if int(math.Floor(x)) != in {
				low++
			}
		}
	}
	if low == 0 {
		t.Error("no value would have missed its bin: the test shows nothing")
	}
}

// TestMilesAnHour: the 46 whole miles an hour from 60 to 105, stored as 32-bit
// m/s or km/h, land in their own bins.
func TestMilesAnHour(t *testing.T) {
	v := variable(t, "velocity")
	low := 0
	for mph := 60; mph <= 105; mph++ {
		for unit, size := range map[string]float64{"m/s": .44704, "km/h": 1.609344} {
			x := float64(float32(float64(mph)*size)) / size
			if got := binOf(t, v, x); got != int64(mph) {
				t.Errorf("%d mph as %s is %v: bin %d", mph, unit, x, got)
			}
			if int(math.Floor(x)) < mph {
				low++
			}
		}
	}
	if low < 16 {
		t.Errorf("only %d values would have missed their bin", low)
	}
}

// TestQuantize compares with exact arithmetic on random values and checks the
// rounding of halves and what has no quanta.
func TestQuantize(t *testing.T) {
	v := variable(t, "release_height")
	rng := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		x := rng.NormFloat64() * 5
		scaled := new(big.Rat).Mul(new(big.Rat).SetFloat64(x), big.NewRat(10000, 1))
		want, _ := scaled.Float64() // the one product that is rounded
		want = math.Trunc(want + math.Copysign(.5, want))
		if got, ok := v.Quantize(x); !ok || float64(got) != want {
			t.Errorf("%v: %d, want %v", x, got, want)
		}
	}
	half := Variable{Name: "half", Width: 1, Quantum: 1}
	for x, want := range map[float64]int64{.5: 1, -.5: -1, 1.5: 2, -1.5: -2, .49: 0, -2.5: -3} {
		if got, ok := half.Quantize(x); !ok || got != want {
			t.Errorf("%v: %d, want %d", x, got, want)
		}
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e9, -1e9} {
		if _, ok := v.Quantize(x); ok {
			t.Errorf("%v has quanta", x)
		}
	}
	for _, c := range []struct{ q, bin, d int64 }{{0, 0, 0}, {9, 0, 9}, {10, 1, 0}, {-1, -1, 9}, {-10, -1, 0}, {-11, -2, 9}} {
		if bin, d := Bin(c.q, 10); bin != c.bin || d != c.d {
			t.Errorf("%d: bin %d offset %d", c.q, bin, d)
		}
	}
}

func TestWithWidths(t *testing.T) {
	vars, err := WithWidths(Variables[:2], map[string]float64{"velocity": .5, "extension": .1})
	if err != nil || vars[0].WidthQ() != 5000 || Variables[0].Width != 1 {
		t.Error(err, vars[0].Width, Variables[0].Width)
	}
	for name, widths := range map[string]map[string]float64{
		"no multiple": {"velocity": .00015}, "negative": {"velocity": -1}, "zero": {"velocity": 0},
		"not a number": {"velocity": math.NaN()}, "infinite": {"velocity": math.Inf(1)}, "unknown": {"velocty": 1},
	} {
		if _, err := WithWidths(Variables, widths); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestPlateShare(t *testing.T) {
	v := variable(t, "plate_height")
	p := &pitch.Pitch{}
	p.Num[pitch.ZoneBottom], p.Num[pitch.ZoneTop], p.Num[pitch.PlateHeight] = 1.5, 3.5, 2
	if got := v.Value(p); got != .25 {
		t.Error(got)
	}
	p.Num[pitch.ZoneTop] = 1.5
	if got := v.Value(p); !math.IsNaN(got) {
		t.Error("a zone without height:", got)
	}
}

// TestAxisGap: the axis of pure backspin implies straight up; a larger one
// turns the break clockwise as the pitcher sees it, toward a right-hander's arm
// side and a left-hander's glove side. Mirrored pitches have equal gaps.
func TestAxisGap(t *testing.T) {
	for _, c := range []struct {
		axis, mirrored, across, up, want float64
		meaning                          string
	}{
		{180, 180, 0, 16, 0, "backspin rides"},
		{225, 135, 10, 10, 0, "runs as its axis implies"},
		{210, 150, 10, 10, 15, "runs more than its axis implies"},
		{180, 180, -10, 10, -45, "cuts against its axis"},
		{0, 0, 0, -12, 0, "topspin drops"},
		{5, 355, -1, -1, 40, "wraps"},
		{0, 0, 0, 10, 180, "straight against its axis"},
	} {
		p := &pitch.Pitch{Hand: pitch.RightHand}
		p.Num[pitch.SpinAxis], p.Num[pitch.HorizontalBreak], p.Num[pitch.InducedVerticalBreak] = c.axis, c.across, c.up
		got := axisGap(p)
		near(t, c.meaning, math.Abs(got), math.Abs(c.want), 1e-9)
		if math.Abs(c.want) < 180 {
			near(t, c.meaning, got, c.want, 1e-9)
		}
		p.Hand, p.Num[pitch.SpinAxis] = pitch.LeftHand, c.mirrored
		near(t, c.meaning+", mirrored", axisGap(p), got, 1e-9)
	}
	p := &pitch.Pitch{Hand: pitch.RightHand}
	p.Num[pitch.SpinAxis] = 180
	if got := axisGap(p); !math.IsNaN(got) {
		t.Error("no movement, no direction:", got)
	}
	p.Num[pitch.SpinAxis], p.Num[pitch.InducedVerticalBreak] = math.NaN(), 10
	if got := axisGap(p); !math.IsNaN(got) {
		t.Error("no axis, no gap:", got)
	}
}

func TestOnly(t *testing.T) {
	vars, err := Only(Variables, []string{"extension", "velocity"})
	if names := Names(vars); err != nil || len(names) != 2 || names[0] != "velocity" || names[1] != "extension" {
		t.Error(names, err)
	}
	if _, err := Only(Variables, []string{"velocty"}); err == nil {
		t.Error("an unknown name passed")
	}
}
