package screen

import (
	"math"
	"testing"

	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{words.Percent(0), "0\u00a0%"}, {words.Percent(.0002), "<\u00a00.1\u00a0%"}, {words.Percent(.0123), "1.2\u00a0%"}, {words.Percent(.5), "50\u00a0%"},
		{words.Probability(.0004), "<\u00a0.001"}, {words.Probability(.048), ".048"},
		{words.Interval(fixture.Num(92.6), nil, quantity(variableOf("velocity", "mph"))), "(92.6–?)"},
		{words.Interval(fixture.Num(math.NaN()), fixture.Num(1), words.Rate), "(?–1.000)"},
		{words.Interval(fixture.Num(-5), fixture.Num(-4), quantity(variableOf("vertical_approach_angle", "deg"))), "(−5.00 to −4.00)"},
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
		{thresholds.Zone{LowerKind: "edge", Lower: fixture.Num(93.2), LowerLo: fixture.Num(92.6), LowerHi: fixture.Num(93.9), UpperKind: "open"}, "≥~93.2 (92.6–93.9)"},
		{thresholds.Zone{LowerKind: "open", UpperKind: "edge", Upper: fixture.Num(5), UpperLo: fixture.Num(4.4), UpperHi: fixture.Num(5.9)}, "≤~5.0 (4.4–5.9)"},
		{thresholds.Zone{LowerKind: "edge", Lower: fixture.Num(8), LowerLo: fixture.Num(7), LowerHi: fixture.Num(9), UpperKind: "edge", Upper: fixture.Num(15), UpperLo: fixture.Num(14), UpperHi: fixture.Num(16)},
			"from~8.0 (7.0–9.0)\nto~15.0 (14.0–16.0)"},
		{thresholds.Zone{LowerKind: "open", Lower: fixture.Num(88), UpperKind: "open", Upper: fixture.Num(95), Certain: []thresholds.Span{{Lo: 88, Hi: 95}}}, "everywhere seen"},
		{thresholds.Zone{LowerKind: "open", Lower: fixture.Num(88), UpperKind: "open", Upper: fixture.Num(95), Certain: []thresholds.Span{{Lo: 88, Hi: 94}}}, "sure to~94.0"},
		{thresholds.Zone{LowerKind: "open", Lower: fixture.Num(88), UpperKind: "open", Upper: fixture.Num(95)}, ""},
		{thresholds.Zone{LowerKind: "unresolved", Lower: fixture.Num(88), UpperKind: "unresolved", Upper: fixture.Num(95), Certain: []thresholds.Span{{Lo: 88.5, Hi: 94.5}}}, "sure from~88.5 to~94.5"},
		{thresholds.Zone{LowerKind: "unresolved", Lower: fixture.Num(88), UpperKind: "unresolved", Upper: fixture.Num(95), Certain: []thresholds.Span{{Lo: 89, Hi: 91}, {Lo: 92, Hi: 94}}},
			"sure 89.0–91.0 and 92.0–94.0"},
		{thresholds.Zone{LowerKind: "unresolved", Lower: fixture.Num(88), UpperKind: "unresolved", Upper: fixture.Num(95)}, ""},
		{thresholds.Zone{LowerKind: "edge", Lower: fixture.Num(94.8), LowerHi: fixture.Num(95.9), UpperKind: "unresolved", Upper: fixture.Num(97.9), Weak: true,
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
