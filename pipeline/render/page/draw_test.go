package page

import (
	"reflect"
	"strings"
	"testing"

	"sill/pipeline/render/curve"
	"sill/pipeline/thresholds"
)

func over(lo, hi float64, to float64) axis {
	var a axis
	a.Range, a.To = curve.Range{Lo: lo, Hi: hi}, to
	return a
}

// TestMarks names as many numbers of a small scale as a column of 55 pixels holds, those
// near its ends within it.
func TestMarks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		want   string
	}{
		{89, 101, "90 s, · x, 100 y"}, // both would reach beyond an end
		{-12.4, -3, "-10 x, -5 x"},
		{-7.1, -1.2, "-6 x, · x, -2 y"}, // no room for the middle one
		{1750, 2750, "1800 s, · x, · x, · x, · x, · x, · x, · x, · x, 2700 y"},
	} {
		var got []string
		for _, m := range over(c.lo, c.hi, 1000).marks(curve.Quality{Decimals: 1}) {
			text := m.Text
			if text == "" {
				text = "·"
			}
			got = append(got, strings.Replace(text, "−", "-", 1)+" "+m.Anchor())
		}
		if list := strings.Join(got, ", "); list != c.want {
			t.Errorf("%g to %g: %s, want %s", c.lo, c.hi, list, c.want)
		}
	}
}

// withEdges is a panel with a breakpoint at each value, whose intervals reach a unit to both
// sides, on a curve from 80 to 100.
func withEdges(at ...float64) *panel {
	p := &panel{Curve: curve.Curve{Verdict: &thresholds.Verdict{Verdict: "found", Line: num(.2)}, Points: []thresholds.CurvePoint{{X: 80}, {X: 100}}}}
	for _, x := range at {
		p.Zones = append(p.Zones, &thresholds.Zone{Sign: 1, LowerKind: "edge", Lower: num(x), LowerLo: num(x - 1), LowerHi: num(x + 1), UpperKind: "open"})
	}
	return p
}

// TestEdgesApart sets numbers of breakpoints that would touch under each other.
func TestEdgesApart(t *testing.T) {
	var rows []int
	for _, m := range withEdges(85, 86, 87, 92).edgeMarks(curve.Quality{Decimals: 1}, over(80, 100, fullWide)) {
		rows = append(rows, m.Y)
	}
	if want := []int{0, 1, 2, 0}; !reflect.DeepEqual(rows, want) {
		t.Errorf("rows %v, want %v", rows, want)
	}
}

// TestBeyond marks intervals that run out of what is drawn: of a breakpoint beyond the
// end of a ladder, of a bin and of the curve above the field; and tells an open one apart.
func TestBeyond(t *testing.T) {
	p := withEdges(80.5, 90)
	p.Zones[1].LowerHi = nil
	l := p.ladder(over(80, 100, 1000))
	if want := []share{0}; !reflect.DeepEqual(l.Beyond, want) {
		t.Errorf("beyond %v, want %v", l.Beyond, want)
	}
	if want := []span{{0, 75}, {450, 50}}; !reflect.DeepEqual(l.Intervals, want) {
		t.Errorf("intervals %v, want %v", l.Intervals, want)
	}
	if want := []span{{500, 500}}; !reflect.DeepEqual(l.Open, want) {
		t.Errorf("open %v, want %v", l.Open, want)
	}
	x, y := over(80, 100, fullWide), over(0, .5, 0)
	y.From = 2 * plotFoot
	p.Bins = []*thresholds.Bin{{Mean: num(90), Rate: num(.4), Lo: num(.2), Hi: num(.6)}}
	arrows := func() int {
		var d drawing
		d.curve(p, x, y, true)
		return strings.Count(d.Clipped, "l")
	}
	if got := arrows(); got != 1 {
		t.Errorf("%d arrows of a bin's interval", got)
	}
	p.Points[0].Hi, p.Points[1].Lo = .7, -.1
	if got := arrows(); got != 3 {
		t.Errorf("%d arrows of a bin's interval and the band's two ends", got)
	}
}
