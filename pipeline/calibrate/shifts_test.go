package calibrate

import (
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestShifts seeks shifts of the instrument in 40 leagues a design, 12 where time is short; bars
// give way by four Monte Carlo errors.
func TestShifts(t *testing.T) {
	sets := 40.
	if testing.Short() {
		sets = 12
	}
	findings, err := shifts(t.Context(), calibrate.Options{Scale: sets / shiftSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	if len(findings) != 2*len(shiftDesigns)-1 {
		t.Errorf("%d findings", len(findings))
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if f.Verdict(4) == calibrate.Missed {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}
