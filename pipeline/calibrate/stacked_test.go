package calibrate

import (
	"math"
	"testing"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/pitch"
)

// The truth of a design is what very many pitchers throw.
func TestStackTruth(t *testing.T) {
	d := stackDesign{"", 4000, [3]float64{-1.7, -1.2, -.7}, nil}
	h, err := d.pitches(5)
	if err != nil {
		t.Fatal(err)
	}
	at := func(x float64) *float64 { return &x }
	zones := []stacked.GoodZone{
		{Variable: "velocity", Half: 1, Lo: at(93.8)}, {Variable: "velocity", Half: 2, Lo: at(92), Hi: at(96)},
		{Variable: "induced_vertical_break", Half: 1, Lo: at(17)}, {Variable: "induced_vertical_break", Half: 2, Lo: at(18)},
	}
	open := []stacked.GoodZone{{Variable: "velocity", Half: 1, Lo: at(92.6)}, {Variable: "induced_vertical_break", Half: 2, Lo: at(16), Hi: at(20)}}
	rate, share := d.truth(zones, open, [2]float64{.5, .5})
	var n, y [3]float64
	for i := range h.List {
		p := &h.List[i]
		if p.Hand == pitch.LeftHand {
			continue
		}
		half := 1 + int(p.Pitcher/2)%2
		// holds tells of both qualities whether they lie in one of the half's zones.
		holds := func(zones []stacked.GoodZone) (in [2]bool) {
			for _, z := range zones {
				v, x := 0, p.Num[pitch.Velocity]
				if z.Variable != "velocity" {
					v, x = 1, p.Num[pitch.InducedVerticalBreak]
				}
				in[v] = in[v] || z.Half == half && x >= *z.Lo && (z.Hi == nil || x <= *z.Hi)
			}
			return in
		}
		k, left := 0, false
		good, open := holds(zones), holds(open)
		for v := range good {
			if good[v] {
				k++
			}
			left = left || open[v] && !good[v]
		}
		if left {
			continue
		}
		n[k]++
		if p.Outcome == pitch.SwingingStrike {
			y[k]++
		}
	}
	for k := range rate {
		if got := y[k] / n[k]; math.Abs(got-rate[k]) > .006 {
			t.Errorf("rate with %d: %.4f, reckoned %.4f", k, got, rate[k])
		}
		if got := n[k] / (n[0] + n[1] + n[2]); math.Abs(got-share[k]) > .02 {
			t.Errorf("share with %d: %.4f, reckoned %.4f", k, got, share[k])
		}
	}
}
