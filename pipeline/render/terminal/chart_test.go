package terminal

import (
	"math"
	"strings"
	"testing"

	"sill/pipeline/render/words"
)

// The chart puts the breakpoint and the line where they are, whatever its size.
func TestChartPlaces(t *testing.T) {
	c := &Chart{Line: .5, FormatX: func(x float64) string { return words.Number(x, 0) }, FormatY: words.Rate, Events: "swings",
		Edges: []Mark{{At: 5, Lo: 4, Hi: math.NaN()}}, Weight: []Point{{X: 2, Y: 10}, {X: 8, Y: 40}}}
	for x := 0.0; x <= 10; x++ {
		c.X, c.Rate = append(c.X, x), append(c.Rate, x/10)
		c.Lo, c.Hi = append(c.Lo, x/10-.05), append(c.Hi, x/10+.05)
	}
	for _, width := range []int{40, 80, 100, 140} {
		term, _ := pageText(width, false, false)
		lines := c.Render(NewPrinter(term), 11, Plain)
		cols := min(width, 100) - Gutter - 1
		var edge []rune
		for _, l := range lines {
			if strings.HasPrefix(strings.TrimSpace(l), "edge") {
				edge = []rune(l)
			}
		}
		at := strings.Count(string(edge[:indexRune(edge, '◆')]), "") - 1 - Gutter - 1
		if want := (cols - 1) / 2; at < want || at > want+1 {
			t.Errorf("width %d: breakpoint in column %d of %d", width, at, cols)
		}
		if edge[len(edge)-1] != '┄' || indexRune(edge, '├') < 0 || indexRune(edge, '┤') >= 0 {
			t.Errorf("width %d: an open limit must run dotted to the end: %s", width, string(edge))
		}
		if mid := lines[5]; !strings.Contains(mid, ".500") || strings.Count(mid, "┄") < cols/2 {
			t.Errorf("width %d: the line is not in the middle row: %s", width, mid)
		}
		first, last := []rune(lines[0]), []rune(lines[10])
		if indexRune(first, '━') < 0 && indexRune(first, '▔') < 0 && indexRune(first, '▁') < 0 ||
			!strings.ContainsAny(string(last), "▔━▁") {
			t.Errorf("width %d: the curve leaves the chart", width)
		}
	}
	if term, _ := pageText(80, false, false); (&Chart{}).Render(NewPrinter(term), 5, Plain) != nil {
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
