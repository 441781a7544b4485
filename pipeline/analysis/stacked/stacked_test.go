package stacked

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// swing is one swing at a pitch of two qualities.
type swing struct {
	pitcher, batter int32
	mph, rise       float64
	miss            bool
}

// held are left-handed four-seamers against left-handed batters.
func held(t *testing.T, pitchers, batters int, list []swing) *tally.Held {
	t.Helper()
	h := &tally.Held{}
	for i := range pitchers {
		h.Listed.Pitchers = append(h.Listed.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", i), Hand: pitch.LeftHand}.String())
	}
	for i := range batters {
		h.Listed.Batters = append(h.Listed.Batters, fmt.Sprintf("b%04d", i))
	}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"velocity", "induced_vertical_break"}); err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: s.pitcher, Batter: s.batter,
			Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
		if s.miss {
			p.Outcome = pitch.SwingingStrike
		}
		for k := range p.Num {
			p.Num[k] = pitch.Missing()
		}
		p.Num[pitch.Velocity], p.Num[pitch.InducedVerticalBreak] = s.mph, s.rise
		h.List = append(h.List, p)
	}
	return h
}

var cellLL = answer.Cell{Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam}

// above are zones from 93 mph and from 17 in up for one half, two units higher for
// the other.
func above() *zoned {
	z := &zoned{}
	for h := range z.by {
		up := 2 * float64(h)
		z.by[h] = []map[answer.Cell]found{
			{cellLL: {{{93 + up, math.Inf(1)}}, {{17 + up, math.Inf(1)}}}},
			{cellLL: {{{93 + up, math.Inf(1)}}, nil}},
		}
		z.open[h] = []map[answer.Cell]found{
			{cellLL: {{{92.5 + up, math.Inf(1)}}, {{17 + up, 22}}}},
			{cellLL: {{{93 + up, math.Inf(1)}}, nil}},
		}
	}
	return z
}

// TestHalves deals 41 left-handers and 22 right-handers whose ids alternate as far as
// they go, and two who throw with either hand.
func TestHalves(t *testing.T) {
	var keys []string
	for i := range 41 {
		hand := pitch.LeftHand
		if i%2 == 1 {
			hand = pitch.RightHand
		}
		keys = append(keys, pitch.PitcherKey{ID: fmt.Sprintf("p%02d", i), Hand: hand}.String())
	}
	for i := range 18 {
		keys = append(keys, pitch.PitcherKey{ID: fmt.Sprintf("q%02d", i), Hand: pitch.LeftHand}.String())
	}
	for i := range 2 {
		for _, hand := range []pitch.Hand{pitch.LeftHand, pitch.RightHand} {
			keys = append(keys, pitch.PitcherKey{ID: fmt.Sprintf("r%02d", i), Hand: hand}.String())
		}
	}
	first := make([]int, len(keys)) // how often each is in half 0
	const seeds = 400
	for seed := range uint64(seeds) {
		var count [pitch.RightHand + 1][2]int
		for i, h := range Halves(keys, seed) {
			hand := pitch.ParsePitcherKey(keys[i]).Hand
			count[hand][h]++
			first[i] += 1 - int(h)
		}
		if left, right := count[pitch.LeftHand], count[pitch.RightHand]; left != [2]int{21, 20} || right[0]+right[1] != 22 || right[0] != right[1] {
			t.Fatalf("seed %d: halves hold %v", seed, count)
		}
	}
	for i, n := range first {
		if math.Abs(float64(n)-seeds/2) > 5*math.Sqrt(seeds)/2 {
			t.Errorf("%s is in the first half in %d of %d seeds", keys[i], n, seeds)
		}
	}
	// another order of the same pitchers deals them alike
	half, back := Halves(keys, 7), slices.Clone(keys)
	slices.Reverse(back)
	again := Halves(back, 7)
	slices.Reverse(again)
	if !slices.Equal(half, again) {
		t.Error("halves depend on the order of the pitchers")
	}
}

// A pitch is held against the zones of the half that its pitcher is not in.
func TestMaskTakesTheOtherHalf(t *testing.T) {
	z := above()
	h := held(t, 2, 0, nil)
	half := []uint8{0, 1}
	masks := []shape.Variable{z.mask(h.Shapes, half, outcome.Whiff), z.mask(h.Shapes, half, outcome.WOBA)}
	for _, c := range []struct {
		pitcher   int32
		mph, rise float64
		whiff     float64
		woba      float64
	}{
		{0, 94, 18, 0, math.NaN()}, // half 1 begins at 95 and 19
		{1, 94, 18, 3, math.NaN()}, // half 0 at 93 and 17
		{0, 95, 18, 1, math.NaN()},
		{0, 94.99999, 19, 3, math.NaN()}, // rounds to 95
		{1, 92, 17, 2, math.NaN()},
		{1, 92.49999, 17, math.NaN(), 0}, // rounds to 92.5, from where half 0 cannot tell
		{1, 92.7, 17, math.NaN(), 0},
		{0, 94.4, 18, 0, math.NaN()},
		{0, 94.6, 18, math.NaN(), math.NaN()},
		{1, 92, math.NaN(), math.NaN(), math.NaN()},
	} {
		p := &held(t, 2, 0, []swing{{pitcher: c.pitcher, mph: c.mph, rise: c.rise}}).List[0]
		if got := masks[0].Value(p); got != c.whiff && !(math.IsNaN(got) && math.IsNaN(c.whiff)) {
			t.Errorf("pitcher %d, %g mph, %g in: %g, want %g", c.pitcher, c.mph, c.rise, got, c.whiff)
		}
		// of wOBA velocity alone is used, and rise may be unknown
		want := 0.0
		if c.mph >= 93+2*float64(1-half[c.pitcher])-1e-4 {
			want = 1
		}
		if got := masks[1].Value(p); got != want {
			t.Errorf("pitcher %d, %g mph: %g for wOBA, want %g", c.pitcher, c.mph, got, want)
		}
	}
	other := held(t, 2, 0, []swing{{mph: 99, rise: 22}}).List[0]
	other.Type = pitch.Sinker
	if got := masks[0].Value(&other); !math.IsNaN(got) {
		t.Errorf("a cell without zones has %g", got)
	}
}

// Twelve pitchers by hand: none .1, one .3, both .6 of 100 swings each.
func TestMeasureByHand(t *testing.T) {
	var list []swing
	groups := []struct {
		mph, rise float64
		misses    int
	}{{90, 15, 10}, {96, 15, 28}, {90, 20, 32}, {96, 20, 60}}
	for p := range int32(12) {
		for k, g := range groups {
			misses := g.misses + int(p*7+int32(k)*5)%3 - 1 // pitchers differ a little
			for i := range 100 {
				list = append(list, swing{p, int32(i % 20), g.mph, g.rise, i < misses})
			}
		}
	}
	h := held(t, 12, 20, list)
	z := above()
	half := Halves(h.Listed.Pitchers, 1)
	counts, err := tally.Count(t.Context(), h, []shape.Variable{z.mask(h.Shapes, half, 0), z.mask(h.Shapes, half, 1)})
	if err != nil {
		t.Fatal(err)
	}
	r := judge(counts, h.Shapes, z, DefaultOptions())
	if len(r.Stacks) != 2 {
		t.Fatalf("%d stacks", len(r.Stacks))
	}
	s := &r.Stacks[0]
	want := []struct{ n, y float64 }{{1200, 120}, {2400, 720}, {1200, 720}}
	for k, l := range s.levels {
		if l.rate.N != want[k].n || math.Abs(l.rate.Y-want[k].y) > 1e-9 {
			t.Errorf("level %d: %g of %g", k, l.rate.Y, l.rate.N)
		}
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s is %.6f, want %.6f", what, got, want)
		}
	}
	near("one against none", s.find(None, 1).test.D, .2)
	near("both against one", s.find(Step, 2).test.D, .3)
	near("both against none", s.find(None, 2).test.D, .5)
	near("two or more against one", s.find(More, 0).test.D, .3)
	near("one or more against none", s.find(Any, 0).test.D, 1440./3600-.1)
	near("velocity alone", s.comparisons[len(s.comparisons)-2].test.D, .18)
	near("rise alone", s.comparisons[len(s.comparisons)-1].test.D, .22)
	near("slope", s.trend.X, .25)
	if s.verdict != EachAdds || !s.byBatters {
		t.Errorf("verdict %s, by batters %v", s.verdict, s.byBatters)
	}
	if !strings.Contains(s.Sentence(), "missed .300 of their swings with one, .100 with none, and .600 with both") {
		t.Error(s.Sentence())
	}
	// no plate appearance ended
	if v := r.Stacks[1].verdict; v != TooFew {
		t.Errorf("without an event the verdict is %s", v)
	}
}

// What is planted is told by at least four of five ways to deal the pitchers: a league
// in which one good quality is enough, each adds, or both are needed, and one in which
// misses depend on the pitcher alone. Where one is enough the second takes .010 away,
// about what it would seem to add since zones are not exact: of the pitches with one
// quality in its zone some have in truth none.
func TestPlanted(t *testing.T) {
	for _, c := range []struct {
		name  string
		rates [4]float64 // by which of the two are good: none, velocity, rise, both
		want  string
	}{
		{"one is enough", [4]float64{.15, .28, .28, .27}, OneIsEnough},
		{"each adds", [4]float64{.12, .24, .24, .42}, EachAdds},
		{"both are needed", [4]float64{.15, .15, .15, .42}, AllNeeded},
		{"none matters", [4]float64{.2, .2, .2, .2}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 9))
			var list []swing
			for p := range int32(300) {
				mph, rise := 93+1.8*rng.NormFloat64(), 17+1.8*rng.NormFloat64()
				own := .02 * rng.NormFloat64()
				for range 250 {
					s := swing{pitcher: p, batter: int32(rng.IntN(150)), mph: mph + .9*rng.NormFloat64(), rise: rise + 1.2*rng.NormFloat64()}
					good := 0
					if s.mph >= 93 {
						good++
					}
					if s.rise >= 17 {
						good += 2
					}
					s.miss = rng.Float64() < c.rates[good]+own
					list = append(list, s)
				}
			}
			o := DefaultOptions()
			o.Estimate.Replicates, o.Locate.Flips, o.Locate.MaxFlips = 300, 999, 999
			league, right := held(t, 300, 150, list), 0
			const ways = 5
			for o.Estimate.Seed = 1; o.Estimate.Seed <= ways; o.Estimate.Seed++ {
				r, err := Measure(t.Context(), league, o)
				if err != nil {
					t.Fatal(err)
				}
				got := ""
				for i := range r.Stacks {
					if s := &r.Stacks[i]; s.Metric == outcome.Whiff {
						got = s.verdict
						t.Logf("%s: %s", got, s.Sentence())
					}
				}
				if got == c.want {
					right++
				}
			}
			if right < ways-1 {
				t.Errorf("verdict %q in %d of %d", c.want, right, ways)
			}
		})
	}
}

// Where misses depend on the pitcher alone, zones that a half found in itself
// would seem to gain; those of the other half do not.
func TestOwnZonesWouldLie(t *testing.T) {
	var own, crossed []float64
	for set := range uint64(60) {
		rng := rand.New(rand.NewPCG(set, 4))
		var list []swing
		for p := range int32(40) {
			mph, skill := 93+2*rng.NormFloat64(), .2+.06*rng.NormFloat64()
			for range 60 {
				list = append(list, swing{pitcher: p, batter: -1, mph: mph + .5*rng.NormFloat64(), rise: 17, miss: rng.Float64() < skill})
			}
		}
		h := held(t, 40, 0, list)
		half := Halves(h.Listed.Pitchers, set)
		// each half's best cut, with no test at all: the zone above it or below it
		z := &zoned{}
		for side := range z.by {
			z.by[side] = []map[answer.Cell]found{{cellLL: {{bestCut(h, half, uint8(side))}, nil}}, {}}
			z.open[side] = z.by[side]
		}
		gain := func(half []uint8) float64 {
			counts, err := tally.Count(t.Context(), h, []shape.Variable{z.mask(h.Shapes, half, 0)})
			if err != nil {
				t.Fatal(err)
			}
			scoring := DefaultOptions().Estimate.Scoring()
			s := splitOf(counts, cellLL, outcome.Whiff, 1, &scoring, false)
			return s.count(1, 1).Rate(outcome.Whiff, s.batters).Rate - s.count(0, 0).Rate(outcome.Whiff, s.batters).Rate
		}
		swapped := slices.Clone(half)
		for i := range swapped {
			swapped[i] = 1 - swapped[i]
		}
		crossed, own = append(crossed, gain(half)), append(own, gain(swapped))
	}
	mean := func(v []float64) (m, se float64) {
		var s, ss float64
		for _, x := range v {
			s += x
			ss += x * x
		}
		n := float64(len(v))
		return s / n, math.Sqrt((ss/n - s*s/n/n) / n)
	}
	m, se := mean(crossed)
	o, oe := mean(own)
	t.Logf("by the other half's zones %+.4f ± %.4f, by its own %+.4f ± %.4f", m, se, o, oe)
	if math.Abs(m) > 4*se {
		t.Error("zones of the other half gain where nothing is to gain")
	}
	if o < 4*oe {
		t.Error("own zones were to gain: the test sees nothing")
	}
}

// bestCut is the cut of velocity with the largest gain on one side, among the
// swings of a half.
func bestCut(h *tally.Held, half []uint8, side uint8) Zone {
	best, at := -1.0, Zone{}
	for cut := 91.0; cut <= 95; cut += .5 {
		var n, y [2]float64
		for i := range h.List {
			p := &h.List[i]
			if half[p.Pitcher] != side {
				continue
			}
			up := 0
			if p.Num[pitch.Velocity] >= cut {
				up = 1
			}
			n[up]++
			if p.Outcome == pitch.SwingingStrike {
				y[up]++
			}
		}
		if n[0] < 200 || n[1] < 200 {
			continue
		}
		gain := y[1]/n[1] - y[0]/n[0]
		if gain > best {
			best, at = gain, Zone{cut, math.Inf(1)}
		}
		if -gain > best {
			best, at = -gain, Zone{math.Inf(-1), cut}
		}
	}
	return at
}

// The answer does not depend on the order of the pitches.
func TestOrderOfPitches(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var list []swing
	for p := range int32(60) {
		mph := 93 + 2*rng.NormFloat64()
		for range 120 {
			x := mph + rng.NormFloat64()
			list = append(list, swing{p, int32(rng.IntN(40)), x, 17 + 2*rng.NormFloat64(), rng.Float64() < 1/(1+math.Exp(-(x-95)/1.5))})
		}
	}
	o := DefaultOptions()
	o.Estimate.Replicates, o.Locate.Flips, o.Locate.MaxFlips = 200, 199, 199
	body := func() string {
		r, err := Measure(t.Context(), held(t, 60, 40, list), o)
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprintf("%+v", r.Body().Stacks[0].Sentence) + fmt.Sprint(*r.Body().Stacks[0].Levels[1].Hi)
	}
	first := body()
	rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	if got := body(); got != first {
		t.Errorf("%s\nafter shuffling\n%s", first, got)
	}
}

func TestOptions(t *testing.T) {
	o := DefaultOptions()
	o.Qualities, o.Reference = []string{"velocity", "velocity"}, "sea_level"
	err := o.Validate()
	for _, want := range []string{"velocity is named twice", `unknown line "sea_level"`} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not say %q", err, want)
		}
	}
	o = DefaultOptions()
	o.Qualities = []string{"velocity"}
	if o.Validate() == nil {
		t.Error("one quality cannot be stacked")
	}
	h := held(t, 2, 0, nil)
	h.Shapes = h.Shapes[:1]
	if _, err := Measure(t.Context(), h, DefaultOptions()); !errors.Is(err, ErrQualities) {
		t.Error(err)
	}
}

// TestSlope holds the slope, and its error by leaving out one pitcher, against
// fitting the events themselves anew.
func TestSlope(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	type event struct {
		pitcher int32
		k       float64
		y       float64
	}
	var list []swing
	var events []event
	for p := range int32(14) {
		own := .1 * rng.NormFloat64()
		for range 20 + rng.IntN(60) {
			k := rng.IntN(3)
			s := swing{pitcher: p, batter: -1, mph: 90, rise: 10, miss: rng.Float64() < .2+.15*float64(k)+own}
			if k > 0 {
				s.mph = 99
			}
			if k > 1 {
				s.rise = 25
			}
			e := event{p, float64(k), 0}
			if s.miss {
				e.y = 1
			}
			list, events = append(list, s), append(events, e)
		}
	}
	h := held(t, 14, 0, list)
	z := above()
	counts, err := tally.Count(t.Context(), h, []shape.Variable{z.mask(h.Shapes, Halves(h.Listed.Pitchers, 1), 0)})
	if err != nil {
		t.Fatal(err)
	}
	fit := func(without int32) float64 {
		var n, k, y float64
		for _, e := range events {
			if e.pitcher != without {
				n, k, y = n+1, k+e.k, y+e.y
			}
		}
		var top, bottom float64
		for _, e := range events {
			if e.pitcher != without {
				top += (e.k - k/n) * (e.y - y/n)
				bottom += (e.k - k/n) * (e.k - k/n)
			}
		}
		return top / bottom
	}
	var without []float64
	mean := 0.0
	for p := range int32(14) {
		without = append(without, fit(p))
		mean += without[p] / 14
	}
	v := 0.0
	for _, b := range without {
		v += 13. / 14 * (b - mean) * (b - mean)
	}
	scoring := DefaultOptions().Estimate.Scoring()
	s := splitOf(counts, cellLL, outcome.Whiff, 3, &scoring, false)
	got, ok := s.slope()
	variance, effective := leaveOneOut([]*answer.Group{s.count(0, 0), s.count(1, 1), s.count(2, 2)}, func(g *answer.Group) *stats.Sums { return &g.Pitchers })
	if !ok || math.Abs(got.X-fit(-1)) > 1e-9 || math.Abs(variance/v-1) > 1e-9 {
		t.Errorf("slope %.9f with variance %.9g, fitted anew %.9f with %.9g", got.X, variance, fit(-1), v)
	}
	if effective < 8 || effective > 14 {
		t.Errorf("%.2f effective pitchers of 14", effective)
	}
	if half := (got.Hi - got.Lo) / 2; half < 2*math.Sqrt(v) || half > 2.5*math.Sqrt(v) {
		t.Errorf("half width %.4f at an error of %.4f", half, math.Sqrt(v))
	}
}

// comparisonOf compares twenty pitchers' swings, the first group better by gain, and
// by a little more or less from pitcher to pitcher.
func comparisonOf(name string, k int, gain, noise float64) comparison {
	in, out, n := make([]float64, 20), make([]float64, 20), make([]float64, 20)
	for p := range n {
		n[p] = 1000
		sign := float64(p%2*2 - 1)
		out[p], in[p] = 200, 1000*(.2+gain+sign*noise)
	}
	return comparison{name: name, k: k, q: .001, test: stats.CompareCutoff(in, n, out, n,
		stats.CutoffOptions{Sign: 1, Delta: .02, MinEvents: 50, MinClusters: answer.MinPitchers, MinEffective: answer.MinEffective, FDR: answer.Discovery})}
}

// Every verdict follows from what its comparisons say, and from nothing less: an
// open comparison never passes for one that adds little.
func TestVerdicts(t *testing.T) {
	type say struct{ gain, noise float64 }
	yes, no, small, open := say{.1, .01}, say{0, .002}, say{.01, .002}, say{.015, .06}
	for _, c := range []struct {
		any, one, more, several, some, last say
		want                                string
	}{
		{yes, yes, no, yes, yes, no, OneIsEnough},
		{yes, yes, small, yes, yes, no, OneIsEnough},
		{yes, yes, open, yes, yes, open, OneHelps},
		{yes, yes, yes, yes, yes, open, EachAdds},
		{yes, no, yes, yes, no, yes, AllNeeded},
		{yes, no, yes, yes, open, yes, TakesMore},
		{yes, small, yes, yes, yes, open, TakesMore},
		{yes, no, yes, yes, no, open, TakesMore},
		{no, no, no, no, no, no, NoGain},
		{no, open, open, open, no, open, NoGain},
		{yes, open, open, open, open, open, CannotTell},
		{open, open, no, open, open, no, CannotTell},
	} {
		s := Stack{qualities: make([]shape.Variable, 3), comparisons: []comparison{
			comparisonOf(None, 1, c.one.gain, c.one.noise), comparisonOf(Step, 3, c.last.gain, c.last.noise), comparisonOf(Any, 0, c.any.gain, c.any.noise),
			comparisonOf(More, 0, c.more.gain, c.more.noise), comparisonOf(Several, 0, c.several.gain, c.several.noise), comparisonOf(Some, 0, c.some.gain, c.some.noise)}}
		if got := s.judge(); got != c.want {
			t.Errorf("any %v, one %v, more %v, several %v, some %v, last %v: %s, want %s", c.any, c.one, c.more, c.several, c.some, c.last, got, c.want)
		}
	}
	for say, want := range map[say]string{yes: OnlyOne, no: NoGain, open: CannotTell} {
		s := Stack{qualities: make([]shape.Variable, 1), comparisons: []comparison{comparisonOf(Any, 0, say.gain, say.noise), comparisonOf(None, 1, say.gain, say.noise)}}
		if got := s.judge(); got != want {
			t.Errorf("one quality, %v: %s, want %s", say, got, want)
		}
	}
	// among many tests a difference with q above the limit does not hold
	s := Stack{qualities: make([]shape.Variable, 1), comparisons: []comparison{comparisonOf(Any, 0, .1, .01), comparisonOf(None, 1, .1, .01)}}
	s.comparisons[0].q = .2
	if got := s.judge(); got != CannotTell {
		t.Errorf("with q .2: %s", got)
	}
	// and the sentence says that q decides
	any := &s.comparisons[0]
	any.together = 96
	if got := words.Plain(any.gain()); !strings.HasSuffix(got, "; not shown after allowing for 96 comparisons, q .200") {
		t.Errorf("gain of an open comparison: %q", got)
	}
	any.q = .02
	if got := words.Plain(any.gain()); strings.Contains(got, "q") {
		t.Errorf("gain of one that holds: %q", got)
	}
	s.qualities, s.hasTrend, s.trends, s.trendQ = make([]shape.Variable, 2), true, 12, .2
	s.trend.Estimate = answer.Estimate{X: .02, Lo: .001, Hi: .039}
	if got, want := s.Trend(), "On a straight line no gain for each further quality is shown: +.020 (+.001 to +.039) after allowing for 12 comparisons, q .200."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A zone is good up to the limits of its breakpoints and open within them; a limit
// that is not pinned counts as the breakpoint, and the ends of the data as none.
func TestGather(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	o := DefaultOptions()
	row := func(z thresholds.Zone) thresholds.Zone {
		z.Key = thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}
		z.Reference, z.Sign = o.Reference, 1
		return z
	}
	rows := []thresholds.Zone{
		row(thresholds.Zone{LowerKind: "open", Lower: at(88), UpperKind: "edge", Upper: at(90), UpperLo: at(89.5), UpperHi: at(90.25), PossibleHi: at(90.25)}),
		row(thresholds.Zone{LowerKind: "edge", Lower: at(92), LowerHi: at(92.5), UpperKind: "unresolved", Upper: at(95)}),
		row(thresholds.Zone{LowerKind: "open", Lower: at(88), UpperKind: "open", Upper: at(99)}), // sets no pitch apart
	}
	behind := rows[0]
	behind.Sign = -1
	rows = append(rows, behind)
	inf := math.Inf(1)
	for _, c := range []struct {
		possible   bool
		good, open []Zone
	}{
		{false, []Zone{{-inf, 89.5}, {92.5, 95}}, []Zone{{-inf, 90.25}, {92, 95}}},
		{true, []Zone{{-inf, 90.25}}, []Zone{{-inf, 90.25}}},
	} {
		o.Possible = c.possible
		good, open := gather(rows, held(t, 1, 0, nil).Shapes, o)
		if g, w := good[outcome.Whiff][cellLL][0], open[outcome.Whiff][cellLL][0]; !slices.Equal(g, c.good) || !slices.Equal(w, c.open) {
			t.Errorf("possible %v: good %v, open %v", c.possible, g, w)
		}
	}
}
