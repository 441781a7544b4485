package demo

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/pitch"
)

// season plays a season into memory.
func season(t testing.TB, s Scenario, o Options) [][]Thrown {
	t.Helper()
	var games [][]Thrown
	if err := Play(context.Background(), s, o, func(rows []Thrown) error {
		games = append(games, rows)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return games
}

func small(pitches int) Options {
	o := DefaultOptions()
	o.Pitches = pitches
	return o
}

// TestRates holds the league-level rates near the usual professional ones
// (common practice, no source).
func TestRates(t *testing.T) {
	for _, s := range []Scenario{Lantern(), Kestrel()} {
		var n, swings, whiffs, turns, strikeouts, walks, hit, counted, worth, called, left, slots float64
		leftHanded := map[int64]bool{}
		for _, rows := range season(t, s, small(200_000)) {
			if rows[0].Kind != Regular {
				continue
			}
			for i := range rows {
				r := &rows[i]
				n++
				if r.Swing() {
					swings++
					if r.Outcome == pitch.SwingingStrike {
						whiffs++
					}
				}
				if r.Outcome == pitch.CalledStrike {
					called++
				}
				switch r.Result.Base() {
				case pitch.Strikeout:
					strikeouts++
				case pitch.Walk:
					if !r.Result.Has(pitch.Intentional) {
						walks++
					}
				case pitch.HitByPitch:
					hit++
				}
				if r.Result != pitch.NoResult {
					turns++
				}
				if w, ok := r.Worth(); ok {
					counted++
					worth += w
				}
				if !r.Fielder {
					leftHanded[r.Pitcher] = r.Hand == pitch.LeftHand
				}
			}
		}
		for _, l := range leftHanded {
			slots++
			if l {
				left++
			}
		}
		for _, c := range []struct {
			name        string
			got, lo, hi float64
		}{
			{"swings a pitch", swings / n, .46, .50},
			{"whiffs a swing", whiffs / swings, .225, .26},
			{"called strikes a pitch", called / n, .14, .18},
			{"pitches a plate appearance", n / turns, 3.7, 4.0},
			{"strikeouts a plate appearance", strikeouts / turns, .205, .24},
			{"walks a plate appearance", walks / turns, .078, .092},
			{"hit batters a plate appearance", hit / turns, .007, .014},
			{"wOBA", worth / counted, .300, .325},
			{"left-handers", left / slots, s.LeftShare - .03, s.LeftShare + .03},
		} {
			if !(c.got >= c.lo && c.got <= c.hi) {
				t.Errorf("%s: %s %.4f, want within %g to %g", s.Name, c.name, c.got, c.lo, c.hi)
			}
		}
	}
}

// TestRulesOfPlay replays every game from its rows alone and holds the stated
// counts, outs, bases and scores against the rules.
func TestRulesOfPlay(t *testing.T) {
	seen := map[pitch.Result]int{}
	for _, rows := range season(t, Lantern(), small(300_000)) {
		replay(t, rows, seen)
		if t.Failed() {
			t.FailNow()
		}
	}
	for r := range pitch.Results {
		if r := pitch.Result(r); r != pitch.NoResult && seen[r] == 0 {
			t.Errorf("no plate appearance ended in %v", r)
		}
	}
}

// replay follows one game. Bases are checked by conservation: who was on base
// or came to bat is on base, out or home after the play.
func replay(t *testing.T, rows []Thrown, seen map[pitch.Result]int) {
	t.Helper()
	var score [2]int
	outs, half, turn, balls, strikes, number := 0, 0, 0, 0, 0, 0
	inning, bases, last := 0, 0, pitch.Strikeout
	for i := range rows {
		r := &rows[i]
		at := func(n pitch.Number) int { return int(r.Num[n]) }
		h := at(pitch.Half) - 1
		if at(pitch.Inning) != inning || h != half {
			if inning > 0 && outs != 3 {
				t.Errorf("game %d: inning %d half %d ended with %d outs", r.Game, inning, half, outs)
			}
			if wantInning := inning + 1 - h; at(pitch.Inning) != wantInning {
				t.Errorf("game %d: inning %d after %d", r.Game, at(pitch.Inning), inning)
			}
			inning, half, outs, bases = at(pitch.Inning), h, 0, 0
		}
		if last != pitch.NoResult {
			turn, balls, strikes, number = turn+1, 0, 0, 0
		}
		number++
		want := []int{turn, number, outs, balls, strikes, bases, score[h] - score[1-h]}
		got := []int{at(pitch.PlateAppearance), at(pitch.PitchNumber), at(pitch.OutsBefore), at(pitch.BallsBefore), at(pitch.StrikesBefore), at(pitch.Bases), at(pitch.ScoreDifference)}
		if d := cmp.Diff(want, got); d != "" {
			t.Fatalf("game %d, row %d: turn, number, outs, balls, strikes, bases, lead (want − got +):\n%s", r.Game, i, d)
		}
		before := bits.OnesCount(uint(at(pitch.Bases)))

		switch r.Outcome {
		case pitch.Ball, pitch.AutomaticBall, pitch.IntentionalBall, pitch.Pitchout:
			balls++
		case pitch.CalledStrike, pitch.SwingingStrike, pitch.FoulTip, pitch.MissedBunt, pitch.BuntFoulTip,
			pitch.AutomaticStrike, pitch.SwingingPitchout, pitch.FoulBunt:
			strikes++
		case pitch.Foul:
			strikes = min(strikes+1, 2)
		}
		ended := balls == 4 || strikes == 3 || r.Outcome == pitch.InPlay || r.Outcome == pitch.HitBatter || r.Outcome == pitch.NoPitch
		completed := r.Result != pitch.NoResult && r.Result != pitch.NotAppearance
		if completed != ended {
			t.Fatalf("game %d, row %d: %v at %d-%d has result %q", r.Game, i, r.Outcome, balls, strikes, r.Result)
		}
		switch r.Result &^ pitch.DoublePlay {
		case pitch.Walk:
			ended = balls == 4
		case pitch.Strikeout:
			ended = strikes == 3
		}
		if completed && !ended {
			t.Errorf("game %d, row %d: %v at %d-%d", r.Game, i, r.Result, balls, strikes)
		}
		seen[r.Result]++
		last = r.Result
		outs += r.Out
		score[h] += r.Runs
		if outs > 3 || r.Out < 0 || r.Runs < 0 || r.Runs > 4 {
			t.Fatalf("game %d, row %d: %d outs, %d runs", r.Game, i, outs, r.Runs)
		}
		over := h == 1 && inning >= 9 && score[1] > score[0]
		if i+1 < len(rows) && rows[i+1].Num[pitch.Half] == r.Num[pitch.Half] && rows[i+1].Num[pitch.Inning] == r.Num[pitch.Inning] {
			after := int(rows[i+1].Num[pitch.Bases])
			came := before
			if completed {
				came++
			}
			if got := bits.OnesCount(uint(after)) + r.Out + r.Runs; got != came {
				t.Errorf("game %d, row %d: %v: %d on base or batting, %d accounted for", r.Game, i, r.Result, came, got)
			}
			if over {
				t.Errorf("game %d goes on after the winning run", r.Game)
			}
			if r.Result == pitch.NoResult && r.Out == 0 && after != int(r.Num[pitch.Bases]) && !(after == 2|int(r.Num[pitch.Bases])&4 && r.Num[pitch.Bases] == float64(1|int(r.Num[pitch.Bases])&4)) {
				t.Errorf("game %d, row %d: bases %d became %d in mid-count", r.Game, i, at(pitch.Bases), after)
			}
			bases = after
		}
	}
	homeAhead := score[1] > score[0]
	switch {
	case score[0] == score[1] && inning < 30:
		t.Errorf("game %d ends in a tie after %d innings", rows[0].Game, inning)
	case inning < 9, half == 0 && !homeAhead:
		t.Errorf("game %d ends early: inning %d, half %d, %v", rows[0].Game, inning, half, score)
	case outs != 3 && !(half == 1 && homeAhead):
		t.Errorf("game %d ends with %d outs", rows[0].Game, outs)
	}
}

// TestPlayDoesNotDependOnProcessors plays one season with one and with several
// processors and a season's start twice.
func TestPlayDoesNotDependOnProcessors(t *testing.T) {
	digest := func(o Options) [32]byte {
		h := sha256.New()
		for _, rows := range season(t, Lantern(), o) {
			fmt.Fprintf(h, "%+v\n", rows)
		}
		return [32]byte(h.Sum(nil))
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	o := small(30_000)
	one := digest(o)
	runtime.GOMAXPROCS(4)
	if digest(o) != one {
		t.Error("one processor and four give different seasons")
	}
	o.Seed++
	if digest(o) == one {
		t.Error("another seed gives the same season")
	}
}

// TestFlight checks every number of a pitch against the motion its nine
// trajectory numbers describe, solved here in another way: by bisection on y
// and from the definition of break as the distance from a path with the same
// start under gravity alone.
func TestFlight(t *testing.T) {
	n := 0
	for _, rows := range season(t, Lantern(), small(20_000)) {
		for i := range rows {
			r := &rows[i]
			if pitch.IsMissing(r.Num[pitch.Velocity]) {
				continue
			}
			n++
			at := func(t float64) (p, v [3]float64) {
				for k := range 3 {
					x, u, a := r.Num[int(pitch.PositionX)+k], r.Num[int(pitch.VelocityX)+k], r.Num[int(pitch.AccelerationX)+k]
					p[k], v[k] = x+u*t+a*t*t/2, u+a*t
				}
				return p, v
			}
			reach := func(y float64) float64 {
				lo, hi := -.3, 1.2
				for range 80 {
					mid := (lo + hi) / 2
					if p, _ := at(mid); p[1] > y {
						lo = mid
					} else {
						hi = mid
					}
				}
				return lo
			}
			arm := r.Hand.ArmSide()
			release, plate := reach(60.5-r.Num[pitch.Extension]), reach(17./12)
			p0, v0 := at(release)
			p1, v1 := at(plate)
			T := plate - release
			fall := [3]float64{p0[0] + v0[0]*T, 0, p0[2] + v0[2]*T - 32.174*T*T/2}
			neutral := math.Atan2(v1[2]+(2.5-p1[2])/T, -v1[1]) * 180 / math.Pi
			for _, c := range []struct {
				name      string
				got, want float64
			}{
				{"velocity", r.Num[pitch.Velocity], math.Sqrt(v0[0]*v0[0]+v0[1]*v0[1]+v0[2]*v0[2]) * 3600 / 5280},
				{"rise", r.Num[pitch.InducedVerticalBreak], 12 * (p1[2] - fall[2])},
				{"run", r.Num[pitch.HorizontalBreak], 12 * arm * (p1[0] - fall[0])},
				{"vertical approach", r.Num[pitch.VerticalApproachAngle], math.Atan(v1[2]/-v1[1]) * 180 / math.Pi},
				{"neutral approach", r.Neutral, neutral},
				{"horizontal approach", r.Num[pitch.HorizontalApproachAngle], math.Atan(arm*v1[0]/-v1[1]) * 180 / math.Pi},
				{"release height", r.Num[pitch.ReleaseHeight], p0[2]},
				{"release side", r.Num[pitch.ReleaseSide], arm * p0[0]},
				{"plate height", r.Num[pitch.PlateHeight], p1[2]},
				{"plate side", r.Num[pitch.PlateSide], arm * p1[0]},
			} {
				if math.Abs(c.got-c.want) > 1e-8 {
					t.Fatalf("game %d row %d: %s is %v, the trajectory says %v", r.Game, i, c.name, c.got, c.want)
				}
			}
			for _, col := range pitch.Dictionary {
				if col.Kind != pitch.Real {
					continue
				}
				if v := r.Num[col.Number]; v < col.Min || v > col.Max {
					t.Errorf("%s is %v, outside its range", col.Name, v)
				}
			}
		}
	}
	if n < 20_000 {
		t.Errorf("only %d pitches were thrown", n)
	}
}

// TestTruthMatchesOutcomes compares true chances with what happened, for
// each pitch type: what a test of coverage rests on.
func TestTruthMatchesOutcomes(t *testing.T) {
	type sums struct{ want, got, variance float64 }
	swing, whiff, end, worth := map[pitch.Type]*sums{}, map[pitch.Type]*sums{}, map[pitch.Type]*sums{}, map[pitch.Type]*sums{}
	add := func(of map[pitch.Type]*sums, t pitch.Type, p, y, v float64) {
		if of[t] == nil {
			of[t] = &sums{}
		}
		of[t].want, of[t].got, of[t].variance = of[t].want+p, of[t].got+y, of[t].variance+v
	}
	b := func(v bool) float64 {
		if v {
			return 1
		}
		return 0
	}
	for _, rows := range season(t, Lantern(), small(300_000)) {
		for i := range rows {
			r := &rows[i]
			if r.EndChance == 0 {
				continue
			}
			w, counted := r.Worth()
			p := r.SwingChance
			add(swing, r.Type, p, b(r.Swing()), p*(1-p))
			if r.Swing() {
				add(whiff, r.Type, r.WhiffChance, b(r.Outcome == pitch.SwingingStrike), r.WhiffChance*(1-r.WhiffChance))
			}
			add(end, r.Type, r.EndChance, b(counted), r.EndChance*(1-r.EndChance))
			if counted {
				add(worth, r.Type, r.EndValue, w, (w-r.EndValue)*(w-r.EndValue))
			}
		}
	}
	for name, all := range map[string]map[pitch.Type]*sums{"swings": swing, "whiffs": whiff, "ends": end, "worth": worth} {
		for typ, s := range all {
			if s.variance == 0 {
				continue
			}
			if z := (s.got - s.want) / math.Sqrt(s.variance); math.Abs(z) > 4 {
				t.Errorf("%v %s: %.1f, expected %.1f (%.1f standard errors)", typ, name, s.got, s.want, z)
			}
		}
	}
}

func TestEffects(t *testing.T) {
	for _, form := range []Form{Climb, Hinge, Band} {
		e := Effect{Form: form, At: 90, Spread: 1.3, Amount: .8}
		for _, x := range e.Breakpoints() {
			if v := e.Value(x); math.Abs(v) > 1e-12 {
				t.Errorf("%s at its breakpoint %v is %v", formNames[form], x, v)
			}
		}
		for x := 80.; x < 100; x += .1 {
			rising := e.Value(x+.1) - e.Value(x)
			if form != Band && rising < 0 || form == Band && (rising > 0) != (x+.05 < e.At) && math.Abs(x+.05-e.At) > .06 {
				t.Errorf("%s turns at %v", formNames[form], x)
			}
		}
	}
	last := math.Inf(-1)
	for q := -2.; q < 2; q += .05 {
		p, worth := contactShares(q)
		sum := 0.
		for _, v := range p {
			sum += v
		}
		if math.Abs(sum-1) > 1e-12 || worth <= last {
			t.Errorf("contact %v: shares add to %v, worth %v after %v", q, sum, worth, last)
		}
		last = worth
	}
}

// TestShifted moves one planted cutoff and nothing else.
func TestShifted(t *testing.T) {
	s := TradeFacts()
	moved := s.Shifted(pitch.Sinker, LvL, Velocity, 3)
	changed := 0
	for i, e := range s.Effects {
		if d := moved.Effects[i].At - e.At; d != 0 {
			changed++
			if d != 3 || e.Type != pitch.Sinker || e.Matchups != LvL || e.Quality != Velocity {
				t.Errorf("effect %d moved by %v", i, d)
			}
		}
	}
	if changed != 1 {
		t.Errorf("%d effects moved, want 1", changed)
	}
}

func TestSeasonsChange(t *testing.T) {
	o := small(20_000)
	o.Seasons = 2
	ids := map[int]map[int64]bool{}
	for _, rows := range season(t, Kestrel(), o) {
		for i := range rows {
			if !rows[i].Fielder {
				if ids[rows[i].Season] == nil {
					ids[rows[i].Season] = map[int64]bool{}
				}
				ids[rows[i].Season][rows[i].Pitcher] = true
			}
		}
	}
	stayed := 0
	for id := range ids[2031] {
		if ids[2032][id] {
			stayed++
		}
	}
	if share := float64(stayed) / float64(len(ids[2031])); share < .6 || share > .95 {
		t.Errorf("%.2f of the pitchers stayed, want most and not all", share)
	}
}

func TestPlayStops(t *testing.T) {
	cause := errors.New("full")
	err := Play(context.Background(), Lantern(), small(50_000), func([]Thrown) error { return cause })
	if !errors.Is(err, cause) {
		t.Errorf("error of the receiver: got %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := Play(ctx, Lantern(), small(500_000), func([]Thrown) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: got %v", err)
	}
}

func TestOptions(t *testing.T) {
	if err := DefaultOptions().Validate(); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func(*Options){
		"league":  func(o *Options) { o.League = "nowhere" },
		"pitches": func(o *Options) { o.Pitches = MaxPitches + 1 },
		"seasons": func(o *Options) { o.Seasons = 0 },
		"rows":    func(o *Options) { o.RowGroup = 0 },
	} {
		o := DefaultOptions()
		spoil(&o)
		if o.Validate() == nil {
			t.Errorf("%s: a bad value passes", name)
		}
	}
}

func BenchmarkPlay(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		season(b, Lantern(), small(100_000))
	}
}
