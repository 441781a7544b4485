package screen

import (
	"strings"
	"testing"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

func TestBoardGolden(t *testing.T) {
	for _, c := range []struct {
		name          string
		width         int
		colour, ascii bool
		selection     Selection
	}{
		{"board_wide.txt", 120, false, false, Selection{}},
		{"board_80.txt", 80, false, false, Selection{}},
		{"board_ascii.txt", 80, false, true, Selection{}},
		{"board_colour.txt", 100, true, false, Selection{Outcomes: []string{"whiff_rate"}, Types: []string{"four_seam"}}},
		{"board_two_matchups.txt", 80, false, false, Selection{Matchups: []string{"L-v-L", "L-v-R"}, Outcomes: []string{"whiff_rate"}}},
	} {
		term, out := fixture.Page(c.width, c.colour, c.ascii)
		p := terminal.NewPrinter(term)
		c.selection.Reference = thresholds.HeadlineReference
		NewBoard(fixture.Tables(), c.selection).Print(p)
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		fixture.Golden(t, c.name, out.String())
		if c.colour {
			continue
		}
		for _, l := range strings.Split(out.String(), "\n") {
			if w := uniseg.StringWidth(l); w > c.width {
				t.Errorf("%s: line of %d columns on %d: %s", c.name, w, c.width, l)
			}
			if strings.TrimRight(l, " ") != l {
				t.Errorf("%s: trailing spaces: %q", c.name, l)
			}
			if c.ascii && strings.ContainsFunc(l, func(r rune) bool { return r > 126 }) {
				t.Errorf("%s: not ASCII: %s", c.name, l)
			}
		}
	}
}

// A filter hides rows and changes none of those it leaves.
func TestFiltersChangeNoVerdict(t *testing.T) {
	all := NewBoard(fixture.Tables(), Selection{Reference: thresholds.HeadlineReference})
	text := map[thresholds.Key]string{}
	for _, r := range all.Rows {
		text[r.Key] = cellWords(&r.Verdict, r.Zones)
	}
	for _, s := range []Selection{
		{Types: []string{"four_seam"}}, {Matchups: []string{"R-v-R"}}, {Variables: []string{"velocity"}},
		{Outcomes: []string{"woba_against"}}, {Verdicts: []string{"found", "too_few"}},
	} {
		s.Reference = thresholds.HeadlineReference
		some := NewBoard(fixture.Tables(), s)
		if n := len(some.Rows); n == 0 || n >= len(all.Rows) {
			t.Errorf("%+v: %d rows of %d", s, n, len(all.Rows))
		}
		for _, r := range some.Rows {
			if !s.wants(&r.Verdict) {
				t.Errorf("%+v: unwanted row %+v", s, r.Key)
			}
			if got := cellWords(&r.Verdict, r.Zones); got != text[r.Key] {
				t.Errorf("%+v: %q, was %q", s, got, text[r.Key])
			}
		}
	}
}
