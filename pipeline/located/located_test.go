package located

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// swing is one swing at a right-hander's four-seamer, across the plate at a height.
type swing struct {
	pitcher   int32
	x, height float64
	miss      bool
}

func held(t *testing.T, pitchers int, list []swing) *tally.Held {
	t.Helper()
	h := &tally.Held{}
	for i := range pitchers {
		h.Listed.Pitchers = append(h.Listed.Pitchers, pitch.PitcherKey(fmt.Sprintf("p%04d", i), pitch.RightHand))
	}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"vertical_approach_angle", "plate_height"}); err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: s.pitcher, Batter: -1,
			Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
		if s.miss {
			p.Outcome = pitch.SwingingStrike
		}
		for k := range p.Num {
			p.Num[k] = pitch.Missing()
		}
		p.Num[pitch.VerticalApproachAngle], p.Num[pitch.PlateHeight], p.Num[pitch.PlateSide] = s.x, s.height, 0
		p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 3.4, 1.6
		h.List = append(h.List, p)
	}
	return h
}

func TestPlaces(t *testing.T) {
	at, err := location()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[int]bool{}
	for _, c := range []struct {
		x, z float64
		want string
	}{
		{0, 2.5, "middle_centre"}, {0, 1.0, "below_outside"}, {0, 1.5, "below_border"}, {0, 3.5, "above_border"}, {0, 4.2, "above_outside"}, {0, 1.65, "lower_border"}, {0, 3.3, "upper_border"},
		{2, 1.7, "lower_outside"}, {2, 3.3, "upper_outside"},
		{.7, 2.5, "middle_border"}, {2, 2.5, "middle_outside"}, {0, 1.95, "lower_centre"}, {0, 3.0, "upper_centre"}, {0, math.NaN(), ""},
	} {
		p := &held(t, 1, []swing{{height: c.z}}).List[0]
		p.Num[pitch.PlateSide] = c.x
		got := at.Of(p, &tally.Names{})
		if got != c.want {
			t.Errorf("%g ft across, %g ft high: %q, want %q", c.x, c.z, got, c.want)
		}
		if n := placeOf("location:" + got); n >= 0 {
			seen[n] = true
		} else if got != "" {
			t.Errorf("%q has no number", got)
		}
	}
	if len(seen) != places-2 { // no pitch is below or above and in the centre
		t.Errorf("%d places of %d", len(seen), places-2)
	}
}

// Two groups and two places by hand: the first group is thrown to the better place
// nine times in ten, the second one time in ten; within a place both are alike.
func TestRatesByHand(t *testing.T) {
	s := &sample{mix: make([]float64, places)}
	s.mix[0], s.mix[1] = .5, .5
	c := newCounts(2)
	set := func(group, place int, n, rate float64) {
		c.n[group*places+place], c.y[group*places+place] = n, n*rate
	}
	const many = 1e7 // what is borrowed then vanishes
	set(0, 0, 9*many, .4)
	set(0, 1, many, .1)
	set(1, 0, many, .4)
	set(1, 1, 9*many, .1)
	n, thrown, held := s.rates(&c)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("%s is %.7f, want %.7f", what, got, want)
		}
	}
	near("events", n[0], 10*many)
	near("first as thrown", thrown[0], .37)
	near("second as thrown", thrown[1], .13)
	near("first held", held[0], .25)
	near("second held", held[1], .25)
	// A place without an event borrows what place and group would lead to expect.
	c = newCounts(2)
	set(0, 0, 1000, .4)
	set(1, 0, 1000, .3)
	set(1, 1, 1000, .1)
	_, _, held = s.rates(&c)
	if want := .5*.4 + .5*(.4-.2); math.Abs(held[0]-want) > .003 {
		t.Errorf("borrowed rate gives %.4f, want about %.4f", held[0], want)
	}
}

// play throws a league whose approach angle goes with height; misses come of the
// angle, of the height, or of both.
func play(seed uint64, pitchers int, angle, height float64) []swing {
	rng := rand.New(rand.NewPCG(seed, 12))
	var list []swing
	for p := range int32(pitchers) {
		own, skill := .35*rng.NormFloat64(), .02*rng.NormFloat64()
		for range 300 {
			z := 2.5 + .7*rng.NormFloat64()
			x := -5 + .45*(z-2.5) + own + .3*rng.NormFloat64()
			up := 0.0
			switch { // by third, as location is held
			case z >= 2.8:
				up = 1
			case z < 2.2:
				up = -1
			}
			rate := .22 + skill + angle*math.Tanh((x+5)/.4) + height*up
			list = append(list, swing{p, x, z, rng.Float64() < rate})
		}
	}
	return list
}

func TestPlanted(t *testing.T) {
	for _, c := range []struct {
		name          string
		angle, height float64
		want          string
	}{
		{"the angle alone", .09, 0, Holds},
		{"height alone", 0, .12, IsLocation},
		{"both", .06, .08, Partly},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := DefaultOptions()
			o.Variables = []string{"vertical_approach_angle"}
			o.Estimate.Replicates, o.Locate.Flips, o.Locate.MaxFlips = 200, 999, 999
			r, err := Measure(t.Context(), held(t, 150, play(5, 150, c.angle, c.height)), o)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Rows) != 1 {
				t.Fatalf("%d breakpoints", len(r.Rows))
			}
			row := &r.Rows[0]
			t.Log(row.Sentence(), row.Moves())
			if row.Verdict != c.want || !row.edge.up || row.Outcome().Name != outcome.Metrics[outcome.Whiff].Name {
				t.Errorf("verdict %s, want %s", row.Verdict, c.want)
			}
			if c.want == Holds && (row.Shift.Lo > 0 || row.Shift.Hi < 0) {
				t.Error("the breakpoint moves though location has no part")
			}
		})
	}
}

// The gains' errors are those of leaving out one pitcher and counting all anew.
func TestGainsLeaveOneOut(t *testing.T) {
	list := play(2, 9, .06, .08)
	build := func(without int32) *sample {
		var rest []swing
		for _, s := range list {
			if s.pitcher != without {
				rest = append(rest, s)
			}
		}
		s := &sample{x: []float64{-6, -4}, sign: 1, mix: make([]float64, places)}
		for i := range s.mix {
			s.mix[i] = 1 / float64(places)
		}
		at, err := location()
		if err != nil {
			t.Fatal(err)
		}
		pitches := held(t, 9, rest).List
		last := int32(-1)
		for i := range pitches {
			p := &pitches[i]
			if p.Pitcher != last {
				s.start = append(s.start, i)
				s.pitchers++
				last = p.Pitcher
			}
			e := entry{place: placeOf("location:" + at.Of(p, &tally.Names{})), n: 1}
			if p.Num[pitch.VerticalApproachAngle] >= -5 {
				e.node = 1
			}
			if p.Outcome == pitch.SwingingStrike {
				e.y = 1
			}
			s.entries = append(s.entries, e)
		}
		s.start = append(s.start, len(pitches))
		return s
	}
	point := func(without int32) (thrown, held float64) {
		r := &Row{edge: edge{x: -5, up: true}}
		r.gains(build(without))
		return r.Thrown.X, r.Held.X
	}
	r := &Row{edge: edge{x: -5, up: true}}
	r.gains(build(-1))
	var loss []float64
	for p := range int32(9) {
		a, b := point(p)
		loss = append(loss, a-b)
	}
	half := (r.Loss.Hi - r.Loss.Lo) / 2
	se := math.Sqrt(stats.JackknifeVariance(loss))
	if ratio := half / se; ratio < 2.3 || ratio > 2.5 { // t of 7 to 8 degrees of freedom
		t.Errorf("half width is %.3f errors", ratio)
	}
}

func TestRefusals(t *testing.T) {
	o := DefaultOptions()
	o.Variables = []string{"plate_height"}
	if _, err := Measure(t.Context(), held(t, 2, nil), o); err == nil || !strings.Contains(err.Error(), "other than location") {
		t.Error(err)
	}
	o.Variables = []string{"spin_rate"}
	if _, err := Measure(t.Context(), held(t, 2, nil), o); err == nil || !strings.Contains(err.Error(), "does not tell") {
		t.Error(err)
	}
}
