package screen

import (
	"strings"
	"testing"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

func fixtureEvidence(t *testing.T, typ, matchup, variable string) *Evidence {
	t.Helper()
	manifest := thresholds.Manifest{Families: []thresholds.Tested{{Name: "headline", Tests: 16, Flips: 9999, Families: 4, Selected: 2}}}
	e := Gather("fixture", "v1.0.0", fixture.Tables(), manifest, Selection{Types: []string{typ}, Matchups: []string{matchup}, Variables: []string{variable},
		Outcomes: []string{"whiff_rate"}, Reference: thresholds.HeadlineReference})
	if e == nil {
		t.Fatal("the fixture holds nothing")
	}
	return e
}

func TestExplainGolden(t *testing.T) {
	for _, c := range []struct {
		name, matchup, variable string
		width                   int
		ascii                   bool
	}{
		{"explain_found.txt", "L-v-L", "velocity", 100, false},
		{"explain_found_64.txt", "L-v-L", "velocity", 64, false},
		{"explain_found_ascii.txt", "L-v-L", "velocity", 80, true},
		{"explain_weak.txt", "L-v-R", "velocity", 80, false},
		{"explain_never.txt", "R-v-L", "velocity", 80, false},
		{"explain_too_few.txt", "R-v-R", "velocity", 80, false},
		{"explain_band.txt", "L-v-L", "vertical_approach_angle", 80, false},
		{"explain_inconclusive.txt", "L-v-R", "vertical_approach_angle", 80, false},
		{"explain_unresolved.txt", "R-v-L", "vertical_approach_angle", 80, false},
		{"explain_always.txt", "R-v-R", "vertical_approach_angle", 80, false},
	} {
		term, out := fixture.Page(c.width, false, c.ascii)
		p := terminal.NewPrinter(term)
		fixtureEvidence(t, "four_seam", c.matchup, c.variable).Print(p)
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		fixture.Golden(t, c.name, out.String())
		for _, l := range strings.Split(out.String(), "\n") {
			if w := uniseg.StringWidth(l); w > c.width {
				t.Errorf("%s: line of %d columns on %d: %s", c.name, w, c.width, l)
			}
			if c.ascii && strings.ContainsFunc(l, func(r rune) bool { return r > 126 }) {
				t.Errorf("%s: not ASCII: %s", c.name, l)
			}
		}
	}
}
