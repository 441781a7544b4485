package words_test

import (
	"testing"

	"sill/pipeline/locate"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// Each warning has a word of its own, and a legend where its grade gives it a mark.
func TestCaveats(t *testing.T) {
	all := locate.Warnings()
	if len(words.Caveats) != len(all) {
		t.Errorf("%d caveats, want %d", len(words.Caveats), len(all))
	}
	seen := map[string]bool{}
	for _, w := range all {
		c := words.CaveatOf(w.Code)
		if c.Code != w.Code || c.Word == "" || seen[c.Word] || (c.Legend != "") != (w.Grade == thresholds.Reading) {
			t.Errorf("%s, of grade %s, is told as %+v", w.Code, w.Grade, c)
		}
		seen[c.Word] = true
	}
	for _, c := range []struct {
		codes []string
		want  string
	}{
		{nil, ""},
		{[]string{locate.WarnComb, locate.WarnGap}, ""},
		{[]string{locate.WarnComb, locate.WarnWeak, locate.WarnOnePitcher}, "weak, one pitcher"},
		{[]string{"thin_air"}, "thin air"},
	} {
		if got := words.Plain(words.MarkWords(c.codes)); got != c.want {
			t.Errorf("%q are marked %q, want %q", c.codes, got, c.want)
		}
	}
}
