package curve

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sill/pipeline/thresholds"
)

func num(x float64) *float64 { return &x }

func TestCentral(t *testing.T) {
	c := Curve{Verdict: &thresholds.Verdict{Verdict: "never_beats"}, Points: []thresholds.CurvePoint{{X: 0}, {X: 9}}}
	for i := range 10 {
		c.Bins = append(c.Bins, &thresholds.Bin{Mean: num(float64(i)), Events: 100})
	}
	c.Bins[0].Events, c.Bins[9].Events = 40, 40 // their middles have 2 % of the events beyond
	if lo, hi := c.Central(); lo != 1 || hi != 8 {
		t.Errorf("central %g to %g, want 1 to 8", lo, hi)
	}
	if got := c.Certain(); len(got) != 1 || got[0] != (Stretch{1, 8, false}) {
		t.Errorf("certain %v", got)
	}
	c.Verdict.Everywhere = true
	if got := c.Certain(); len(got) != 1 || got[0] != (Stretch{0, 9, false}) {
		t.Errorf("certain everywhere %v", got)
	}
	c.Zones = []*thresholds.Zone{{Sign: 1, Certain: []thresholds.Span{{Lo: 2, Hi: 3}}}}
	c.Verdict.Verdict = "inconclusive"
	if got := c.Certain(); got != nil {
		t.Errorf("inconclusive claims %v", got)
	}
}

// A bar's area tells how many pitches it stands for, at an open end too.
func TestOpenBins(t *testing.T) {
	for _, c := range []struct {
		bin          thresholds.Bin
		lo, hi, most float64
	}{
		{thresholds.Bin{Lower: num(90), Upper: num(91), Mean: num(90.4), Pitches: 60}, 90, 91, 60},
		{thresholds.Bin{Upper: num(90), Mean: num(88.5), Pitches: 60}, 87, 90, 20},
		{thresholds.Bin{Lower: num(90), Mean: num(91), Pitches: 60}, 90, 92, 30},
		{thresholds.Bin{Lower: num(90), Mean: num(90.1), Pitches: 60}, 90, 91, 60},
	} {
		if lo, hi, ok := Reach(&c.bin, 1); !ok || lo != c.lo || hi != c.hi || Density(&c.bin, 1) != c.most {
			t.Errorf("%g to %g with %g, want %g to %g with %g", lo, hi, Density(&c.bin, 1), c.lo, c.hi, c.most)
		}
	}
}

func TestTicks(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		n      int
		want   string
	}{
		{88, 98.2, 5, "[88 90 92 94 96 98]"}, {-.0301, .29, 4, "[0 0.1 0.2]"}, {-7, -4, 3, "[-7 -6 -5 -4]"},
	} {
		var got []float64
		for _, v := range (Range{c.lo, c.hi}).Ticks(c.n) {
			got = append(got, math.Round(v*1e6)/1e6+0)
		}
		if fmt.Sprint(got) != c.want {
			t.Errorf("ticks of %g to %g: %v, want %s", c.lo, c.hi, got, c.want)
		}
	}
	if got := strings.Join(append(Labels([]float64{90, 95}, 1), Labels([]float64{.5, 1}, 2)...), " "); got != "90 95 0.5 1.0" {
		t.Errorf("tick labels %s", got)
	}
}
