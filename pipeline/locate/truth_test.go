package locate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// TestSliversAreShown plants a cell far above the line with a bad stretch at
// the fast end: with 3 % of the events there the verdict is always, with 8 % the
// bad stretch reaches into the central nine tenths; its zone is published
// either way.
func TestSliversAreShown(t *testing.T) {
	eo, o := quick()
	for _, c := range []struct {
		share, from float64 // of the cell's events; quantile of a normal with SD √5
	}{{.03, 1.881}, {.08, 1.405}} {
		l := smallLeague()
		l.types, l.variables = []pitch.Type{pitch.FourSeam}, []string{"velocity"}
		l.pitchers, l.pitches = 150, 800
		cut := c.from * math.Sqrt(5)
		l.whiff = func(h pitch.Hand, s pitch.Side, _ pitch.Type, x float64) float64 {
			switch {
			case h != pitch.LeftHand || s != pitch.LeftSide:
				return math.Log(.2 / .8)
			case x < cut:
				return math.Log(.4 / .6)
			}
			return math.Log(.02 / .98)
		}
		got := locateAll(t, l.play(t), eo, o)
		k := key("left", "left", "four_seam", "velocity", "whiff_rate")
		v := verdictOf(t, got, k, estimate.TypeMedian)
		zones := zonesOf(got, k, estimate.TypeMedian)
		if len(zones) == 0 {
			t.Errorf("share %g: no zones, verdict %s", c.share, v.Verdict)
			continue
		}
		last := zones[len(zones)-1]
		if last.Sign != -1 || last.LowerKind != "edge" || math.Abs(*last.Lower-meanVelocity-cut) > 1 {
			t.Errorf("share %g: last zone %+v", c.share, last)
		}
		wantAlways := c.share < .05
		if (v.Verdict == AlwaysBeats) != wantAlways || slices.Contains(v.Warnings, WarnExceptions) != wantAlways || v.Everywhere {
			t.Errorf("share %g: verdict %s, everywhere %v, warnings %v", c.share, v.Verdict, v.Everywhere, v.Warnings)
		}
		if !wantAlways && v.Verdict != Found {
			t.Errorf("share %g: verdict %s, want found", c.share, v.Verdict)
		}
		if v.LevelVerdict != Above {
			t.Errorf("share %g: level %s, want above", c.share, v.LevelVerdict)
		}
	}
}

// TestStrongCellAmongNulls finds one cell at the smallest p that the flips allow
// among 5,000 flat ones in ten families.
func TestStrongCellAmongNulls(t *testing.T) {
	o := DefaultOptions()
	rng := rand.New(rand.NewPCG(5, 6))
	const families, nulls = 10, 500
	flips, enough := enoughFlips(families*(nulls+1), o)
	if !enough {
		t.Fatal("not enough flips")
	}
	f := &flatness{p: make([][]float64, families)}
	groups := make([]group, families)
	for i := range groups {
		groups[i].variable = i
		f.p[i] = make([]float64, nulls)
		for k := range f.p[i] {
			f.p[i][k] = float64(1+rng.IntN(flips+1)) / float64(flips+1)
		}
	}
	f.p[3] = append([]float64{math.NaN(), 1 / float64(flips+1)}, f.p[3]...)
	f.control(groups, o.Discovery)
	if !(f.q[3][1] <= o.Discovery) || !math.IsNaN(f.q[3][0]) {
		t.Errorf("q %v, want the second found and the first untested", f.q[3][:2])
	}
	// with the first flips alone it would be lost
	f.p[3][1] = 1 / float64(o.Flips+1)
	f.control(groups, o.Discovery)
	if f.q[3][1] <= o.Discovery {
		t.Error("the first flips alone would have done: the test shows nothing")
	}
}

// TestFamilies: a variable that tells nothing gains nothing from one that does; the
// values of a split make up one family for each variable and outcome; and neither
// the headline nor a split depends on what else is tested.
func TestFamilies(t *testing.T) {
	const none = -1
	headline := []group{{"", 0, 0}, {"", 1, 0}, {"", 2, 0}}
	live, dead, empty := []float64{.001, .001, math.NaN(), .002}, []float64{.04, .5, .9}, []float64{math.NaN()}
	run := func(groups []group, p ...[]float64) *flatness {
		f := &flatness{p: p}
		f.control(groups, .10)
		return f
	}
	a := run(headline, live, dead, empty)
	for i, want := range [][]float64{{.003, .003, none, .004}, {.24, 1, 1}, {none}} {
		for k, q := range a.q[i] {
			if want[k] == none != math.IsNaN(q) || math.Abs(q-want[k]) > 1e-12 && want[k] != none {
				t.Errorf("q %v, want %v", a.q[i], want)
				break
			}
		}
	}
	// Benjamini-Hochberg over all would reject .04: 6·.04/4 = .06. One more family
	// would be selected, so a lone p counts up to .10·2/(2·3).
	if math.Abs(a.familyQ[1]-.12) > 1e-12 || math.Abs(a.alpha[1]-.1/3) > 1e-12 || !math.IsNaN(a.familyQ[2]) {
		t.Errorf("q of the families %v, limits %v", a.familyQ, a.alpha)
	}
	split := []group{{"half:even", 0, 0}, {"half:even", 1, 0}, {"half:odd", 0, 0}, {"half:odd", 1, 0}}
	b := run(append(slices.Clone(headline), split...), live, dead, empty, []float64{.03}, []float64{.9}, []float64{.04}, []float64{.8})
	for i := range headline {
		if !slices.EqualFunc(a.q[i], b.q[i], func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) }) || a.alpha[i] != b.alpha[i] && i < 2 {
			t.Errorf("with a split q %v, without %v", b.q[i], a.q[i])
		}
	}
	if c := run(split, b.p[3:]...); !slices.Equal(slices.Concat(c.q...), slices.Concat(b.q[3:]...)) {
		t.Errorf("the split alone: q %v, beside the headline %v", c.q, b.q[3:])
	}
	// .03 and .04 are one family: .04 inside, .08 of two families
	if math.Abs(b.q[3][0]-.08) > 1e-12 || math.Abs(b.q[5][0]-.08) > 1e-12 || b.familyQ[3] != b.familyQ[5] {
		t.Errorf("q of the split %v", b.q[3:])
	}
}

// TestVerdictsTellTheirFamily: every tested row carries the q of its family, which
// its own is never below, and the families that are selected are counted.
func TestVerdictsTellTheirFamily(t *testing.T) {
	l := smallLeague()
	rng := rand.New(rand.NewPCG(7, 8))
	l.variables = []string{"velocity", "spin_rate"}
	l.edit = func(p *pitch.Pitch) { p.Num[pitch.SpinRate] = 2200 + 100*rng.NormFloat64() } // tells nothing
	eo, o := quick()
	e, err := estimate.New(t.Context(), l.play(t), eo)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Locate(t.Context(), e, o)
	if err != nil {
		t.Fatal(err)
	}
	selected := map[[2]string]bool{}
	for _, v := range single(got.Verdicts) {
		if (v.Q == nil) != (v.FamilyQ == nil) || v.Q != nil && *v.Q < *v.FamilyQ {
			t.Fatalf("%+v: q %v, of the family %v", v.Key, v.Q, v.FamilyQ)
		}
		if v.Q != nil && *v.Q <= o.Discovery {
			selected[[2]string{v.Variable, v.Outcome}] = true // a selected family rejects something
		}
	}
	if !selected[[2]string{"velocity", "whiff_rate"}] || selected[[2]string{"spin_rate", "whiff_rate"}] {
		t.Errorf("selected: %v", selected)
	}
	few := o
	few.Flips, few.MaxFlips = 19, 1_999
	all, err := Stratifications(t.Context(), e, few)
	if err != nil {
		t.Fatal(err)
	}
	// one test in its family of 8, and no other family: 1/(R+1) ≤ .10/(2·4·8)
	if len(all) != 1 || all[0].Families != 4 || all[0].Tests != 4*8 || all[0].Flips != 1_999 || !all[0].Enough || Selected(got.Verdicts, o)[""] != len(selected) {
		t.Errorf("%+v, %d selected, want %d", all, Selected(got.Verdicts, o)[""], len(selected))
	}
}

// TestFixedLine compares with a given line, which has no error.
func TestFixedLine(t *testing.T) {
	l := smallLeague()
	l.variables = []string{"velocity"}
	eo, o := quick()
	eo.Fixed = []estimate.FixedLine{{PitchType: "slider", Outcome: "whiff_rate", Value: .22}, {PitchType: "four_seam", Outcome: "whiff_rate", Value: .01},
		{PitchType: "slider", Outcome: "woba_against", Value: 1.5}, {PitchType: "four_seam", Outcome: "woba_against", Value: .01}}
	got := locateAll(t, l.play(t), eo, o)
	v := verdictOf(t, got, key("right", "left", "slider", "velocity", "whiff_rate"), estimate.Fixed)
	if v.Verdict != Found || *v.Line != .22 || v.LineLo != nil || v.Headline {
		t.Errorf("%+v", v)
	}
	v = verdictOf(t, got, key("right", "left", "four_seam", "velocity", "whiff_rate"), estimate.Fixed)
	if v.Verdict != AlwaysBeats || v.LevelVerdict != Above {
		t.Errorf("verdict %s, level %s against a line at .01", v.Verdict, v.LevelVerdict)
	}
	// less wOBA is better: a low line is never beaten, a high one always
	v = verdictOf(t, got, key("right", "left", "four_seam", "velocity", "woba_against"), estimate.Fixed)
	if v.Verdict != NeverBeats || v.LevelVerdict != Below || !v.Everywhere {
		t.Errorf("verdict %s, level %s, everywhere %v against wOBA of .01", v.Verdict, v.LevelVerdict, v.Everywhere)
	}
	v = verdictOf(t, got, key("right", "left", "slider", "velocity", "woba_against"), estimate.Fixed)
	if v.Verdict != AlwaysBeats || v.LevelVerdict != Above || !v.Everywhere {
		t.Errorf("verdict %s, level %s, everywhere %v against wOBA of 1.5", v.Verdict, v.LevelVerdict, v.Everywhere)
	}
	for _, r := range got.References {
		if r.Reference == estimate.Fixed && (r.Lo != nil || *r.Value <= 0) {
			t.Errorf("%+v", r)
		}
	}
}

// TestBatterVariance widens the curve where batters differ and hardly where
// they do not.
func TestBatterVariance(t *testing.T) {
	eo, o := quick()
	widths := func(spread float64, batters bool) (out []float64) {
		l := smallLeague()
		l.variables, l.spread, l.batters, l.pitches = []string{"velocity"}, spread, 25, 800
		eo.Batters = batters
		for _, p := range locateAll(t, l.play(t), eo, o).Curves {
			if p.Reference == estimate.TypeMedian && p.Outcome == "whiff_rate" {
				out = append(out, p.Hi-p.Lo)
			}
		}
		return out
	}
	ratio := func(spread float64) float64 {
		two, one := widths(spread, true), widths(spread, false)
		r := make([]float64, len(two))
		for i := range r {
			r[i] = two[i] / one[i]
		}
		slices.Sort(r)
		return r[len(r)/2]
	}
	if r := ratio(0); r < .99 || r > 1.1 {
		t.Errorf("limits with batters are %.3f as wide where batters are alike", r)
	}
	if r := ratio(.6); r < 1.15 {
		t.Errorf("limits with batters are only %.3f as wide where batters differ", r)
	}
}

// TestZoneRows checks a drawn band: a zone between two breakpoints, its limits in
// order, the breakpoints at m ± δ on their sides.
func TestZoneRows(t *testing.T) {
	l := smallLeague()
	l.types, l.variables = []pitch.Type{pitch.FourSeam}, []string{"velocity"}
	l.pitchers, l.pitches = 120, 900
	l.whiff = func(_ pitch.Hand, _ pitch.Side, _ pitch.Type, x float64) float64 {
		return math.Log(.3/.7) - .12*x*x
	}
	eo, o := quick()
	got := locateAll(t, l.play(t), eo, o)
	var band *thresholds.Zone
	for _, z := range zonesOf(got, key("right", "right", "four_seam", "velocity", "whiff_rate"), estimate.TypeRate) {
		if z.Sign > 0 {
			band = &z
		}
	}
	if band == nil || band.LowerKind != "edge" || band.UpperKind != "edge" {
		t.Fatalf("no band: %+v", band)
	}
	if !(*band.Lower < meanVelocity && *band.Upper > meanVelocity) {
		t.Errorf("band from %g to %g", *band.Lower, *band.Upper)
	}
	// a higher line leaves a narrower band
	if !(*band.LowerMinus < *band.Lower && *band.Lower < *band.LowerPlus && *band.UpperPlus < *band.Upper && *band.Upper < *band.UpperMinus) {
		t.Errorf("breakpoints at m ± δ out of order: %+v", band)
	}
	// certain between the limits of both breakpoints alone, and most of the way
	if n := len(band.Certain); n == 0 || *band.CertainLo != band.Certain[0].Lo || *band.CertainHi != band.Certain[n-1].Hi ||
		band.Certain[0].Lo < *band.LowerHi || band.Certain[n-1].Hi > *band.UpperLo || *band.PossibleLo != *band.LowerLo || *band.PossibleHi != *band.UpperHi {
		t.Fatalf("certain or possible zone: %+v", band)
	}
	length := 0.
	for i, s := range band.Certain {
		if s.Lo >= s.Hi || i > 0 && s.Lo <= band.Certain[i-1].Hi {
			t.Errorf("stretches %v", band.Certain)
		}
		length += s.Hi - s.Lo
	}
	if length < .5*(*band.UpperLo-*band.LowerHi) {
		t.Errorf("certain along %.2f mph between %.2f and %.2f", length, *band.LowerHi, *band.UpperLo)
	}
	if band.EventShare < .3 || band.EventShare > .9 || *band.Support < .8 {
		t.Errorf("share %g, support %g", band.EventShare, *band.Support)
	}
	if v := verdictOf(t, got, band.Key, estimate.TypeRate); v.Trend != Turning && v.Trend != Flat {
		t.Errorf("trend %s", v.Trend)
	}
}

// TestEdgesAtDelta holds the breakpoints at m − δ and m + δ against what their name
// says: the published curve has a rate of the published line less δ there, or plus
// δ, whether more of the outcome is better or less. δ is .020 of whiff rate and .015
// of wOBA (common practice, no source).
func TestEdgesAtDelta(t *testing.T) {
	l := smallLeague()
	l.types, l.variables = []pitch.Type{pitch.FourSeam}, []string{"velocity"}
	l.pitchers, l.pitches = 80, 900
	l.whiff = func(_ pitch.Hand, _ pitch.Side, _ pitch.Type, x float64) float64 {
		return math.Log(.3/.7) - .12*x*x
	}
	rng := rand.New(rand.NewPCG(8, 8))
	l.edit = func(p *pitch.Pitch) { // hits are fewest at the mean velocity
		if x := p.Num[pitch.Velocity] - meanVelocity; p.Outcome == pitch.InPlay {
			if p.Result = pitch.Out; rng.Float64() < 1/(1+math.Exp(1.5-.2*x*x)) {
				p.Result = pitch.Double
			}
		}
	}
	eo, o := quick()
	o.Contrasts = false
	got := locateAll(t, l.play(t), eo, o)
	rate := func(z *thresholds.Zone, x float64) float64 {
		var a *thresholds.CurvePoint
		for i := range got.Curves {
			b := &got.Curves[i]
			if b.Key != z.Key || b.Reference != z.Reference {
				continue
			}
			if a != nil && a.X <= x && x <= b.X {
				return a.Rate + (b.Rate-a.Rate)*(x-a.X)/(b.X-a.X)
			}
			a = b
		}
		return math.NaN()
	}
	delta := map[string]float64{"whiff_rate": .020, "woba_against": .015}
	compared := map[string]int{}
	for i := range got.Zones {
		z := &got.Zones[i]
		if z.Reference != estimate.TypeMedian && z.Reference != estimate.TypeRate || delta[z.Outcome] == 0 {
			continue
		}
		line := *verdictOf(t, got, z.Key, z.Reference).Line
		for _, e := range []struct {
			name string
			at   *float64
			by   float64
		}{{"lower", z.Lower, 0}, {"lower_minus", z.LowerMinus, -1}, {"lower_plus", z.LowerPlus, 1},
			{"upper", z.Upper, 0}, {"upper_minus", z.UpperMinus, -1}, {"upper_plus", z.UpperPlus, 1}} {
			if e.at == nil || e.name == "lower" && z.LowerKind != "edge" || e.name == "upper" && z.UpperKind != "edge" {
				continue
			}
			compared[z.Outcome+" "+e.name]++
			if at, want := rate(z, *e.at), line+e.by*delta[z.Outcome]; !(math.Abs(at-want) < 1e-9) {
				t.Errorf("%+v against %s: the rate at %s, %.3f, is %.6f, want %.6f", z.Key, z.Reference, e.name, *e.at, at, want)
			}
		}
	}
	for m := range delta {
		for _, name := range []string{"lower", "lower_minus", "lower_plus", "upper", "upper_minus", "upper_plus"} {
			if compared[m+" "+name] == 0 {
				t.Errorf("no %s of %s: no test", name, m)
			}
		}
	}
}
