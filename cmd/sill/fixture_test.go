package main

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// The fixture is a small invented version with every verdict in it: what the
// reading commands print is held against golden files.

func num(x float64) *float64 { return &x }

// fixtureKey is a key of the fixture.
func fixtureKey(hand, side, typ, variable, outcome string) thresholds.Key {
	return thresholds.Key{Hand: hand, Side: side, PitchType: typ, Variable: variable, Outcome: outcome}
}

// fixture returns the tables of the invented version.
func fixture() *thresholds.Tables {
	t := &thresholds.Tables{}
	verdict := func(k thresholds.Key, unit, word string, change func(*thresholds.Verdict)) {
		v := thresholds.Verdict{Key: k, Reference: defaultReference, Headline: true, Unit: unit, Pitches: 8412, Known: 8400,
			Events: 3911, Pitchers: 54, EffectivePitchers: 31.4, Batters: 288, EffectiveBatters: num(201.7), LargestShare: .062,
			SD: num(1.94), ThinBins: 1,
			Qualified: 212, Rate: .243, Line: num(.221), LineLo: num(.214), LineHi: num(.228),
			Level: num(.022), LevelLo: num(.008), LevelHi: num(.036), LevelVerdict: "above",
			P: num(.0004), Q: num(.0021), FamilyQ: num(.0008), Verdict: word, Trend: "rising",
			Lambda: num(1000), LambdaLo: num(31.6), LambdaHi: num(1e5), Warnings: []string{}}
		if change != nil {
			change(&v)
		}
		t.Verdicts = append(t.Verdicts, v)
	}
	zone := func(z thresholds.Zone, certain ...thresholds.Span) {
		z.Reference, z.Certain = defaultReference, certain
		z.CertainLo, z.CertainHi = num(certain[0].Lo), num(certain[len(certain)-1].Hi)
		t.Zones = append(t.Zones, z)
	}
	fast := func(hand, side string) thresholds.Key {
		return fixtureKey(hand, side, "four_seam", "velocity", "whiff_rate")
	}
	// velocity: a plain edge, one that is weak and open, never, too few
	verdict(fast("left", "left"), "mph", "found", nil)
	zone(thresholds.Zone{Key: fast("left", "left"), Zone: 1, Sign: -1, LowerKind: "open", UpperKind: "edge", Upper: num(93.21),
		UpperLo: num(92.6), UpperHi: num(93.9), PossibleHi: num(93.9), EventShare: .62,
		UpperLargestShare: num(.118), UpperWithoutOne: num(93.02)}, thresholds.Span{Lo: 88.4, Hi: 92.5})
	zone(thresholds.Zone{Key: fast("left", "left"), Zone: 2, Sign: 1, LowerKind: "edge", Lower: num(93.21), LowerLo: num(92.6),
		LowerHi: num(93.9), UpperKind: "open", PossibleLo: num(92.6), LowerMinus: num(92.1), LowerPlus: num(94.4),
		BeyondLower: "keeps_rising", EventShare: .38, Support: num(.97), LowerLargestShare: num(.118), LowerWithoutOne: num(93.02)}, thresholds.Span{Lo: 94.5, Hi: 95.5}, thresholds.Span{Lo: 96.5, Hi: 97.4})
	verdict(fast("left", "right"), "mph", "found", func(v *thresholds.Verdict) {
		v.Warnings = []string{"weak", "dominated", "one_pitcher"}
		v.Rate, v.LevelVerdict = .209, "below"
	})
	zone(thresholds.Zone{Key: fast("left", "right"), Zone: 1, Sign: 1, LowerKind: "edge", Lower: num(94.8), LowerHi: num(95.9),
		UpperKind: "unresolved", Upper: num(97.5), Weak: true, EventShare: .2, LowerLargestShare: num(.41)}, thresholds.Span{Lo: 96.4, Hi: 97.4})
	verdict(fast("right", "left"), "mph", "never_beats", func(v *thresholds.Verdict) { v.Rate, v.LevelVerdict = .19, "below" })
	verdict(fast("right", "right"), "mph", "too_few", func(v *thresholds.Verdict) {
		v.P, v.Q, v.FamilyQ, v.Events, v.Pitchers, v.Rate, v.LevelVerdict = nil, nil, nil, 41, 3, .2, "not_shown"
		v.Settle = "needs 12 pitchers (has 3); at the rate so far, about 12 pitchers, 34000 pitches or 4 seasons alike"
	})
	// approach angle: a band, inconclusive, unresolved, always
	angle := func(hand, side string) thresholds.Key {
		return fixtureKey(hand, side, "four_seam", "vertical_approach_angle", "whiff_rate")
	}
	verdict(angle("left", "left"), "deg", "found", func(v *thresholds.Verdict) { v.Trend = "turning" })
	zone(thresholds.Zone{Key: angle("left", "left"), Zone: 1, Sign: 1, LowerKind: "edge", Lower: num(-5.1), LowerLo: num(-5.42),
		LowerHi: num(-4.9), UpperKind: "edge", Upper: num(-4.02), UpperLo: num(-4.2), UpperHi: num(-3.8), EventShare: .5,
		LowerLargestShare: num(.09), LowerWithoutOne: num(-5.6), UpperLargestShare: num(.08), UpperWithoutOne: num(-4.05)}, thresholds.Span{Lo: -4.75, Hi: -4.25})
	verdict(angle("left", "right"), "deg", "inconclusive", func(v *thresholds.Verdict) {
		v.P, v.Q, v.FamilyQ, v.Trend, v.Settle = num(.31), num(.48), num(.22), "flat", "if the pattern is real, about 150 pitchers, 24000 pitches or 3 seasons alike would settle it"
	})
	verdict(angle("right", "left"), "deg", "edge_unresolved", nil)
	verdict(angle("right", "right"), "deg", "always_beats", nil)
	// nothing on extension; too few everywhere for the eephus
	for _, m := range [][2]string{{"left", "left"}, {"left", "right"}, {"right", "left"}, {"right", "right"}} {
		verdict(fixtureKey(m[0], m[1], "four_seam", "extension", "whiff_rate"), "ft", "inconclusive", nil)
		verdict(fixtureKey(m[0], m[1], "eephus", "velocity", "whiff_rate"), "mph", "too_few", nil)
	}
	// a second outcome and a second line
	verdict(fixtureKey("left", "left", "four_seam", "velocity", "woba_against"), "mph", "inconclusive", nil)
	verdict(fast("left", "left"), "mph", "always_beats", func(v *thresholds.Verdict) { v.Reference = "pitch_type_rate" })

	// velocity by height: found high, nothing low, too few below the zone
	for _, third := range []struct{ value, word string }{{"upper", "found"}, {"lower", "inconclusive"}, {"below", "too_few"}} {
		for _, side := range []string{"left", "right"} {
			k := fast("left", side)
			k.Stratum = "fastball_height_third:" + third.value
			verdict(k, "mph", third.word, func(v *thresholds.Verdict) { v.Events, v.Rate, v.LevelVerdict = 800, .26, "above" })
			if third.word == "found" {
				zone(thresholds.Zone{Key: k, Zone: 1, Sign: 1, LowerKind: "edge", Lower: num(92.4), LowerLo: num(91.5), LowerHi: num(93.3),
					UpperKind: "open", EventShare: .55}, thresholds.Span{Lo: 93.5, Hi: 97.4})
			}
		}
	}

	for x := 88.0; x <= 98; x += .25 {
		y := .16 + .12/(1+math.Exp(-(x-93)/1.3))
		half := .008 + .0025*math.Abs(x-93)
		t.Curves = append(t.Curves, thresholds.CurvePoint{Key: fast("left", "left"), Reference: defaultReference,
			X: x, Rate: y, Lo: y - half, Hi: y + half, D: y - .221, T: (y - .221) / half * 2})
	}
	for lower := 88.0; lower < 98; lower++ {
		b := thresholds.Bin{Key: fast("left", "left"), Kind: "regular", Lower: num(lower), Upper: num(lower + 1), Mean: num(lower + .5),
			Events: int64(900 - 40*(lower-93)*(lower-93) + 200), Pitchers: 40, Warnings: []string{}}
		y := .16 + .12/(1+math.Exp(-(lower-92.5)/1.3)) + .01*math.Sin(3*lower)
		b.Rate, b.Lo, b.Hi = num(y), num(y-.03), num(y+.03)
		switch lower {
		case 88:
			b.Kind, b.Lower = "open_low", nil
		case 97:
			b.Kind, b.Upper = "open_high", nil
		case 90:
			b.Thin, b.Rate, b.Lo, b.Hi, b.Warnings = true, nil, nil, nil, []string{"thin"}
		}
		t.Bins = append(t.Bins, b)
	}
	t.Bins = append(t.Bins, thresholds.Bin{Key: fast("left", "left"), Kind: "missing", Events: 12, Pitchers: 4, Thin: true, Warnings: []string{}})
	t.Contrasts = append(t.Contrasts,
		thresholds.Contrast{Kind: "breakpoint", Pair: "left_same_opposite", HandA: "left", SideA: "left", TypeA: "four_seam",
			HandB: "left", SideB: "right", TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", Reference: defaultReference,
			Estimate: num(-1.6), Lo: num(-2.7), Verdict: "not_shown_to_differ"},
		thresholds.Contrast{Kind: "breakpoint", Pair: "same_left_right", HandA: "left", SideA: "left", TypeA: "four_seam",
			HandB: "right", SideB: "right", TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate", Reference: defaultReference,
			Verdict: "not_estimable", Note: "not estimable: the second cell has no confirmed edge"})
	for x := 90.0; x <= 96; x += 2 {
		t.Contrasts = append(t.Contrasts, thresholds.Contrast{Kind: "level", Pair: "left_same_opposite", HandA: "left", SideA: "left",
			TypeA: "four_seam", HandB: "left", SideB: "right", TypeB: "four_seam", Variable: "velocity", Outcome: "whiff_rate",
			X: num(x), Estimate: num((x - 92) / 100), Lo: num((x-92)/100 - .012), Hi: num((x-92)/100 + .012), P: num(.01), Q: num(.03), Verdict: "differs"})
	}
	platoon := func(variable, hand, side, other, word, note string, change float64, at, gaps [3]float64) {
		c := thresholds.Contrast{Kind: "platoon", Pair: hand + "_same_opposite", HandA: hand, SideA: side, TypeA: "four_seam", HandB: hand, SideB: other,
			TypeB: "four_seam", Variable: variable, Outcome: "whiff_rate", P: num(.004), Q: num(.02), Verdict: word, Note: note,
			Estimate: num(change), Lo: num(change - .021), Hi: num(change + .021)}
		t.Contrasts = append(t.Contrasts, c)
		for k := range at {
			c.X, c.Estimate, c.Lo, c.Hi = num(at[k]), num(gaps[k]), num(gaps[k]-.015), num(gaps[k]+.015)
			t.Contrasts = append(t.Contrasts, c)
		}
	}
	platoon("velocity", "left", "left", "right", "splits", "", .047, [3]float64{90.9, 92.7, 94.7}, [3]float64{.012, .041, .059})
	platoon("velocity", "right", "right", "left", "travels", "", .004, [3]float64{91.2, 93.1, 95.2}, [3]float64{.02, .021, .024})
	platoon("vertical_approach_angle", "left", "left", "right", "cannot_tell", "the gap is not shown to change, nor to stay within delta",
		.02, [3]float64{-5.7, -4.9, -4.1}, [3]float64{.01, .02, .03})
	season := thresholds.Contrast{Kind: "level", Pair: "season_before", HandA: "left", SideA: "left", TypeA: "four_seam", HandB: "left", SideB: "left",
		TypeB: "four_seam", Stratum: "season:2032/2031", Variable: "velocity", Outcome: "whiff_rate", P: num(.001), Q: num(.004), Verdict: "differs"}
	for x := 90.0; x <= 96; x += 2 {
		season.X, season.Estimate, season.Lo, season.Hi = num(x), num((93-x)/80), num((93-x)/80-.01), num((93-x)/80+.01)
		t.Contrasts = append(t.Contrasts, season)
	}
	t.References = append(t.References, thresholds.Reference{PitchType: "four_seam", Outcome: "whiff_rate", Reference: defaultReference,
		Value: num(.221), Lo: num(.214), Hi: num(.228), Qualified: 212, Pitchers: 260, Events: 41000, RateMinusMedian: num(.0042)})
	slope := func(k thresholds.Key, unit, shown string, within, between, differs float64) {
		t.Slopes = append(t.Slopes, thresholds.Slope{Key: k, Unit: unit, Events: 3911, Pitchers: 54, EffectivePitchers: 31.4, BetweenShare: num(.63),
			Within: num(within), WithinLo: num(within - .008), WithinHi: num(within + .008), WithinQ: num(.01),
			Between: num(between), BetweenLo: num(between - .009), BetweenHi: num(between + .009), BetweenQ: num(.001),
			Difference: num(within - between), DifferenceLo: num(within - between - .012), DifferenceHi: num(within - between + .012),
			DifferenceQ: num(differs), Shown: shown})
	}
	slope(fast("left", "left"), "mph", "both", .012, .021, .31)
	slope(fast("left", "right"), "mph", "between", .002, .024, .02)
	slope(angle("left", "left"), "deg", "opposite", .04, -.03, .001)
	slope(angle("left", "right"), "deg", "cannot_tell", .004, .003, .9)
	thresholds.Sort(t, variableNames())
	t.Round()
	return t
}

// golden holds got against a file, or writes it where SILL_GOLDEN is set.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", "golden", name)
	if os.Getenv("SILL_GOLDEN") != "" {
		if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got); `make golden` writes it anew:\n%s", name, diff)
	}
}

// page is a terminal that keeps what is printed.
func pageText(width int, colour, ascii bool) (*terminal.Terminal, *bytes.Buffer) {
	var b bytes.Buffer
	return &terminal.Terminal{Out: &b, Err: &b, Width: width, Colour: colour, ASCII: ascii}, &b
}
