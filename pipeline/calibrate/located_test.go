package calibrate

import (
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestLocated holds location in 40 leagues a design, 12 where time is short; bars
// give way by four Monte Carlo errors.
func TestLocated(t *testing.T) {
	sets := 40.
	if testing.Short() {
		sets = 12
	}
	findings, err := holdings(t.Context(), calibrate.Options{Scale: sets / locatedSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	if len(findings) != 9*len(locatedDesigns)-4 { // of height alone there is no breakpoint
		t.Errorf("%d findings", len(findings))
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if f.Verdict(4) == calibrate.Missed || f.Of < int(.5*sets) {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}
