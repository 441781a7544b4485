package main

import (
	"strings"
	"testing"

	"sill/pipeline/render/screen/fixture"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

func TestBoardGolden(t *testing.T) {
	for _, c := range []struct {
		name          string
		width         int
		colour, ascii bool
		selection     selection
	}{
		{"board_wide.txt", 120, false, false, selection{}},
		{"board_80.txt", 80, false, false, selection{}},
		{"board_ascii.txt", 80, false, true, selection{}},
		{"board_colour.txt", 100, true, false, selection{outcomes: []string{"whiff_rate"}, types: []string{"four_seam"}}},
		{"board_two_matchups.txt", 80, false, false, selection{matchups: []string{"L-v-L", "L-v-R"}, outcomes: []string{"whiff_rate"}}},
	} {
		term, out := fixture.Page(c.width, c.colour, c.ascii)
		p := terminal.NewPrinter(term)
		c.selection.reference = defaultReference
		newBoard(fixture.Tables(), c.selection).print(p)
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
	all := newBoard(fixture.Tables(), selection{reference: defaultReference})
	text := map[thresholds.Key]string{}
	for _, r := range all.rows {
		text[r.Key] = cellWords(&r.Verdict, r.Zones)
	}
	for _, s := range []selection{
		{types: []string{"four_seam"}}, {matchups: []string{"R-v-R"}}, {variables: []string{"velocity"}},
		{outcomes: []string{"woba_against"}}, {verdicts: []string{"found", "too_few"}},
	} {
		s.reference = defaultReference
		some := newBoard(fixture.Tables(), s)
		if n := len(some.rows); n == 0 || n >= len(all.rows) {
			t.Errorf("%+v: %d rows of %d", s, n, len(all.rows))
		}
		for _, r := range some.rows {
			if !s.wants(&r.Verdict) {
				t.Errorf("%+v: unwanted row %+v", s, r.Key)
			}
			if got := cellWords(&r.Verdict, r.Zones); got != text[r.Key] {
				t.Errorf("%+v: %q, was %q", s, got, text[r.Key])
			}
		}
	}
}
