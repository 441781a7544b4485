package calibrate

import (
	"math"
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestTrials tries claims in 100 leagues a design, 20 where time is short; bars
// give way by four Monte Carlo errors.
func TestTrials(t *testing.T) {
	sets := 100.
	if testing.Short() {
		sets = 20
	}
	findings, err := trials(t.Context(), calibrate.Options{Scale: sets / trialSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	if len(findings) != 3*len(trialDesigns) {
		t.Errorf("%d findings", len(findings))
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if f.Verdict(4) == calibrate.Missed || f.Of < int(.9*sets) {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}

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
