package main

import (
	"testing"
)

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
