package main

import (
	"math"
	"strings"
	"testing"

	"github.com/rivo/uniseg"

	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

func fixtureEvidence(t *testing.T, typ, matchup, variable string) *evidence {
	t.Helper()
	v := &published{league: "fixture", version: "v1.0.0", tables: fixture(), manifest: thresholds.Manifest{
		Families: []thresholds.Tested{{Name: "headline", Tests: 16, Flips: 9999, Families: 4, Selected: 2}}}}
	e, err := gather(v, selection{types: []string{typ}, matchups: []string{matchup}, variables: []string{variable},
		outcomes: []string{"whiff_rate"}, reference: defaultReference})
	if err != nil {
		t.Fatal(err)
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
		term, out := pageText(c.width, false, c.ascii)
		p := newPrinter(term)
		fixtureEvidence(t, "four_seam", c.matchup, c.variable).print(p)
		if err := p.close(); err != nil {
			t.Fatal(err)
		}
		golden(t, c.name, out.String())
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

// The chart puts the breakpoint and the line where they are, whatever its size.
func TestChartPlaces(t *testing.T) {
	c := &chart{line: .5, formatX: func(x float64) string { return words.Number(x, 0) }, formatY: words.Rate, events: "swings",
		edges: []mark{{at: 5, lo: 4, hi: math.NaN()}}, weight: []point{{2, 10}, {8, 40}}}
	for x := 0.0; x <= 10; x++ {
		c.x, c.rate = append(c.x, x), append(c.rate, x/10)
		c.lo, c.hi = append(c.lo, x/10-.05), append(c.hi, x/10+.05)
	}
	for _, width := range []int{40, 80, 100, 140} {
		term, _ := pageText(width, false, false)
		lines := c.render(newPrinter(term), 11, plain)
		cols := min(width, 100) - gutter - 1
		var edge []rune
		for _, l := range lines {
			if strings.HasPrefix(strings.TrimSpace(l), "edge") {
				edge = []rune(l)
			}
		}
		at := strings.Count(string(edge[:indexRune(edge, '◆')]), "") - 1 - gutter - 1
		if want := (cols - 1) / 2; at < want || at > want+1 {
			t.Errorf("width %d: breakpoint in column %d of %d", width, at, cols)
		}
		if edge[len(edge)-1] != '┄' || indexRune(edge, '├') < 0 || indexRune(edge, '┤') >= 0 {
			t.Errorf("width %d: an open limit must run dotted to the end: %s", width, string(edge))
		}
		if mid := lines[5]; !strings.Contains(mid, ".500") || strings.Count(mid, "┄") < cols/2 {
			t.Errorf("width %d: the line is not in the middle row: %s", width, mid)
		}
		if first, last := []rune(lines[0]), []rune(lines[10]); indexRune(first, '━') < 0 && indexRune(first, '▔') < 0 && indexRune(first, '▁') < 0 ||
			!strings.ContainsAny(string(last), "▔━▁") {
			t.Errorf("width %d: the curve leaves the chart", width)
		}
	}
	if term, _ := pageText(80, false, false); (&chart{}).render(newPrinter(term), 5, plain) != nil {
		t.Error("a curve without points was drawn")
	}
}

func indexRune(rs []rune, r rune) int {
	for i := range rs {
		if rs[i] == r {
			return i
		}
	}
	return -1
}

func TestTicks(t *testing.T) {
	got := ticks(88, 98.2, 5)
	want := []float64{90, 95}
	if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("ticks %v, want %v", got, want)
	}
}
