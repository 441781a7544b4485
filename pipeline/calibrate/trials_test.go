package calibrate

import (
	"math"
	"testing"
)

// Of very many swings by very many pitchers the gain is the design's.
func TestTrialStep(t *testing.T) {
	d := trialDesign{pitchers: 6000, batters: .35, gain: .05}
	counts, err := d.play(1)
	if err != nil {
		t.Fatal(err)
	}
	var y, n [2]float64
	for _, c := range counts.Cells {
		curve := &c.Curves[0]
		for b, bin := range curve.Bins {
			side := 0
			if bin >= trialCutoff {
				side = 1
			}
			for _, r := range curve.Bin(b) {
				y[side] += float64(r.Whiffs)
				n[side] += float64(r.Swings)
			}
		}
	}
	if got := y[1]/n[1] - y[0]/n[0]; math.Abs(got-d.gain) > .008 {
		t.Errorf("gain %.4f, want %.4f", got, d.gain)
	}
}
