package trend

import (
	"bytes"
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

var scoring = outcome.Scoring{Weights: outcome.TheBook()}

// count builds a tally of pitches by pitchers p000, p001, …, right-handed from half on.
func count(t testing.TB, pitchers int, pitches []pitch.Pitch, variables ...string) *tally.Tally {
	t.Helper()
	vars, err := shape.Only(shape.Variables, variables)
	if err != nil {
		t.Fatal(err)
	}
	var names tally.Names
	for i := range pitchers {
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%03d", i), Hand: handOf(i, pitchers)}.String())
	}
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	out, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func handOf(i, pitchers int) pitch.Hand {
	if 2*i < pitchers {
		return pitch.LeftHand
	}
	return pitch.RightHand
}

// thrown is one pitch of a speed.
func thrown(pitcher int32, hand pitch.Hand, side pitch.Side, typ pitch.Type, speed float64, o pitch.Outcome) pitch.Pitch {
	p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Batter: -1, Pitcher: pitcher, Hand: hand, Side: side, Type: typ, Outcome: o}
	for i := range p.Num {
		p.Num[i] = pitch.Missing()
	}
	p.Num[pitch.Velocity] = speed
	return p
}

// league throws four-seamers at which more speed gets more whiffs: .03 a mph, from
// .20 at 93. Pitchers differ by 2 mph and in skill (SD .04), their pitches by .8 mph.
type league struct {
	pitchers, swings int
	seed             uint64
	lost             func(pitcher int) float64 // mph by which a pitcher is slower
	shown            float64                   // mph that the instrument adds
}

func (l league) play(t testing.TB) *tally.Tally {
	t.Helper()
	people := rand.New(rand.NewPCG(1, 9)) // the same in every window
	rng := rand.New(rand.NewPCG(l.seed, 3))
	var pitches []pitch.Pitch
	for i := range l.pitchers {
		mean, skill := 93+2*people.NormFloat64(), .04*people.NormFloat64()
		if l.lost != nil {
			mean -= l.lost(i)
		}
		for range l.swings {
			side := sides[rng.IntN(2)]
			x := mean + .8*rng.NormFloat64()
			p := thrown(int32(i), handOf(i, l.pitchers), side, pitch.FourSeam, x+l.shown, pitch.Foul)
			if rng.Float64() < .30+skill+.03*(x-93) {
				p.Outcome = pitch.SwingingStrike
			}
			if p.Outcome == pitch.Foul && rng.IntN(4) == 0 {
				p.Outcome, p.Result = pitch.InPlay, pitch.Out
				if rng.IntN(3) == 0 {
					p.Result = pitch.Single
				}
			}
			pitches = append(pitches, p)
		}
	}
	return count(t, l.pitchers, pitches, "velocity")
}

func follow(t testing.TB, from, to *tally.Tally) *Trend {
	t.Helper()
	found, err := Follow(Window{Name: "before", Tally: from}, Window{Name: "after", Tally: to}, scoring)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func TestGatherByHand(t *testing.T) {
	var pitches []pitch.Pitch
	for _, x := range []float64{91.5, 92.25, 94} {
		pitches = append(pitches, thrown(0, pitch.LeftHand, pitch.LeftSide, pitch.FourSeam, x, pitch.Foul))
	}
	pitches = append(pitches,
		thrown(0, pitch.LeftHand, pitch.RightSide, pitch.FourSeam, 96, pitch.SwingingStrike),
		thrown(0, pitch.LeftHand, pitch.RightSide, pitch.FourSeam, 96.5, pitch.Ball), // no swing
		thrown(0, pitch.LeftHand, pitch.RightSide, pitch.OtherType, 70, pitch.Foul),
		thrown(1, pitch.RightHand, pitch.RightSide, pitch.Slider, math.NaN(), pitch.Foul)) // unknown speed
	w := Window{Tally: count(t, 2, pitches, "velocity")}
	vars, missing := shared(&w, &w)
	if len(vars) != 1 || missing != nil {
		t.Fatal(vars, missing)
	}
	got := gather(&w, 0, vars, &scoring)
	if len(got) != 2 {
		t.Fatalf("%d throwers", len(got))
	}
	r := got[thrower{pitch.PitcherKey{ID: "p000", Hand: pitch.LeftHand}.String(), pitch.LeftHand, pitch.FourSeam}]
	q := r.qualities[0]
	mean := (91.5 + 92.25 + 94 + 96) / 4
	squares := 0.0
	for _, x := range []float64{91.5, 92.25, 94, 96} {
		squares += (x - mean) * (x - mean)
	}
	if r.pitches != 5 || q.n != 4 || math.Abs(q.mean()-mean) > 1e-9 || math.Abs(q.squares()-squares) > 1e-6 {
		t.Errorf("%d pitches; %+v, mean %v, squares %v, want %v, %v", r.pitches, q, q.mean(), q.squares(), mean, squares)
	}
	if left, right := r.outcomes[pitch.LeftSide][outcome.Whiff], r.outcomes[pitch.RightSide][outcome.Whiff]; left.n != 3 || left.x != 0 || right.n != 1 || right.x != 1 {
		t.Errorf("whiffs: %+v, %+v", left, right)
	}
	key := pitch.PitcherKey{ID: "p001", Hand: pitch.RightHand}.String()
	if s := got[thrower{key, pitch.RightHand, pitch.Slider}]; s.pitches != 1 || s.qualities[0].n != 0 {
		t.Errorf("%+v", s)
	}
}

// TestFollow plants three pitchers who lose 2 mph, in a league whose instrument reads
// 1.5 mph more in the later season: they are found, nobody else, and the instrument
// is told of.
func TestFollow(t *testing.T) {
	lost := func(i int) float64 {
		if i%20 == 3 {
			return 2
		}
		return 0
	}
	const pitchers = 60
	from := league{pitchers: pitchers, swings: 1600, seed: 1}.play(t)
	to := league{pitchers: pitchers, swings: 1600, seed: 2, lost: lost, shown: 1.5}.play(t)
	found := follow(t, from, to)
	if found.Pitchers != pitchers || len(found.Rows) != pitchers*4 {
		t.Errorf("%d pitchers, %d rows", found.Pitchers, len(found.Rows))
	}
	silent := 0
	for i := range found.Rows {
		r := &found.Rows[i]
		var who int
		fmt.Sscanf(r.Pitcher, "p%03d", &who)
		truth := -lost(who)
		if (r.Verdict == Moved) != (truth != 0) {
			t.Errorf("%s %s: own %+.2f (%+.2f to %+.2f)", r.Pitcher, r.Verdict, *r.Own, *r.OwnLo, *r.OwnHi)
		}
		// the league's common change holds the losses of one in twenty: −.1
		if math.Abs(*r.Change-truth-1.5) > .25 || math.Abs(*r.Own-truth-.1) > .25 || math.Abs(*r.League-1.4) > .15 {
			t.Errorf("%s: change %.2f, own %.2f, league %.2f; truth %.1f", r.Pitcher, *r.Change, *r.Own, *r.League, truth)
		}
		if r.Outcome == "whiff_rate" && r.Verdict == Moved {
			if want := .03 * *r.Own; math.Abs(*r.Expect-want) > .012 || *r.ExpectLo > want || *r.ExpectHi < want {
				t.Errorf("%s expects %.4f (%.4f to %.4f), want %.4f", r.Pitcher, *r.Expect, *r.ExpectLo, *r.ExpectHi, want)
			}
		}
		// More speed gets more whiffs. What becomes of a ball in play does not go with it,
		// which by chance one matchup of four denies.
		shown := *r.ExpectQ <= Discovery
		if r.Expects != map[bool]string{true: Shown, false: NotShown}[shown] || (r.Expect != nil) != shown || r.Outcome == "whiff_rate" && !shown ||
			strings.Contains(r.Sentence, "the league does not show what such a change does to it") == shown {
			t.Errorf("%s: %s with q %.3f, %s", r.Pitcher, r.Expects, *r.ExpectQ, r.Sentence)
		}
		if r.Expects == NotShown {
			silent++
		}
		if !strings.HasSuffix(r.Sentence, ".") || strings.Contains(r.Sentence, "%!") {
			t.Errorf("sentence %q", r.Sentence)
		}
	}
	if silent != 3*pitchers/2 {
		t.Errorf("nothing is expected in %d rows, want three matchups of four", silent)
	}
	s := found.Shifts[0]
	if len(found.Shifts) != 1 || !s.Suspect || math.Abs(*s.Shift-1.4) > .1 || s.Moved != 3 || s.Pitchers != pitchers {
		t.Errorf("shift %+v", s)
	}
	if !strings.Contains(found.Summary(), "3 moved") || !strings.Contains(found.Summary(), "instruments") {
		t.Errorf("summary %q", found.Summary())
	}
	if !strings.Contains(found.Caution(), "medical staff") || !strings.Contains(found.Caution(), "Velocity is nothing to chase") {
		t.Errorf("caution %q", found.Caution())
	}
	law := found.Laws[slices.IndexFunc(found.Laws, func(l Law) bool { return l.Outcome == "whiff_rate" })]
	if *law.ChangesLo > .03 || *law.ChangesHi < .03 || *law.WithinLo > .03 || *law.WithinHi < .03 || *law.WithinHi-*law.WithinLo > .02 {
		t.Errorf("law: window to window %.4f (%.4f to %.4f), pitch to pitch %.4f (%.4f to %.4f)", *law.Changes, *law.ChangesLo, *law.ChangesHi, *law.Within, *law.WithinLo, *law.WithinHi)
	}
	// the same data give the same trend
	var a, b bytes.Buffer
	if err := errors.Join(thresholds.CSV(&a, found.Rows), thresholds.CSV(&b, follow(t, from, to).Rows)); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Errorf("a second run differs (%v)", err)
	}
}

// TestNothingMoves: of a league that stays, nobody moved.
func TestNothingMoves(t *testing.T) {
	found := follow(t, league{pitchers: 80, swings: 150, seed: 1}.play(t), league{pitchers: 80, swings: 150, seed: 2}.play(t))
	for i := range found.Rows {
		if r := &found.Rows[i]; r.Verdict == Moved || r.Went == Rose || r.Went == Fell {
			t.Errorf("%s: %s, %s %s", r.Pitcher, r.Verdict, r.Outcome, r.Went)
		}
	}
	if found.Shifts[0].Suspect {
		t.Errorf("%+v", found.Shifts[0])
	}
}

// TestVerdicts holds the borders of every verdict.
func TestVerdicts(t *testing.T) {
	known := func(mean, sd, q float64) *track {
		return &track{known: true, q: q, found: stats.PairedShrunk{Own: stats.Normal{Mean: mean, SD: sd}}}
	}
	for _, c := range []struct {
		k             *track
		verdict, went string
	}{
		{&track{}, TooFew, TooFew},
		{known(1.2, .3, .1), Moved, Rose},
		{known(-1.2, .3, .1), Moved, Fell},
		{known(1.2, .3, .11), CannotTell, NotShown}, // not beyond chance among so many
		{known(1.2, .7, .01), CannotTell, NotShown}, // the interval holds 0
		{known(.9, .3, .01), CannotTell, Rose},      // too small to be called so
		{known(.4, .3, .5), Stayed, NotShown},       // its interval ends at .99
		{known(.42, .3, .5), CannotTell, NotShown},  // and here at 1.01
		{known(.5, .1, .01), Stayed, Rose},          // shown to be small
		{known(-.42, .3, .5), CannotTell, NotShown}, // the same below
	} {
		if got, went := c.k.verdict(1), c.k.went(); got != c.verdict || went != c.went {
			t.Errorf("%+v: %s, %s; want %s, %s", c.k.found.Own, got, went, c.verdict, c.went)
		}
	}
}

// TestTold: where his own change leaves out 0 and q is above .10, the sentence names q and
// how many changes it allows for.
func TestTold(t *testing.T) {
	num := func(x float64) *float64 { return &x }
	x := &variable{title: "velocity", decimals: 1}
	row := func(verdict, went string, lo, hi, q float64) *Row {
		return &Row{Verdict: verdict, Went: went, Side: "left", Outcome: "whiff_rate", Smallest: 1, Before: num(92), After: num(94), Own: num(2), OwnLo: num(lo), OwnHi: num(hi),
			Q: num(q), Together: 96, RateA: num(.2), RateB: num(.22), RateD: num(.02), RateDLo: num(lo / 100), RateDHi: num(hi / 100), RateQ: num(q), RateTogether: 192}
	}
	for _, c := range []struct {
		row           *Row
		moved, result string
	}{
		{row(Moved, Rose, 1, 3, .02), "it moved, q .020", "it rose, q .020"},
		{row(CannotTell, NotShown, 1, 3, .14), "whether it moved cannot be told after allowing for 96 comparisons, q .140",
			"no change of his own shown after allowing for 192 comparisons, q .140"},
		{row(CannotTell, NotShown, -1, 3, .14), "whether it moved cannot be told", "no change of his own shown"},
		{row(Stayed, NotShown, .1, .9, .14), "it stayed, but for less than 1.0", "no change of his own shown after allowing for 192 comparisons, q .140"},
	} {
		for got, want := range map[string]string{words.Plain(c.row.moved(x)): c.moved, words.Plain(c.row.Result()): c.result} {
			if !strings.HasSuffix(got, want) {
				t.Errorf("%q does not end on %q", got, want)
			}
		}
	}
}

// TestFit: p is that of the plain change less the league's, in its own error, and q
// that of Benjamini and Hochberg; the league is known by those that stayed.
func TestFit(t *testing.T) {
	var group []*track
	for i := range 40 {
		// before and after differ by .1 for all, by .9 more for the last four
		end := func(mean float64) sums { return sums{n: 100, x: 100 * mean} }
		k := &track{ends: [2]sums{end(float64(i % 7)), end(float64(i%7) + .1 + .002*float64(i%3-1))}, v: [2]float64{.01, .03}}
		if i >= 36 {
			k.ends[1].x += 90
			k.apart = true
		}
		group = append(group, k)
	}
	var family answer.Family
	fit(group, &family)
	family.Control()
	for i, k := range group {
		if math.Abs(k.shift-.1) > .002 {
			t.Errorf("%d: the league changed by %.4f", i, k.shift)
		}
		z := (k.means()[1] - k.means()[0] - k.shift) / .2
		if want := math.Erfc(math.Abs(z) / math.Sqrt2); math.Abs(k.p-want) > 1e-12 || math.Abs(k.p-1) > .05 != k.apart {
			t.Errorf("%d: p %v, want %v", i, k.p, want)
		}
		if most := max(group[36].p, group[37].p, group[38].p, group[39].p); k.apart && math.Abs(k.q-10*most) > 1e-12 { // the four smallest of 40
			t.Errorf("%d: q %v, want %v", i, k.q, 10*most)
		}
	}
}

// TestExpect: nothing is expected of a slope that is not shown among all that are
// asked, and slopes that no row uses are not among them.
func TestExpect(t *testing.T) {
	at := func(variable int, hand pitch.Hand) slopeKey {
		return slopeKey{hand: hand, side: pitch.LeftSide, typ: pitch.FourSeam, variable: variable}
	}
	of := func(x, se, lo, hi, p float64) *slope {
		return &slope{Estimate: answer.Estimate{X: x, Lo: lo, Hi: hi}, se: se, p: p}
	}
	missing := none
	slopes := map[slopeKey]*slope{at(0, pitch.LeftHand): of(.03, .005, .02, .04, .001), at(1, pitch.LeftHand): of(.03, .015, .0001, .06, .049),
		at(2, pitch.LeftHand): of(.01, .02, -.03, .05, .6), at(3, pitch.LeftHand): &missing}
	for v := range 4 {
		slopes[at(v, pitch.UnknownHand)] = &slope{p: 1e-9}
	}
	family(slopes)
	quality := &track{known: true, found: stats.PairedShrunk{Own: stats.Normal{Mean: 2, SD: .5}}}
	for v, want := range []struct {
		word   string
		q      float64
		expect bool
	}{{Shown, .003, true}, {Shown, .0735, true}, {NotShown, .6, false}, {TooFew, 0, false}, {TooFew, 0, false}} {
		var r Row
		r.expect(slopes, at(v, pitch.LeftHand), quality)
		if r.Expects != want.word || (r.Expect != nil) != want.expect || (r.ExpectQ != nil) != (want.q > 0) || want.q > 0 && math.Abs(*r.ExpectQ-want.q) > 1e-12 {
			t.Errorf("%d: %+v, want %+v", v, r, want)
		}
	}
	// among more that show nothing the hint is no evidence
	for v := 4; v < 8; v++ {
		slopes[at(v, pitch.LeftHand)] = of(.01, .02, -.03, .05, .7)
	}
	family(slopes)
	var r Row
	if r.expect(slopes, at(1, pitch.LeftHand), quality); r.Expects != NotShown || r.Expect != nil {
		t.Errorf("%+v", r)
	}
	if r.expect(slopes, at(0, pitch.LeftHand), &track{}); r.Expects != TooFew {
		t.Errorf("of a change that is not known: %+v", r)
	}
}

// TestFew: a pitcher with 19 swings in one window, and a league of 11, have no number.
func TestFew(t *testing.T) {
	few := func(pitchers, swings int) *tally.Tally {
		var pitches []pitch.Pitch
		for i := range pitchers {
			n := 40
			if i == 0 {
				n = swings
			}
			for k := range n {
				pitches = append(pitches, thrown(int32(i), pitch.LeftHand, pitch.LeftSide, pitch.Slider, 84+float64(i%3)+.1*float64(k%7), []pitch.Outcome{pitch.Foul, pitch.SwingingStrike}[k%2]))
			}
		}
		return count(t, 2*pitchers, pitches, "velocity")
	}
	first := func(found *Trend) Row {
		return found.Rows[slices.IndexFunc(found.Rows, func(r Row) bool { return r.Pitcher == "p000" && r.Outcome == "whiff_rate" && r.Side == "left" })]
	}
	if r := first(follow(t, few(13, 40), few(13, 19))); r.Verdict != TooFew || r.Before != nil || r.Went != TooFew || r.RateA != nil || r.Expect != nil {
		t.Errorf("19 swings: %+v", r)
	}
	if r := first(follow(t, few(13, 40), few(13, 20))); r.Verdict == TooFew || r.Before == nil || r.RateA == nil {
		t.Errorf("20 swings: %+v", r)
	}
	if r := first(follow(t, few(11, 40), few(11, 40))); r.Verdict != TooFew || r.Q != nil {
		t.Errorf("11 pitchers: %+v", r)
	}
	_, err := Follow(Window{Tally: few(13, 40)}, Window{Tally: count(t, 0, nil, "velocity")}, scoring)
	if !errors.Is(err, ErrNothing) {
		t.Errorf("nobody in common: %v", err)
	}
}

// TestSeasonsOfOne splits one tally by season.
func TestSeasonsOfOne(t *testing.T) {
	var pitches []pitch.Pitch
	for i := range 12 {
		for k := range 60 {
			p := thrown(int32(i), pitch.LeftHand, pitch.LeftSide, pitch.Sinker, 91+.1*float64(k%9), pitch.Foul)
			if k%3 == 0 {
				p.Season, p.Num[pitch.Velocity] = 2032, p.Num[pitch.Velocity]-2
			}
			pitches = append(pitches, p)
		}
	}
	all := count(t, 24, pitches, "velocity")
	found, err := Follow(Window{Tally: all, Seasons: []int16{2031}}, Window{Tally: all, Seasons: []int16{2032}}, scoring)
	if err != nil {
		t.Fatal(err)
	}
	if r := found.Rows[0]; r.SwingsA != 40 || r.SwingsB != 20 || math.Abs(*r.Change+2) > .2 {
		t.Errorf("%+v", r)
	}
}

// TestRelabelled: a slider that comes back as a sweeper of the same speed is the same
// pitch; one that was given up for another is not.
func TestRelabelled(t *testing.T) {
	season := func(typ pitch.Type, speed float64, kept int) *tally.Tally {
		var pitches []pitch.Pitch
		for k := range 200 {
			kind, x := pitch.FourSeam, 93.
			if k%5 == 0 {
				kind, x = typ, speed
			}
			if k < kept {
				kind, x = pitch.Slider, 84
			}
			pitches = append(pitches, thrown(0, pitch.LeftHand, pitch.LeftSide, kind, x, pitch.Foul))
		}
		return count(t, 1, pitches, "velocity")
	}
	before := season(pitch.Slider, 84, 0)
	for _, c := range []struct {
		what  string
		after *tally.Tally
		want  int
	}{
		{"a new name", season(pitch.Sweeper, 84.9, 0), 1},
		{"another pitch", season(pitch.Curveball, 78, 0), 0},
		{"both are thrown", season(pitch.Sweeper, 84.9, 4), 0},
		{"nothing new", before, 0},
	} {
		w := [2]Window{{Tally: before}, {Tally: c.after}}
		vars, _ := shared(&w[0], &w[1])
		got := relabelled([2]map[thrower]*record{gather(&w[0], 0, vars, &scoring), gather(&w[1], 1, vars, &scoring)}, vars)
		if len(got) != c.want {
			t.Errorf("%s: %+v", c.what, got)
		}
		if len(got) == 1 && (got[0].Pitcher != "p000" || got[0].From != "slider" || got[0].To != "sweeper" || got[0].ShareA != .2 || got[0].ShareB != .2) {
			t.Errorf("%+v", got[0])
		}
	}
}
