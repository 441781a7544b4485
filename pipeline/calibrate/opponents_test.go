package calibrate

import (
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestFaced judges opponents in 60 leagues a design, 20 where time is short; bars
// give way by four Monte Carlo errors.
func TestFaced(t *testing.T) {
	sets := 60.
	if testing.Short() {
		sets = 20
	}
	findings, err := faced(t.Context(), calibrate.Options{Scale: sets / facedSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	if len(findings) != 3*len(facedDesigns) {
		t.Errorf("%d findings", len(findings))
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if f.Verdict(4) == calibrate.Missed {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}
