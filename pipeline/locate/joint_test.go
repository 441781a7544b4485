package locate

import (
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
)

// TestJointZones intersects certain stretches: each that meets one of the other
// outcome counts, and a bin between two of them does not.
func TestJointZones(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	a, b := key("left", "left", "sinker", "velocity", "whiff_rate"), key("left", "left", "sinker", "velocity", "woba_against")
	fresh := func() *thresholds.Tables {
		return &thresholds.Tables{
			Verdicts: []thresholds.Verdict{
				{Key: a, Reference: estimate.TypeMedian, Headline: true, Verdict: Found, Q: f(.01), P: f(.01), Warnings: []string{WarnGap}},
				{Key: b, Reference: estimate.TypeMedian, Headline: true, Verdict: Found, Q: f(.04), P: f(.01), Warnings: []string{WarnThin}},
			},
			Zones: []thresholds.Zone{
				{Key: a, Reference: estimate.TypeMedian, Sign: 1, LowerKind: "edge", Lower: f(92), LowerLo: f(91), LowerHi: f(93), UpperKind: "open", Upper: f(98), PossibleLo: f(91),
					Certain: []thresholds.Span{{Lo: 93, Hi: 94}, {Lo: 95, Hi: 98}}, CertainLo: f(93), CertainHi: f(98)},
				{Key: b, Reference: estimate.TypeMedian, Sign: 1, LowerKind: "open", Lower: f(88), UpperKind: "edge", Upper: f(97), UpperLo: f(96), UpperHi: f(99), PossibleHi: f(99),
					Certain: []thresholds.Span{{Lo: 88, Hi: 93.5}, {Lo: 94.25, Hi: 96}}, CertainLo: f(88), CertainHi: f(96)},
				{Key: b, Reference: estimate.TypeMedian, Sign: -1, LowerKind: "edge", Lower: f(97), Certain: []thresholds.Span{{Lo: 99, Hi: 100}}, CertainLo: f(99), CertainHi: f(100)},
			},
			Bins: []thresholds.Bin{{Key: a, Mean: f(91.5), Events: 100}, {Key: a, Mean: f(92.5), Events: 250}, {Key: a, Mean: f(93.25), Events: 75}, {Key: a, Mean: f(94.5), Events: 50}, {Key: a, Mean: f(95.5), Events: 25}},
		}
	}
	tables := fresh()
	addJoint(tables)
	v, z := tables.Verdicts[2], tables.Zones[3]
	if v.Outcome != Joint || v.Verdict != Found || *v.Q != .04 || v.P != nil || v.Line != nil || len(v.Warnings) != 2 {
		t.Errorf("joint verdict %+v", v)
	}
	if len(tables.Zones) != 5 || z.Outcome != Joint || *z.CertainLo != 93 || *z.CertainHi != 96 || *z.PossibleLo != 91 || *z.PossibleHi != 99 ||
		z.LowerKind != "edge" || z.UpperKind != "edge" || z.EventShare != .8 ||
		!slices.Equal(z.Certain, []thresholds.Span{{Lo: 93, Hi: 93.5}, {Lo: 95, Hi: 96}}) {
		t.Errorf("joint zone %+v", z)
	}
	// Above the zone wOBA-against certainly falls behind: from its edge, which is the zone's.
	if gap := tables.Zones[4]; gap.Sign != -1 || gap.Zone != 2 || gap.LowerKind != "edge" || *gap.Lower != 97 || *gap.LowerHi != 99 ||
		gap.UpperKind != "open" || *gap.Upper != 100 || !slices.Equal(gap.Certain, []thresholds.Span{{Lo: 99, Hi: 100}}) {
		t.Errorf("gap %+v", gap)
	}
	view := headline(tables)
	if len(view) != 3 || view[2].Outcome != Joint || *view[2].Q != .04 || *view[2].Upper != 97 {
		t.Errorf("headline view %+v", view)
	}
	for name, c := range map[string]struct {
		change func(*thresholds.Tables)
		want   string
		zones  int
		q      float64
	}{
		"certain of one, then of the other": {func(t *thresholds.Tables) {
			t.Zones[1].Certain = []thresholds.Span{{Lo: 88, Hi: 93}, {Lo: 94, Hi: 95}} // touches, and lies between
		}, EdgeUnresolved, 0, .04},
		"one has no edge":        {func(t *thresholds.Tables) { t.Verdicts[1].Verdict = EdgeUnresolved }, EdgeUnresolved, 0, .04},
		"one is not shown":       {func(t *thresholds.Tables) { t.Verdicts[0].Verdict = Inconclusive }, Inconclusive, 0, .04},
		"the other is not shown": {func(t *thresholds.Tables) { t.Verdicts[1].Verdict = Inconclusive }, Inconclusive, 0, .04},
		"one never beats":        {func(t *thresholds.Tables) { t.Verdicts[0].Verdict = NeverBeats }, NeverBeats, 0, .04},
		"one is too small":       {func(t *thresholds.Tables) { t.Verdicts[0].Verdict = TooFew }, TooFew, 0, .04},
		"one always beats":       {func(t *thresholds.Tables) { t.Verdicts[1].Verdict, t.Zones = AlwaysBeats, t.Zones[:1] }, Found, 1, .01},
		"both, with exceptions":  {func(t *thresholds.Tables) { t.Verdicts[0].Verdict, t.Verdicts[1].Verdict = AlwaysBeats, AlwaysBeats }, AlwaysBeats, 2, .04},
	} {
		tables := fresh()
		c.change(tables)
		before := len(tables.Zones)
		addJoint(tables)
		if v := tables.Verdicts[2]; v.Verdict != c.want || len(tables.Zones)-before != c.zones || *v.Q != c.q {
			t.Errorf("%s: %s with %d zones, q %g", name, v.Verdict, len(tables.Zones)-before, *v.Q)
		}
	}
}

// TestJointEnds: of two breakpoints in one direction the joint one lies at the
// further, and its limits are the further of theirs; an open limit stays open where
// the joint one may lie there.
func TestJointEnds(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	edge := func(at float64, lo, hi *float64) end {
		return end{kind: thresholds.EndEdge, at: f(at), lo: lo, hi: hi, certain: f(at)}
	}
	open := end{kind: thresholds.EndOpen, at: f(80), certain: f(80)}
	for name, c := range map[string]struct {
		a, b, want end
		sign       float64
	}{
		"apart":            {edge(92, f(91), f(93)), edge(95, f(94), f(96)), edge(95, f(94), f(96)), 1},
		"one wide":         {edge(92, f(89), f(97)), edge(95, f(94), f(96)), edge(95, f(94), f(97)), 1},
		"upper ends":       {edge(92, f(89), f(97)), edge(95, f(88), f(96)), edge(92, f(88), f(96)), -1},
		"open above":       {edge(92, f(91), nil), edge(95, f(94), f(96)), edge(95, f(94), nil), 1},
		"open below":       {edge(92, nil, f(93)), edge(95, f(94), f(96)), edge(95, f(94), f(96)), 1},
		"open below, both": {edge(92, nil, f(93)), edge(95, nil, f(96)), edge(95, nil, f(96)), 1},
		"one has no end":   {open, edge(95, f(94), f(96)), edge(95, f(94), f(96)), 1},
	} {
		for _, got := range []end{binding(c.a, c.b, c.sign), binding(c.b, c.a, c.sign)} {
			if !equal(got.at, c.want.at) || !equal(got.lo, c.want.lo) || !equal(got.hi, c.want.hi) || got.kind != thresholds.EndEdge {
				t.Errorf("%s: %+v", name, got)
			}
		}
	}
}

func equal(a, b *float64) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }

// TestJointZonesWeak: a joint zone is weak where either of its zones is.
func TestJointZonesWeak(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	for _, c := range []struct{ whiff, woba, want bool }{{false, false, false}, {true, false, true}, {false, true, true}, {true, true, true}} {
		tables := &thresholds.Tables{}
		for m, weak := range []bool{c.whiff, c.woba} {
			k := key("left", "left", "sinker", "velocity", outcome.Metrics[m].Name)
			tables.Verdicts = append(tables.Verdicts, thresholds.Verdict{Key: k, Reference: estimate.TypeMedian, Headline: true, Verdict: Found, Q: f(.01)})
			tables.Zones = append(tables.Zones, thresholds.Zone{Key: k, Reference: estimate.TypeMedian, Sign: 1, LowerKind: "edge", Lower: f(92),
				UpperKind: "open", CertainLo: f(93 + float64(m)), CertainHi: f(98 - float64(m)),
				Certain: []thresholds.Span{{Lo: 93 + float64(m), Hi: 98 - float64(m)}}, Weak: weak})
		}
		addJoint(tables)
		if z := tables.Zones[len(tables.Zones)-1]; z.Outcome != Joint || z.Weak != c.want {
			t.Errorf("whiffs weak %v, wOBA weak %v: %s zone weak %v", c.whiff, c.woba, z.Outcome, z.Weak)
		}
	}
}

// single leaves out the verdicts on both outcomes at once.
func single(all []thresholds.Verdict) []thresholds.Verdict {
	return slices.DeleteFunc(slices.Clone(all), func(v thresholds.Verdict) bool { return v.Outcome == Joint })
}
