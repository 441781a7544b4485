package locate

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// TestPlantedEdge finds a planted rise: every cell crosses the pooled rate near
// the mean velocity, whose whiff rate the curve was built on.
func TestPlantedEdge(t *testing.T) {
	eo, o := quick()
	got := locateAll(t, smallLeague().play(t), eo, o)
	for _, m := range pitch.Matchups {
		k := key(m.Hand.String(), m.Side.String(), "four_seam", "velocity", "whiff_rate")
		v := verdictOf(t, got, k, estimate.TypeRate)
		if v.Verdict != Found || v.Trend != Rising {
			t.Errorf("%s: verdict %s, trend %s, want found and rising (q %v)", m, v.Verdict, v.Trend, v.Q)
			continue
		}
		zones := zonesOf(got, k, estimate.TypeRate)
		good := zones[len(zones)-1]
		if good.Sign != 1 || good.LowerKind != "edge" || math.Abs(*good.Lower-meanVelocity) > 1.5 {
			t.Errorf("%s: last zone %+v", m, good)
		}
		if good.LowerLo != nil && *good.LowerLo > *good.Lower || good.LowerHi != nil && *good.LowerHi < *good.Lower {
			t.Errorf("%s: edge outside its limits", m)
		}
		if v.Batters == 0 || slices.Contains(v.Warnings, WarnBatters) {
			t.Errorf("%s: batters not counted: %v", m, v.Warnings)
		}
		// the flat variable stays flat
		k.Variable = "induced_vertical_break"
		if v := verdictOf(t, got, k, estimate.TypeMedian); v.Verdict == Found {
			t.Errorf("%s: found a threshold in a variable without one", m)
		}
	}
}

// TestRowsAreWhole checks what must hold of any run: a verdict for every cell
// with an event and every line, bins that sum to the cell, no number that JSON
// cannot hold, words from the closed lists, known codes of warnings.
func TestRowsAreWhole(t *testing.T) {
	l := smallLeague()
	rare, err := pitch.NamedType("knuckleball")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	l.edit = func(p *pitch.Pitch) {
		if n++; n%17 == 0 {
			p.Num[pitch.Velocity] = pitch.Missing()
		}
		if n%5 == 0 {
			p.Type = pitch.OtherType
		}
		if n%400 == 0 {
			p.Type = pitch.UnknownType
		}
		if n%301 == 0 {
			p.Type = rare
		}
	}
	counts := l.play(t)
	eo, o := quick()
	got := locateAll(t, counts, eo, o)
	codes := map[string]bool{}
	for _, w := range Warnings() {
		codes[w.Code] = true
	}
	lines := map[thresholds.Key]int{}
	for _, v := range got.Verdicts {
		lines[v.Key]++
		for _, w := range v.Warnings {
			if !codes[w] {
				t.Errorf("warning %q has no meaning", w)
			}
		}
		if (v.Verdict == TooFew || v.Verdict == Inconclusive || v.Verdict == EdgeUnresolved) != (v.Settle != "") {
			t.Errorf("%+v: verdict %s, settle %q", v.Key, v.Verdict, v.Settle)
		}
		if untested := v.PitchType == "other" || v.PitchType == ""; untested && (v.Verdict != TooFew || v.P != nil) {
			t.Errorf("%+v was tested", v.Key)
		}
		if math.IsNaN(v.Rate) {
			t.Errorf("%+v: rate is not a number", v.Key)
		}
		if !slices.Contains([]string{TooFew, AlwaysBeats, NeverBeats, Found, EdgeUnresolved, Inconclusive}, v.Verdict) {
			t.Errorf("verdict %q", v.Verdict)
		}
	}
	cells := 0
	for i := range counts.Cells {
		c := &counts.Cells[i]
		for v, variable := range counts.Variables {
			for m, metric := range outcome.Metrics {
				var pitches, events int64
				for _, r := range c.Totals {
					pitches += int64(r.Pitches)
					events += r.Events(m)
				}
				if events == 0 {
					continue
				}
				cells++
				k := key(c.Cell.Hand.String(), c.Cell.Side.String(), c.Cell.Type.String(), variable.Name, metric.Name)
				if lines[k] != 8 {
					t.Errorf("%+v has %d verdicts, want 8", k, lines[k])
				}
				for _, b := range got.Bins {
					if b.Key == k {
						pitches -= b.Pitches
						events -= b.Events
					}
				}
				if pitches != 0 || events != 0 {
					t.Errorf("%+v, variable %d: bins miss %d pitches and %d events", k, v, pitches, events)
				}
			}
		}
	}
	for k, n := range lines {
		if k.Outcome == outcome.Metrics[outcome.Whiff].Name {
			both, other := k, k
			both.Outcome, other.Outcome = Joint, outcome.Metrics[outcome.WOBA].Name
			if lines[both] != min(n, lines[other]) {
				t.Errorf("%+v has %d verdicts on both at once", k, lines[both])
			}
			cells += min(1, lines[other])
		}
	}
	if cells != len(lines) {
		t.Errorf("%d cells with verdicts, want %d", len(lines), cells)
	}
	headlines := 0
	for _, r := range got.Thresholds {
		if r.Reference != estimate.TypeMedian && r.Reference != estimate.TypeRate {
			t.Errorf("headline view holds %s", r.Reference)
		}
		headlines++
	}
	if headlines < 2*cells {
		t.Errorf("%d rows in the headline view for %d cells", headlines, cells)
	}
}

// TestSameRows runs the same counts on one and on two processors.
func TestSameRows(t *testing.T) {
	counts := smallLeague().play(t)
	eo, o := quick()
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	one := locateAll(t, counts, eo, o)
	runtime.GOMAXPROCS(2)
	two := locateAll(t, counts, eo, o)
	if d := cmp.Diff(one, two); d != "" {
		t.Error(d)
	}
	eo.Seed = 2
	if cmp.Equal(one, locateAll(t, counts, eo, o)) {
		t.Error("another seed gives the same rows")
	}
}

// TestNamesDoNotMatter gives the pitchers other names in another order: counts,
// curves and breakpoints stay, limits move by Monte Carlo error.
func TestNamesDoNotMatter(t *testing.T) {
	l := smallLeague()
	eo, o := quick()
	a := locateAll(t, l.play(t), eo, o)
	last := int32(l.pitchers*2 - 1)
	l.edit = func(p *pitch.Pitch) { p.Pitcher = last - p.Pitcher }
	b := locateAll(t, l.play(t), eo, o)
	moved := false
	for i, v := range a.Verdicts {
		w := b.Verdicts[i]
		if v.Events != w.Events || math.Abs(v.Rate-w.Rate) > 1e-12 || (v.Lambda != nil && *v.Lambda != *w.Lambda) {
			t.Fatalf("%+v: sample changed", v.Key)
		}
		if v.Line != nil && math.Abs(*v.Line-*w.Line) > 1e-12 {
			t.Errorf("%+v: line moved", v.Key)
		}
		if v.LevelLo != nil {
			moved = moved || *v.LevelLo != *w.LevelLo
			if width := *v.LevelHi - *v.LevelLo; math.Abs(*v.LevelLo-*w.LevelLo) > .2*width {
				t.Errorf("%+v: level's limit moved by %g of its width", v.Key, math.Abs(*v.LevelLo-*w.LevelLo)/width)
			}
		}
	}
	if !moved {
		t.Error("the draws did not change")
	}
	at := map[string]thresholds.Zone{}
	name := func(z thresholds.Zone) string { return fmt.Sprint(z.Key, z.Reference, z.Zone) }
	for _, z := range a.Zones {
		at[name(z)] = z
	}
	same := 0
	for _, z := range b.Zones {
		y, ok := at[name(z)]
		if ok && z.LowerKind == "edge" && y.LowerKind == "edge" {
			same++
			if math.Abs(*z.Lower-*y.Lower) > 1e-9 {
				t.Errorf("%s: breakpoint moved from %g to %g", name(z), *y.Lower, *z.Lower)
			}
		}
	}
	if same < 4 {
		t.Errorf("only %d breakpoints to compare", same)
	}
}

// TestOneCountChangesRows turns one whiff into a foul.
func TestOneCountChangesRows(t *testing.T) {
	l := smallLeague()
	eo, o := quick()
	a := locateAll(t, l.play(t), eo, o)
	done := false
	l.edit = func(p *pitch.Pitch) {
		if !done && p.Outcome == pitch.SwingingStrike && p.Type == pitch.FourSeam {
			done, p.Outcome = true, pitch.Foul
		}
	}
	b := locateAll(t, l.play(t), eo, o)
	if cmp.Equal(a.Verdicts, b.Verdicts) || cmp.Equal(a.Curves, b.Curves) || cmp.Equal(a.References, b.References) {
		t.Error("one count changed and the rows did not")
	}
}

// TestStrataLeaveHeadline adds a stratification and compares every unstratified
// row.
func TestStrataLeaveHeadline(t *testing.T) {
	l := smallLeague()
	eo, o := quick()
	a := locateAll(t, l.play(t), eo, o)
	l.strat = []tally.Stratum{{Name: "half", Of: func(p *pitch.Pitch, _ *tally.Names) string {
		if p.Pitcher%2 == 0 {
			return "even"
		}
		return "odd"
	}}}
	b := locateAll(t, l.play(t), eo, o)
	if len(b.Verdicts) <= len(a.Verdicts) {
		t.Fatal("no rows of the strata")
	}
	var own thresholds.Tables
	for _, v := range b.Verdicts {
		if v.Stratum == "" {
			own.Verdicts = append(own.Verdicts, v)
		}
	}
	for _, v := range b.Zones {
		if v.Stratum == "" {
			own.Zones = append(own.Zones, v)
		}
	}
	for _, v := range b.Contrasts {
		if v.Stratum == "" {
			own.Contrasts = append(own.Contrasts, v)
		}
	}
	if d := cmp.Diff(a.Verdicts, own.Verdicts); d != "" {
		t.Error("verdicts changed:", d[:min(len(d), 1000)])
	}
	if !cmp.Equal(a.Thresholds, b.Thresholds) {
		t.Error("the headline view changed")
	}
	if !cmp.Equal(a.Zones, own.Zones) || !cmp.Equal(a.Contrasts, own.Contrasts) {
		t.Error("zones or contrasts changed")
	}
}

// TestEdgeCases gives verdicts, never errors.
func TestEdgeCases(t *testing.T) {
	eo, o := quick()
	for name, change := range map[string]func(*league){
		"one pitcher": func(l *league) { l.edit = func(p *pitch.Pitch) { p.Pitcher = 0; p.Hand = pitch.LeftHand } },
		"no swings": func(l *league) {
			l.edit = func(p *pitch.Pitch) { p.Outcome, p.Result = pitch.Ball, pitch.NoResult }
		},
		"nothing known": func(l *league) {
			l.edit = func(p *pitch.Pitch) { p.Num[pitch.Velocity] = pitch.Missing() }
		},
		"no whiffs": func(l *league) {
			l.edit = func(p *pitch.Pitch) {
				if p.Outcome == pitch.SwingingStrike {
					p.Outcome = pitch.Foul
				}
			}
		},
		"one value": func(l *league) {
			l.edit = func(p *pitch.Pitch) { p.Num[pitch.Velocity] = 93 }
		},
	} {
		l := smallLeague()
		l.pitchers, l.pitches, l.variables = 15, 100, []string{"velocity"}
		change(&l)
		got := locateAll(t, l.play(t), eo, o)
		for _, v := range got.Verdicts {
			// without whiffs strikeouts still follow velocity
			if v.Outcome == "whiff_rate" && (v.Verdict == Found || v.Verdict == EdgeUnresolved) {
				t.Errorf("%s: %s", name, v.Verdict)
			}
			if v.Verdict == TooFew && v.Outcome != Joint && !strings.HasPrefix(v.Settle, "needs ") {
				t.Errorf("%s: settle %q", name, v.Settle)
			}
		}
		if name != "no swings" && len(got.Verdicts) == 0 {
			t.Errorf("%s: no verdicts", name)
		}
		if name == "no swings" && len(got.Verdicts) != 0 {
			t.Errorf("%s: %d verdicts on cells without an event", name, len(got.Verdicts))
		}
	}
}

// TestSeasonsAreOneSet splits the same pitches over two seasons.
func TestSeasonsAreOneSet(t *testing.T) {
	l := smallLeague()
	eo, o := quick()
	a := locateAll(t, l.play(t), eo, o)
	n := 0
	l.edit = func(p *pitch.Pitch) {
		n++
		p.Season += int16(n % 2)
	}
	b := locateAll(t, l.play(t), eo, o)
	for i, v := range a.Verdicts {
		w := b.Verdicts[i]
		if v.Key != w.Key || v.Events != w.Events || v.Pitchers != w.Pitchers || math.Abs(v.Rate-w.Rate) > 1e-12 ||
			(v.Lambda != nil && *v.Lambda != *w.Lambda) || v.Batters != w.Batters {
			t.Fatalf("%+v: two seasons give %+v, one %+v", v.Key, w, v)
		}
	}
	for i, r := range a.Bins {
		if d := cmp.Diff(r, b.Bins[i], cmp.FilterPath(func(p cmp.Path) bool {
			return strings.HasPrefix(p.Last().String(), ".Boot")
		}, cmp.Ignore())); d != "" && math.Abs(*r.Rate-*b.Bins[i].Rate) > 1e-12 {
			t.Fatal(d)
		}
	}
}

// TestUnknownBatters falls back to pitchers alone and says so.
func TestUnknownBatters(t *testing.T) {
	l := smallLeague()
	l.unknownBatters = true
	eo, o := quick()
	got := locateAll(t, l.play(t), eo, o)
	v := verdictOf(t, got, key("left", "left", "four_seam", "velocity", "whiff_rate"), estimate.TypeMedian)
	if v.Batters != 0 || v.EffectiveBatters != nil || !slices.Contains(v.Warnings, WarnBatters) {
		t.Errorf("batters %d, warnings %v", v.Batters, v.Warnings)
	}
}

// TestVerdictOrder walks the order of the verdicts.
func TestVerdictOrder(t *testing.T) {
	for _, c := range []struct {
		e    evidence
		want string
	}{
		{evidence{line: true, always: 1, rejected: true, edges: 2}, TooFew},
		{evidence{testable: true, always: 1, rejected: true, edges: 2}, TooFew},
		{evidence{testable: true, line: true, always: 1, rejected: true, edges: 1}, AlwaysBeats},
		{evidence{testable: true, line: true, always: -1}, NeverBeats},
		{evidence{testable: true, line: true, always: -1, rejected: true}, NeverBeats},
		{evidence{testable: true, line: true, always: -1, rejected: true, edges: 1}, NeverBeats},
		{evidence{testable: true, line: true, rejected: true, edges: 1}, Found},
		{evidence{testable: true, line: true, rejected: true}, EdgeUnresolved},
		{evidence{testable: true, line: true, edges: 3}, Inconclusive},
		{evidence{testable: true, line: true}, Inconclusive},
	} {
		if got := c.e.verdict(); got != c.want {
			t.Errorf("%+v gives %s, want %s", c.e, got, c.want)
		}
	}
}

// TestEnoughFlips follows the rule 1/(R+1) ≤ q/(2m).
func TestEnoughFlips(t *testing.T) {
	o := DefaultOptions()
	for _, c := range []struct {
		tests, want int
		enough      bool
	}{{0, 9999, true}, {500, 9999, true}, {501, 99_999, true}, {5000, 99_999, true}, {5001, 999_999, true}, {50_001, 999_999, false}} {
		if got, enough := enoughFlips(c.tests, o); got != c.want || enough != c.enough {
			t.Errorf("%d tests: %d flips, enough %v, want %d, %v", c.tests, got, enough, c.want, c.enough)
		}
	}
}

// TestContrasts plants a difference between a pitcher's own hand and the other:
// the level contrast sees it, and mirrored cells that are alike show none.
func TestContrasts(t *testing.T) {
	l := smallLeague()
	l.pitchers, l.pitches = 80, 700
	l.whiff = func(h pitch.Hand, s pitch.Side, _ pitch.Type, x float64) float64 {
		at := 0.0
		if uint8(h) != uint8(s) {
			at = 2 // needs 2 mph more against the other side
		}
		return math.Log(.22/.78) + .35*(x-at)
	}
	eo, o := quick()
	got := locateAll(t, l.play(t), eo, o)
	seen := map[string]bool{}
	for _, c := range got.Contrasts {
		if c.Variable != "velocity" || c.Outcome != "whiff_rate" || c.TypeA != c.TypeB {
			continue
		}
		seen[c.Pair+" "+c.Kind] = true
		switch {
		case strings.HasSuffix(c.Pair, "same_opposite") && c.Kind == KindLevel:
			if c.Verdict != Differs || *c.Estimate < 0 && *c.X > 91 {
				t.Errorf("%s at %g: %s, estimate %g, q %g", c.Pair, *c.X, c.Verdict, *c.Estimate, *c.Q)
			}
		case strings.HasSuffix(c.Pair, "same_opposite") && c.Kind == KindBreakpoint && c.Verdict != NotEstimable:
			if !(*c.Estimate < 0) || c.Rho == nil || c.P == nil {
				t.Errorf("%s breakpoints: %+v", c.Pair, c)
			}
			if c.Lo != nil && c.Hi != nil && !(*c.Lo <= -2.2 && *c.Hi >= -1.8) && math.Abs(*c.Estimate+2) > 1.2 {
				t.Errorf("%s: breakpoints differ by %g (%g to %g), planted −2", c.Pair, *c.Estimate, *c.Lo, *c.Hi)
			}
		case strings.HasPrefix(c.Pair, "mirror") && c.Verdict == Differs:
			t.Errorf("%s %s: alike cells differ: %+v", c.Pair, c.Kind, c)
		}
	}
	for _, p := range matchPairs {
		for _, k := range []string{KindLevel, KindBreakpoint} {
			if !seen[p.name+" "+k] {
				t.Errorf("no %s contrast of %s", k, p.name)
			}
		}
	}
}

func TestValidate(t *testing.T) {
	if err := DefaultOptions().Validate(); err != nil {
		t.Error(err)
	}
	for name, change := range map[string]func(*Options){
		"flips":   func(o *Options) { o.Flips = 10 },
		"most":    func(o *Options) { o.MaxFlips = 100 },
		"rate":    func(o *Options) { o.Discovery = .7 },
		"points":  func(o *Options) { o.CurvePoints = 3 },
		"levels":  func(o *Options) { o.LevelPoints = 1 },
		"workers": func(o *Options) { o.Workers = -1 },
		"caveat":  func(o *Options) { o.Caveats = []Caveat{{}} },
	} {
		o := DefaultOptions()
		if change(&o); o.Validate() == nil {
			t.Errorf("%s: fault not reported", name)
		}
	}
}

// TestOnePForEveryLine: a curve is tested once, whatever the number of lines that it
// is held against. Its p and q are the same beside each of them, families count it
// once, and a further line changes no p and no q.
func TestOnePForEveryLine(t *testing.T) {
	l := smallLeague()
	l.variables = []string{"velocity"}
	counts := l.play(t)
	type test struct{ p, q float64 }
	run := func(fixed ...estimate.FixedLine) map[thresholds.Key]test {
		eo, o := quick()
		eo.Fixed, o.Contrasts = fixed, false
		e, err := estimate.New(t.Context(), counts, eo)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Locate(t.Context(), e, o)
		if err != nil {
			t.Fatal(err)
		}
		tests := map[thresholds.Key]test{}
		rows := 0
		for _, v := range single(got.Verdicts) {
			if v.P == nil || v.Q == nil {
				t.Fatalf("%+v is not tested: no test", v.Key)
			}
			own := test{*v.P, *v.Q}
			if before, ok := tests[v.Key]; ok && before != own {
				t.Errorf("%+v has p and q %v beside one line, %v beside another", v.Key, before, own)
			}
			tests[v.Key] = own
			rows++
		}
		if rows < 2*len(tests) {
			t.Fatalf("%d rows of %d curves: no test", rows, len(tests))
		}
		families, err := Stratifications(t.Context(), e, o)
		if err != nil {
			t.Fatal(err)
		}
		counted := 0
		for _, f := range families {
			counted += f.Tests
		}
		if counted != len(tests) {
			t.Errorf("the families hold %d tests of %d curves", counted, len(tests))
		}
		return tests
	}
	plain := run()
	more := run(estimate.FixedLine{PitchType: "slider", Outcome: "whiff_rate", Value: .22}, estimate.FixedLine{PitchType: "slider", Outcome: "woba_against", Value: .32})
	if d := cmp.Diff(plain, more, cmp.AllowUnexported(test{})); d != "" {
		t.Error("a further line changes p or q:", d)
	}
}
