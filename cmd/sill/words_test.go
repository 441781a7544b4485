package main

import (
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/shape"
)

func TestParseWords(t *testing.T) {
	for _, c := range []struct {
		parse         func(string) (string, error)
		in, out, says string
	}{
		{parseType(nil), "four-seam", "four_seam", ""},
		{parseType(nil), "Knuckle Curve", "knuckle_curve", ""}, // which a source may declare
		{parseType([]string{"sinker", "slurve"}), "Slurve", "slurve", ""},
		{parseType([]string{"sinker", "slurve"}), "eephus", "", `unknown pitch type "eephus" (known: sinker, slurve)`},
		{parseType([]string{"sinker", "slurve"}), "slurv", "", `unknown pitch type "slurv" (did you mean "slurve"?)`},
		{parseType(nil), "Two_Seam", "sinker", ""},
		{parseType(nil), "sinkr", "", `unknown pitch type "sinkr" (did you mean "sinker"?)`},
		{parseMatchup, "l-v-r", "L-v-R", ""},
		{parseMatchup, "L-v-S", "", `unknown matchup "L-v-S" (did you mean "L-v-L"?)`},
		{parseWord("outcome", outcome.Names()), "whif_rate", "", `unknown outcome "whif_rate" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcome.Names()), "x", "", `unknown outcome "x" (known: whiff_rate, woba_against)`},
		{parseWord("variable", shape.Names(shape.Variables)), "speed", "", `unknown variable "speed" (did you mean "velocity"?)`},
		{parseWord("variable", shape.Names(shape.Variables)), "velo", "", `unknown variable "velo" (did you mean "velocity"?)`},
		{parseWord("variable", shape.Names(shape.Variables)), "spin", "", `unknown variable "spin" (did you mean "spin_rate"?)`},
		{parseWord("outcome", outcome.Names()), "whiff", "", `unknown outcome "whiff" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcome.Names()), "Whiffs", "", `unknown outcome "Whiffs" (did you mean "whiff_rate"?)`},
		{parseWord("outcome", outcome.Names()), "wOBA", "", `unknown outcome "wOBA" (did you mean "woba_against"?)`},
		{parseType(nil), "fastball", "", `unknown pitch type "fastball" (did you mean "four_seam"?)`},
		{parseWord("outcome", outcome.Names()), "speed", "", `unknown outcome "speed" (known: whiff_rate, woba_against)`},
		{parseWord("variable", shape.Names(shape.Variables)), "velocty", "", `unknown variable "velocty" (did you mean "velocity"?)`},
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
