package calibrate

import (
	"math"
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestGrades grades 12 leagues a design, 3 where time is short; bars give way by four
// Monte Carlo errors.
func TestGrades(t *testing.T) {
	sets := 12.
	if testing.Short() {
		sets = 3
	}
	findings, err := grades(t.Context(), calibrate.Options{Scale: sets / gradeSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if math.IsNaN(f.Value) || f.Verdict(4) == calibrate.Missed {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}
