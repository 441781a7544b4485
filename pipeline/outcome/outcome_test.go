package outcome

import (
	"math"
	"strings"
	"testing"

	"sill/pipeline/pitch"
)

// TestClassOf goes through every result there is. The denominator is
// AB + BB − IBB + SF + HBP (The Book, 2007); the terms are those of the
// Official Baseball Rules 9.02 and 9.05 to 9.15 (from memory).
func TestClassOf(t *testing.T) {
	const none = Class(Classes)
	want := [pitch.Results]Class{
		pitch.NoResult:            none,
		pitch.Strikeout:           Strikeout, // also when the batter reached base
		pitch.Walk:                Walk,
		pitch.HitByPitch:          HitByPitch,
		pitch.Single:              Single,
		pitch.Double:              Double,
		pitch.Triple:              Triple,
		pitch.HomeRun:             HomeRun,
		pitch.Out:                 OtherOut,
		pitch.FieldersChoice:      OtherOut, // all safe too: an at-bat without a hit
		pitch.ReachedOnError:      ReachedOnError,
		pitch.SacrificeFly:        SacrificeFly,
		pitch.SacrificeBunt:       none,
		pitch.CatcherInterference: none,
		pitch.NotAppearance:       none,
	}
	seen := 0
	for code := range 256 {
		r := pitch.Result(code)
		if !r.Valid() {
			continue
		}
		seen++
		class := want[r.Base()] // whatever its flags, but for one
		if r == pitch.Walk|pitch.Intentional {
			class = none
		}
		c, counted := ClassOf(r)
		if counted != (class != none) || counted && c != class {
			t.Errorf("%v: %v, %v; want %v", r, c, counted, class)
		}
	}
	if seen != 35 {
		t.Errorf("%d results with their flags, want 35", seen)
	}
}

// TestRulesOfPlay: each rule that a result with flags is counted by.
func TestRulesOfPlay(t *testing.T) {
	for name, c := range map[string]struct {
		words []string
		class Class
	}{
		"a strikeout and a runner thrown out":      {[]string{"strikeout", "double_play"}, Strikeout},
		"a strikeout of a batter who bunted":       {[]string{"strikeout", "bunt"}, Strikeout},
		"an intentional walk":                      {[]string{"walk", "intentional"}, NoClass},
		"a double play":                            {[]string{"out", "double_play"}, OtherOut},
		"a triple play":                            {[]string{"out", "triple_play"}, OtherOut},
		"a force out":                              {[]string{"fielders_choice"}, OtherOut},
		"a fielder's choice with everybody safe":   {[]string{"fielders_choice"}, OtherOut},
		"a sacrifice fly and a runner thrown out":  {[]string{"sacrifice_fly", "double_play"}, SacrificeFly},
		"a sacrifice bunt and a runner thrown out": {[]string{"sacrifice_bunt", "double_play"}, NoClass},
		"a bunted single":                          {[]string{"single", "bunt"}, Single},
	} {
		r, err := pitch.ParseResult(c.words...)
		if err != nil {
			t.Fatal(err)
		}
		if got, counted := ClassOf(r); got != c.class || counted != (c.class != NoClass) {
			t.Errorf("%s: %v, %v", name, got, counted)
		}
	}
}

// TestSwingOf goes through every outcome there is.
func TestSwingOf(t *testing.T) {
	want := map[pitch.Outcome]Swing{
		pitch.UnknownOutcome:   NoSwing,
		pitch.Ball:             NoSwing,
		pitch.CalledStrike:     NoSwing,
		pitch.SwingingStrike:   Miss,
		pitch.Foul:             Contact,
		pitch.FoulTip:          Tip,
		pitch.InPlay:           Contact,
		pitch.HitBatter:        NoSwing,
		pitch.FoulBunt:         NoSwing,
		pitch.MissedBunt:       NoSwing,
		pitch.BuntFoulTip:      NoSwing,
		pitch.IntentionalBall:  NoSwing,
		pitch.Pitchout:         NoSwing,
		pitch.SwingingPitchout: NoSwing,
		pitch.FoulPitchout:     NoSwing,
		pitch.InPlayPitchout:   NoSwing,
		pitch.AutomaticBall:    NoSwing,
		pitch.AutomaticStrike:  NoSwing,
		pitch.NoPitch:          NoSwing,
	}
	if len(want) != pitch.Outcomes {
		t.Fatalf("%d outcomes listed of %d", len(want), pitch.Outcomes)
	}
	for o, swing := range want {
		if got := SwingOf(&pitch.Pitch{Outcome: o}); got != swing {
			t.Errorf("%v: %v, want %v", o, got, swing)
		}
	}
}

// TestBunts: a ball in play that was bunted is no swing, whether the source
// says so or the result does; one that may have been a bunt is one, and noted.
func TestBunts(t *testing.T) {
	for _, c := range []struct {
		name           string
		bunt           pitch.Flag
		result         pitch.Result
		swing, unknown bool
	}{
		{"bunted for a single", pitch.Yes, pitch.Single, false, false},
		{"bunted out", pitch.Yes, pitch.Out, false, false},
		{"sacrifice", pitch.Unknown, pitch.SacrificeBunt, false, false},
		{"sacrifice, double play", pitch.Unknown, pitch.SacrificeBunt | pitch.DoublePlay, false, false},
		{"bunted, by the result's flag", pitch.Unknown, pitch.Single | pitch.Bunt, false, false},
		{"swung", pitch.No, pitch.Single, true, false},
		{"source silent", pitch.Unknown, pitch.Single, true, true},
	} {
		p := pitch.Pitch{Outcome: pitch.InPlay, Bunt: c.bunt, Result: c.result}
		if got := SwingOf(&p) != NoSwing; got != c.swing || BuntUnknown(&p) != c.unknown {
			t.Errorf("%s: swing %v, unknown %v", c.name, got, BuntUnknown(&p))
		}
	}
	// A bunt that is no sacrifice counts as a plate appearance.
	if c, counted := ClassOf(pitch.Out); !counted || c != OtherOut {
		t.Error("a bunted out does not count")
	}
}

// TestInterference: catcher interference is no swing, whatever the source
// writes as the pitch's outcome, and no counted plate appearance.
func TestInterference(t *testing.T) {
	for _, o := range []pitch.Outcome{pitch.SwingingStrike, pitch.Foul, pitch.InPlay} {
		if got := SwingOf(&pitch.Pitch{Outcome: o, Result: pitch.CatcherInterference}); got != NoSwing {
			t.Errorf("%v: %v", o, got)
		}
	}
}

func TestShaped(t *testing.T) {
	not := 0
	for o := range pitch.Outcome(pitch.Outcomes) {
		if !Shaped(o) {
			not++
		}
	}
	for _, o := range []pitch.Outcome{pitch.IntentionalBall, pitch.Pitchout, pitch.SwingingPitchout,
		pitch.FoulPitchout, pitch.InPlayPitchout, pitch.AutomaticBall, pitch.AutomaticStrike, pitch.NoPitch} {
		if Shaped(o) {
			t.Errorf("%v has a shape", o)
		}
		not--
	}
	if not != 0 {
		t.Error("an outcome without a shape is not listed")
	}
}

// TestTheBook checks the weights against the published table and a line of
// results reckoned by hand.
func TestTheBook(t *testing.T) {
	w := TheBook()
	if err := w.Validate(); err != nil {
		t.Fatal(err)
	}
	counts := [Classes]float64{Strikeout: 20, Walk: 8, HitByPitch: 1, Single: 15, Double: 5, Triple: 1,
		HomeRun: 3, ReachedOnError: 1, SacrificeFly: 1, OtherOut: 45}
	sum := 0.0
	for c, n := range counts {
		sum += n * w.Value[c]
	}
	// 8×.72 + .75 + 15×.90 + 5×1.24 + 1.56 + 3×1.95 + .92 over 100 appearances
	if want := 34.54; math.Abs(sum-want) > 1e-12 {
		t.Errorf("%v, want %v", sum, want)
	}
	if got := w.WithErrorWeight(0); got.Value[ReachedOnError] != 0 || w.Value[ReachedOnError] != .92 {
		t.Error("error weight")
	}
}

func TestWeightsValidate(t *testing.T) {
	w := TheBook()
	w.Name, w.Value[Triple], w.Value[Walk] = "", 1.2, math.NaN()
	err := w.Validate()
	if err == nil {
		t.Fatal("faulty weights passed")
	}
	for _, part := range []string{"name is empty", "walks is NaN", "triples are worth less than doubles"} {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q lacks %q", err, part)
		}
	}
}
