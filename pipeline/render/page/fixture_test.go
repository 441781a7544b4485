package page

import (
	"bytes"
	"math"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

func num(x float64) *float64 { return &x }

// nasty is a text that would break a page that did not escape it, turn the
// reading order of what follows, or push the page wide.
var nasty = `</style></script><script>alert(1)</script><img src=x onerror=alert(2)>"'&amp;` + "\u202e\u200f\n" +
	string(bytes.Repeat([]byte("Endless"), 1500))

// found is the fixture with a breakpoint in every cell.
func found() (*thresholds.Tables, thresholds.Manifest) {
	return invented([]string{"found", "found", "found", "found", "found", "found"})
}

// fixture is an invented version: two pitch types, two qualities, two outcomes,
// every verdict, and a height at the plate of the first pitch type, among whose
// rows its own stand.
func fixture() (*thresholds.Tables, thresholds.Manifest) {
	return invented([]string{"found", "edge_unresolved", "always_beats", "never_beats", "inconclusive", "too_few"})
}

// invented is a version with these verdicts by turns.
func invented(words []string) (*thresholds.Tables, thresholds.Manifest) {
	t := &thresholds.Tables{}
	n := 0
	add := func(k thresholds.Key, word string) {
		n++
		v := thresholds.Verdict{Key: k, Reference: thresholds.HeadlineReference, Headline: true, Unit: "mph", Verdict: word, Trend: "rising",
			Pitches: 8412, Events: 3911, Pitchers: 54, Line: num(.22), LineLo: num(.21), LineHi: num(.232), Warnings: []string{"comb"}}
		if word == "too_few" {
			v.Settle = "needs 12 pitchers (has 3)"
		}
		other := v
		other.Reference = "pitch_type_rate"
		t.Verdicts = append(t.Verdicts, v, other)
		rising := func(x float64) float64 { return .16 + .12/(1+math.Exp(-(x-93.2)/1.3)) }
		for x := 88.25; x <= 97.5 && word != "too_few"; x += .25 {
			t.Curves = append(t.Curves, thresholds.CurvePoint{Key: k, Reference: thresholds.HeadlineReference, X: x, Rate: rising(x), Lo: rising(x) - .02, Hi: rising(x) + .02})
		}
		for lower := 88.0; lower < 98; lower++ {
			y := rising(lower+.45) + .01*math.Sin(3*lower+float64(n))
			b := thresholds.Bin{Key: k, Kind: "regular", Lower: num(lower), Upper: num(lower + 1), Mean: num(lower + .45), Rate: num(y), Lo: num(y - .03), Hi: num(y + .03),
				Pitches: int64(2000-70*(lower-93)*(lower-93)) + int64(n), Events: int64(1000 - 35*(lower-93)*(lower-93))}
			switch lower {
			case 88:
				b.Kind, b.Lower = "open_low", nil
			case 97:
				b.Kind, b.Upper = "open_high", nil
			case 90:
				b.Thin, b.Rate, b.Lo, b.Hi = true, nil, nil, nil
			}
			t.Bins = append(t.Bins, b)
		}
		t.Bins = append(t.Bins, thresholds.Bin{Key: k, Kind: "missing", Pitches: 12})
		if word != "found" {
			return
		}
		behind := thresholds.Zone{Key: k, Reference: thresholds.HeadlineReference, Zone: 1, Sign: -1, LowerKind: "open", UpperKind: "edge",
			Upper: num(93.2), UpperLo: num(92.6), UpperHi: num(93.9), Certain: []thresholds.Span{{Lo: 88.25, Hi: 92.6}}, PossibleHi: num(93.9)}
		ahead := thresholds.Zone{Key: k, Reference: thresholds.HeadlineReference, Zone: 2, Sign: 1, LowerKind: "edge", UpperKind: "open",
			Lower: num(93.2), LowerLo: num(92.6), LowerHi: num(93.9), Certain: []thresholds.Span{{Lo: 93.9, Hi: 97.5}}, PossibleLo: num(92.6)}
		if n%3 == 0 { // a limit that is not pinned
			ahead.LowerHi, behind.UpperHi, ahead.Certain = nil, nil, nil
		}
		for _, z := range []thresholds.Zone{behind, ahead} {
			if n := len(z.Certain); n > 0 {
				z.CertainLo, z.CertainHi = num(z.Certain[0].Lo), num(z.Certain[n-1].Hi)
			}
			t.Zones = append(t.Zones, z)
		}
	}
	for i, s := range []subject{
		{"four_seam", "velocity", "whiff_rate"}, {"four_seam", "velocity", "woba_against"}, {"four_seam", "extension", "whiff_rate"},
		{"slider", "velocity", "whiff_rate"}, {"slider", "extension", "woba_against"}, {"slider", "plate_side", "whiff_rate"},
	} {
		for j, m := range pitch.Matchups {
			word := words[(i+i/3+j)%len(words)]
			if s.pitchType == "slider" && s.variable == "extension" { // nothing shown in any
				word = words[4+j%2]
			}
			k := thresholds.Key{Hand: m.Hand.String(), Side: m.Side.String(), PitchType: s.pitchType, Variable: s.variable, Outcome: s.outcome}
			add(k, word)
			if i == 0 {
				k.Stratum = "fastball_height_third:upper"
				add(k, words[(3+j)%len(words)])
			}
		}
	}
	both(t)
	for _, v := range t.Verdicts {
		if v.Stratum == "" && v.Reference == thresholds.HeadlineReference && v.Verdict != "too_few" && v.Outcome != thresholds.Joint {
			t.Slopes = append(t.Slopes, thresholds.Slope{Key: v.Key, Within: num(.027), WithinLo: num(.015), WithinHi: num(.039),
				Between: num(.033), BetweenLo: num(.026), BetweenHi: num(.041), Shown: "both"})
		}
	}
	for _, verdict := range []string{"differs", "not_shown_to_differ", "not_estimable"} {
		c := thresholds.Contrast{Kind: "breakpoint", Pair: "left_same_opposite", HandA: "left", SideA: "left", TypeA: "four_seam", HandB: "left", SideB: "right",
			TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", Reference: thresholds.HeadlineReference, Verdict: verdict}
		if verdict != "not_estimable" {
			c.Estimate, c.Lo, c.Hi = num(-1.2), num(-2), num(-.4)
		}
		t.Contrasts = append(t.Contrasts, c)
	}
	for x := 90.0; x < 94; x++ {
		t.Contrasts = append(t.Contrasts, thresholds.Contrast{Kind: "level", Pair: "left_same_opposite", HandA: "left", SideA: "left", TypeA: "four_seam",
			HandB: "left", SideB: "right", TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", X: num(x), Estimate: num(.01), Verdict: "differs"})
	}
	for i, verdict := range []string{"splits", "travels", "cannot_tell"} {
		c := thresholds.Contrast{Kind: "platoon", Pair: "left_same_opposite", HandA: "left", SideA: "left", TypeA: "four_seam", HandB: "left", SideB: "right",
			TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", Verdict: verdict, Estimate: num(.047), Lo: num(.024), Hi: num(.07)}
		t.Contrasts = append(t.Contrasts, c)
		for k := range 3 {
			c.X, c.Estimate, c.Lo, c.Hi = num(90.9+float64(2*k+i)), num(.02*float64(k-1)), num(.02*float64(k-2)), num(.02*float64(k))
			t.Contrasts = append(t.Contrasts, c)
		}
	}
	for i, x := range []float64{.0004, -.024, .031} {
		r := thresholds.Opponent{Hand: "left", Side: "right", PitchType: "slider", Outcome: "woba_against", Events: 2213, Pitchers: 41, Batters: 190, Rate: .31,
			League: .322, Difference: num(x), DifferenceLo: num(x - .006), DifferenceHi: num(x + .006), Adjusted: num(.31 - x), Clear: i > 0}
		t.Opponents = append(t.Opponents, r)
	}
	bin := t.Opponents[len(t.Opponents)-1] // one of a quality's, which the page does not tell
	bin.Variable, bin.Lower, bin.Upper = "velocity", num(84), num(85)
	t.Opponents = append(t.Opponents, bin)
	t.Opponents = append(t.Opponents, thresholds.Opponent{Hand: "right", Side: "right", PitchType: "slider", Outcome: "whiff_rate", Events: 9})
	t.References = append(t.References, thresholds.Reference{PitchType: "four_seam", Outcome: "whiff_rate", Reference: thresholds.HeadlineReference,
		Value: num(.22), Lo: num(.21), Hi: num(.232), Qualified: 212, RateMinusMedian: num(.004)})
	return t, thresholds.Manifest{Name: "harbour", Version: "v1.1.0", Parent: "v1.0.0", Algorithm: "1", Seed: 1, Replicates: 2000,
		Families: []thresholds.Tested{{Name: "headline", Tests: 16, Flips: 9999, Families: 4, Selected: 2}},
		Created:  "2031-11-01T12:00:00Z", Host: "clubhouse", Rows: thresholds.Rows{FirstDay: "2031-04-02", LastDay: "2031-10-12"},
		Variables: []thresholds.Variable{{Name: "velocity", Title: "velocity", Unit: "mph", Width: 1}, {Name: "extension", Title: "extension", Unit: "ft", Width: .2},
			{Name: "plate_side", Title: "plate side", Unit: "ft", Width: .2}}}
}

// both adds verdicts on both outcomes of the four-seam's velocity at once, two of them
// with a zone.
func both(t *thresholds.Tables) {
	for i, v := range t.Verdicts {
		if v.PitchType != "four_seam" || v.Variable != "velocity" || v.Outcome != "whiff_rate" || v.Stratum != "" {
			continue
		}
		v.Outcome, v.Line, v.LineLo, v.LineHi, v.Verdict = thresholds.Joint, nil, nil, nil, "edge_unresolved"
		if i < 4 {
			v.Verdict, v.Warnings = "found", []string{"comb", "one_pitcher"}
			t.Zones = append(t.Zones, thresholds.Zone{Key: v.Key, Reference: v.Reference, Zone: 1, Sign: 1, LowerKind: "edge", UpperKind: "unresolved",
				Lower: num(93.6), LowerLo: num(92.9), LowerHi: num(94.1), Upper: num(97), Certain: []thresholds.Span{{Lo: 94.1, Hi: 97}},
				CertainLo: num(94.1), CertainHi: num(97), PossibleLo: num(92.9)})
		}
		t.Verdicts = append(t.Verdicts, v)
	}
}

const qualityJSON = `{"rows":{"rows_read":12345,"rows_used":12000,"rows_rejected":45,"rules":[{"code":"conflict","effect":"rejected","meaning":"two rows differ","rows":45}]},
"warnings":[{"code":"column_absent","detail":"arm_angle is missing"}],"variables":[{"variable":"velocity","definition":"velocity/release/mph","origin":"provider"}],"pitchers":420,"batters":224,"games":1696}`

const changesJSON = `{"summary":"One breakpoint moved.","from":{"version":"v1.0.0"},"rows":[{"kind":"threshold","hand":"left","side":"left","pitch_type":"four_seam","stratum":"",
"variable":"velocity","outcome":"whiff_rate","reference":"pitch_type_median","edge":"from","change":"moved","to":93.2,"difference":0.8,"difference_lo":0.2,"difference_hi":1.4}]}`

// written is the page of a version.
func written(t testing.TB, tables *thresholds.Tables, m thresholds.Manifest) []byte {
	t.Helper()
	var b bytes.Buffer
	err := Write(&b, tables, m, []byte(qualityJSON), Options{Base: "../harbour/v1.1.0/", Changes: []byte(changesJSON), Caveats: []Word{{"comb", "bins hold different numbers of steps"}}})
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// hostile is the fixture with a nasty text wherever one may come from outside.
func hostile() (*thresholds.Tables, thresholds.Manifest) {
	t, m := fixture()
	m.Name, m.Version, m.Notes = nasty, nasty, []string{nasty}
	m.Variables[0].Title, m.Variables[1].Unit = nasty, nasty
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		v.Settle, v.Warnings, v.Unit = nasty, []string{nasty}, nasty
		if v.Stratum != "" {
			v.Stratum = nasty
		}
		if v.PitchType == "slider" {
			v.PitchType = nasty
		}
		if v.Variable == "extension" {
			v.Variable, v.Outcome, v.Verdict = nasty, nasty, nasty
		}
	}
	for i := range t.Slopes {
		t.Slopes[i].Shown = nasty
	}
	t.Contrasts[0].Variable, t.Contrasts[1].TypeA, t.Contrasts[1].TypeB, t.Contrasts[3].Pair = nasty, nasty, nasty, nasty
	for i := range t.Contrasts {
		if c := &t.Contrasts[i]; c.Kind == "platoon" {
			c.TypeA, c.TypeB, c.HandA, c.Outcome = nasty, nasty, nasty, nasty
		}
	}
	t.Opponents[1].PitchType, t.Opponents[1].Outcome, t.Opponents[1].Hand = nasty, nasty, nasty
	t.References[0].PitchType, t.References[0].Reference = nasty, nasty
	return t, m
}
