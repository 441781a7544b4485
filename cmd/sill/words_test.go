package main

import (
	"math"
	"testing"

	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{words.Percent(0), "0\u00a0%"}, {words.Percent(.0002), "<\u00a00.1\u00a0%"}, {words.Percent(.0123), "1.2\u00a0%"}, {words.Percent(.5), "50\u00a0%"},
		{words.Probability(.0004), "<\u00a0.001"}, {words.Probability(.048), ".048"},
		{words.Interval(num(92.6), nil, quantity(variableOf("velocity", "mph"))), "(92.6–?)"},
		{words.Interval(num(math.NaN()), num(1), words.Rate), "(?–1.000)"},
		{words.Interval(num(-5), num(-4), quantity(variableOf("vertical_approach_angle", "deg"))), "(−5.00 to −4.00)"},
		{quantity(shape.Variable{Decimals: 0})(2250), "2250"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestZoneWords(t *testing.T) {
	format := quantity(variableOf("velocity", "mph"))
	for _, c := range []struct {
		zone thresholds.Zone
		want string
	}{
		{thresholds.Zone{LowerKind: "edge", Lower: num(93.2), LowerLo: num(92.6), LowerHi: num(93.9), UpperKind: "open"}, "≥~93.2 (92.6–93.9)"},
		{thresholds.Zone{LowerKind: "open", UpperKind: "edge", Upper: num(5), UpperLo: num(4.4), UpperHi: num(5.9)}, "≤~5.0 (4.4–5.9)"},
		{thresholds.Zone{LowerKind: "edge", Lower: num(8), LowerLo: num(7), LowerHi: num(9), UpperKind: "edge", Upper: num(15), UpperLo: num(14), UpperHi: num(16)},
			"from~8.0 (7.0–9.0)\nto~15.0 (14.0–16.0)"},
		{thresholds.Zone{LowerKind: "open", Lower: num(88), UpperKind: "open", Upper: num(95), Certain: []thresholds.Span{{Lo: 88, Hi: 95}}}, "everywhere seen"},
		{thresholds.Zone{LowerKind: "open", Lower: num(88), UpperKind: "open", Upper: num(95), Certain: []thresholds.Span{{Lo: 88, Hi: 94}}}, "sure to~94.0"},
		{thresholds.Zone{LowerKind: "open", Lower: num(88), UpperKind: "open", Upper: num(95)}, ""},
		{thresholds.Zone{LowerKind: "unresolved", Lower: num(88), UpperKind: "unresolved", Upper: num(95), Certain: []thresholds.Span{{Lo: 88.5, Hi: 94.5}}}, "sure from~88.5 to~94.5"},
		{thresholds.Zone{LowerKind: "unresolved", Lower: num(88), UpperKind: "unresolved", Upper: num(95), Certain: []thresholds.Span{{Lo: 89, Hi: 91}, {Lo: 92, Hi: 94}}},
			"sure 89.0–91.0 and 92.0–94.0"},
		{thresholds.Zone{LowerKind: "unresolved", Lower: num(88), UpperKind: "unresolved", Upper: num(95)}, ""},
		{thresholds.Zone{LowerKind: "edge", Lower: num(94.8), LowerHi: num(95.9), UpperKind: "unresolved", Upper: num(97.9), Weak: true,
			Certain: []thresholds.Span{{Lo: 96.4, Hi: 97.5}}},
			"≥~94.8 (?–95.9)\nsure to~97.5"},
	} {
		want := ""
		for _, r := range c.want {
			if r == '~' {
				r = '\u00a0'
			}
			want += string(r)
		}
		if got := zoneWords(c.zone, format, format); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestParseWords(t *testing.T) {
	for _, c := range []struct {
		parse         func(string) (string, error)
		in, out, says string
	}{
		{parseType, "four-seam", "four_seam", ""},
		{parseType, "Two_Seam", "sinker", ""},
		{parseType, "sinkr", "", `unknown pitch type "sinkr" (did you mean "sinker"?)`},
		{parseMatchup, "l-v-r", "L-v-R", ""},
		{parseMatchup, "L-v-S", "", `unknown matchup "L-v-S" (did you mean "L-v-L"?)`},
		{parseWord("outcome", outcomeNames()), "whif_rate", "", `unknown outcome "whif_rate" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcomeNames()), "x", "", `unknown outcome "x" (known: whiff_rate, woba_against)`},
		{parseWord("variable", variableNames()), "speed", "", `unknown variable "speed" (did you mean "velocity"?)`},
		{parseWord("variable", variableNames()), "velo", "", `unknown variable "velo" (did you mean "velocity"?)`},
		{parseWord("variable", variableNames()), "spin", "", `unknown variable "spin" (did you mean "spin_rate"?)`},
		{parseWord("outcome", outcomeNames()), "whiff", "", `unknown outcome "whiff" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcomeNames()), "Whiffs", "", `unknown outcome "Whiffs" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcomeNames()), "wOBA", "", `unknown outcome "wOBA" (did you mean "woba_against"?)`},
		{parseType, "fastball", "", `unknown pitch type "fastball" (did you mean "four_seam"?)`},
		{parseWord("outcome", outcomeNames()), "speed", "", `unknown outcome "speed" (known: whiff_rate, woba_against)`},
		{parseWord("variable", variableNames()), "velocty", "", `unknown variable "velocty" (did you mean "velocity"?)`},
	} {
		got, err := c.parse(c.in)
		switch {
		case c.says == "" && (err != nil || got != c.out):
			t.Errorf("%q: got %q, %v, want %q", c.in, got, err, c.out)
		case c.says != "" && (err == nil || err.Error() != c.says || exitCode(err) != exitUsage):
			t.Errorf("%q: got error %v, want %s", c.in, err, c.says)
		}
	}
}
