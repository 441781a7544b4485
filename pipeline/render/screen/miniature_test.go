package screen

import (
	"strings"
	"testing"

	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// A miniature stands on the axes that its line shares: it begins where its curve
// does, rises as it does, and marks each breakpoint at its place.
func TestMiniature(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	rising, short := thresholds.Key{Hand: "left"}, thresholds.Key{Hand: "right"}
	m := miniatures{}
	for x := 0.0; x <= 10; x++ {
		m[rising] = append(m[rising], thresholds.CurvePoint{Key: rising, X: x, Rate: x / 10})
		if x >= 5 {
			m[short] = append(m[short], thresholds.CurvePoint{Key: short, X: x, Rate: .2})
		}
	}
	a := BoardRow{Verdict: thresholds.Verdict{Key: rising}, Zones: []thresholds.Zone{{LowerKind: "edge", Lower: at(5), UpperKind: "open"}}}
	b := BoardRow{Verdict: thresholds.Verdict{Key: short}}
	axes := m.axes([]BoardRow{a, b})
	if got := m.draw(a, axes, 11, terminal.UnicodeGlyphs); got != "▁▁▂▃▄◆▅▆▇██" {
		t.Errorf("rising: %q", got)
	}
	if got := m.draw(a, axes, 11, terminal.PlainGlyphs); got != "...oo|OO@@@" {
		t.Errorf("in ASCII: %q", got)
	}
	if got := m.draw(b, axes, 11, terminal.UnicodeGlyphs); got != strings.Repeat("\u00a0", 5)+"▂▂▂▂▂▂" {
		t.Errorf("the half that was seen: %q", got)
	}
	if got := m.draw(BoardRow{}, axes, 11, terminal.UnicodeGlyphs); got != "" {
		t.Errorf("no curve: %q", got)
	}
}
