package located

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sill/pipeline/analysis/answer"
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
		h.Listed.Pitchers = append(h.Listed.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", i), Hand: pitch.RightHand}.String())
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
		{0, 2.5, "sixth_4_centre"}, {0, 2.4999, "sixth_3_centre"}, {0, 1.6, "sixth_1_border"}, {0, 3.4, "sixth_6_border"}, {0, 1.95, "sixth_2_centre"}, {0, 1.88, "sixth_1_centre"}, {0, 3.12, "sixth_6_centre"}, {0, 1.0, "below_outside"}, {0, 1.5, "below_border"}, {0, 3.5, "above_border"}, {0, 4.2, "above_outside"}, {0, 1.65, "sixth_1_border"}, {0, 3.3, "sixth_6_border"},
		{2, 1.7, "sixth_1_outside"}, {2, 3.3, "sixth_6_outside"}, {2, 2.1, "sixth_2_outside"}, {2, 2.3, "sixth_3_outside"}, {2, 2.7, "sixth_4_outside"}, {2, 3, "sixth_5_outside"},
		{.7, 2.1, "sixth_2_border"}, {.7, 2.3, "sixth_3_border"}, {.7, 2.7, "sixth_4_border"}, {.7, 3, "sixth_5_border"},
		{0, 3.0, "sixth_5_centre"}, {0, math.NaN(), ""},
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
		{"the angle alone, better below", -.09, 0, Holds},
		{"height alone, better below", 0, -.12, IsLocation},
		{"both, better below", -.06, -.08, Partly},
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
			if row.Verdict != c.want || row.edge.Up != (c.angle+c.height > 0) || row.Outcome().Name != outcome.Metrics[outcome.Whiff].Name {
				t.Errorf("verdict %s, want %s", row.Verdict, c.want)
			}
			if c.want == Holds && (row.Shift.Lo > 0 || row.Shift.Hi < 0) {
				t.Error("the breakpoint moves though location has no part")
			}
			// better below is the mirror of better above: the gain is one of the better side
			if !(row.Thrown.Lo > .02) || c.want != IsLocation && !(row.Held.Lo > 0 && row.Moved.Lo < row.Moved.X && row.Moved.X < row.Moved.Hi && math.Abs(row.Moved.X+5) < .3) {
				t.Errorf("thrown %+v, held %+v, breakpoint %+v", row.Thrown, row.Held, row.Moved)
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
		r := &Row{edge: stats.Edge{X: -5, Up: true}}
		r.gains(build(without))
		return r.Thrown.X, r.Held.X
	}
	r := &Row{edge: stats.Edge{X: -5, Up: true}}
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

// The league's mix is over all hands and sides, of the events of the outcome and of the
// pitch type alone.
func TestMixByHand(t *testing.T) {
	var list []swing
	for i := range 10 {
		z := 2.5 // the fourth sixth, in the centre
		if i < 3 {
			z = 3.5 // above_border
		}
		list = append(list, swing{x: -5, height: z})
	}
	h := held(t, 1, list)
	other := h.List[0]
	other.Type, other.Num[pitch.PlateHeight] = pitch.Slider, 1.65 // the first sixth, on the border
	h.List[1].Side = pitch.LeftSide
	ended := h.List[9]
	ended.Outcome, ended.Result = pitch.CalledStrike, pitch.Strikeout // no swing
	taken := ended
	taken.Result = pitch.NoResult
	nowhere := h.List[9]
	nowhere.Num[pitch.PlateHeight] = pitch.Missing()
	h.List = append(h.List, other, other, ended, taken, nowhere)
	at, err := location()
	if err != nil {
		t.Fatal(err)
	}
	counts, err := tally.Count(t.Context(), h, h.Shapes, at)
	if err != nil {
		t.Fatal(err)
	}
	scoring := DefaultOptions().Estimate.Scoring()
	for _, c := range []struct {
		key  mixKey
		want map[string]float64
	}{
		{mixKey{pitch.FourSeam, outcome.Whiff}, map[string]float64{"sixth_4_centre": .7, "above_border": .3}},
		{mixKey{pitch.FourSeam, outcome.WOBA}, map[string]float64{"sixth_4_centre": 1}},
		{mixKey{pitch.Slider, outcome.Whiff}, map[string]float64{"sixth_1_border": 1}},
	} {
		got := mixOf(counts, c.key, &scoring)
		for _, h := range heights {
			for _, p := range parts {
				if place := h + "_" + p; math.Abs(got[placeOf("location:"+place)]-c.want[place]) > 1e-12 {
					t.Errorf("%v: %s weighs %.3f, want %.3f", c.key, place, got[placeOf("location:"+place)], c.want[place])
				}
			}
		}
	}
}

// Every verdict at its bounds.
func TestJudge(t *testing.T) {
	of := func(x, half float64) answer.Estimate { return answer.Estimate{X: x, Lo: x - half, Hi: x + half} }
	for _, c := range []struct {
		thrown, held, loss answer.Estimate
		want               string
	}{
		{of(.08, .02), of(.07, .02), of(.0099, .01), Holds},      // less than .020 is location
		{of(.08, .02), of(.07, .02), of(.0101, .01), Partly},     // shown, and may be .020
		{of(.08, .02), of(.06, .02), of(.0199, .02), Holds},      // not shown, and less than half
		{of(.08, .02), of(.06, .02), of(.0201, .02), Partly},     // shown
		{of(.06, .02), of(.05, .02), of(.0101, .02), CannotTell}, // may be half
		{of(.08, .02), of(.009, .01), of(.06, .02), IsLocation},  // less than .020 is left
		{of(.08, .02), of(.011, .01), of(.06, .02), Partly},
		{of(.08, .02), of(.009, .01), of(.019, .02), CannotTell},
		{of(.08, .02), answer.Unknown, answer.Unknown, TooFew},
	} {
		r := Row{Subject: answer.Subject{Metric: outcome.Whiff}, Thrown: c.thrown, Held: c.held, Loss: c.loss}
		if r.judge(); r.Verdict != c.want {
			t.Errorf("thrown %+v, held %+v, location %+v: %s, want %s", c.thrown, c.held, c.loss, r.Verdict, c.want)
		}
	}
}

// Two sides by hand: of the upper side a share of the mix was never thrown to. Up to a
// quarter there is an answer, above it only how much was missing.
func TestEmptyPlaces(t *testing.T) {
	for _, c := range []struct {
		share  float64
		answer bool
	}{{0, true}, {.1, true}, {.25, true}, {.26, false}, {.6, false}} {
		s := &sample{x: []float64{-6, -5.5, -4.5, -4}, sign: 1, mix: make([]float64, places), pitchers: 8}
		s.mix[0], s.mix[1] = 1-c.share, c.share
		for p := range s.pitchers {
			s.start = append(s.start, len(s.entries))
			for node := range s.x {
				for place := range 2 {
					if place == 0 || node < 2 {
						s.entries = append(s.entries, entry{node, place, 20, float64(3 + node + place + p%3)})
					}
				}
			}
		}
		s.start = append(s.start, len(s.entries))
		r := Row{edge: stats.Edge{X: -5, Up: true}}
		r.measure(s, curves{})
		if math.Abs(r.Empty-c.share) > 1e-12 || math.IsNaN(r.Held.X) == c.answer || math.IsNaN(r.Loss.Lo) == c.answer || math.IsNaN(r.Thrown.X) || (r.Verdict == TooFew) == c.answer {
			t.Errorf("%.2f of the weight: told %.2f, %s, held %+v", c.share, r.Empty, r.Verdict, r.Held)
		}
		if text := r.Sentence(); strings.HasPrefix(text, "Not enough data") == c.answer || !c.answer && !strings.Contains(text, r.Filled()+" of the weight") {
			t.Errorf("%.2f: %s", c.share, text)
		}
	}
}

// What batters add is taken from events counted so that a node's mean is its rate with
// location held: against the events themselves, one at a time.
func TestByBatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	const batters = 12
	s := &sample{x: []float64{-6, -5, -4}, sign: 1, mix: make([]float64, places), pitchers: 1, start: []int{0}}
	type event struct {
		batter, node, place int
		v                   float64
	}
	var events []event
	for place := range 3 {
		s.mix[place] = []float64{.5, .3, .2}[place]
		for node := range s.x {
			for range 4 + rng.IntN(20) {
				events = append(events, event{rng.IntN(batters), node, place, float64(rng.IntN(3)) * .7})
			}
		}
	}
	all := newCounts(len(s.x))
	for node := range s.x {
		for batter := range batters {
			for place := range 3 {
				b := batterEntry{batter: int32(batter), node: node, place: place}
				for _, e := range events {
					if e.batter == batter && e.node == node && e.place == place {
						b.n++
						b.y += e.v
						b.yy += e.v * e.v
					}
				}
				if b.n > 0 {
					s.batters = append(s.batters, b)
					s.entries = append(s.entries, entry{node, place, b.n, b.y})
				}
			}
		}
	}
	s.start = append(s.start, len(s.entries))
	s.add(&all, 0, 1, func(node int) int { return node })
	n, _, rate := s.rates(&all)
	got := s.byBatter(&stats.Curve{X: s.x, N: n, Rate: rate}, batters)
	sumN, sumY := got.Sums()
	for node := range s.x {
		var y [batters]float64
		var count [batters]float64
		yy := 0.0
		for _, e := range events {
			if e.node == node {
				at := node*places + e.place
				v := rate[node] + s.mix[e.place]*n[node]/(all.n[at]+borrowed)*(e.v-all.y[at]/all.n[at])
				y[e.batter] += v
				count[e.batter]++
				yy += v * v
			}
		}
		if math.Abs(sumY[node]/sumN[node]-rate[node]) > 1e-12 || math.Abs(got.YY[node]-yy) > 1e-9 {
			t.Errorf("node %d: mean %.6f of %.6f, squares %.6f of %.6f", node, sumY[node]/sumN[node], rate[node], got.YY[node], yy)
		}
		for e := got.Start[node]; e < got.Start[node+1]; e++ {
			if b := got.Cluster[e]; math.Abs(got.Y[e]-y[b]) > 1e-9 || got.N[e] != count[b] {
				t.Errorf("node %d, batter %d: %.6f of %g, want %.6f of %g", node, b, got.Y[e], got.N[e], y[b], count[b])
			}
		}
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
