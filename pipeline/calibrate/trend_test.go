package calibrate

import (
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// TestTrends follows pitchers in 30 pairs of seasons, 8 where time is short; bars give
// way by four Monte Carlo errors.
func TestTrends(t *testing.T) {
	sets := 30.
	if testing.Short() {
		sets = 8
	}
	findings, err := trends(t.Context(), calibrate.Options{Scale: sets / trendSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	holdFindings(t, findings, err, 3*len(trendSizes)+3)
}

// TestPersistence asks how soon a number is the pitcher's in 40 leagues a design, 10
// where time is short.
func TestPersistence(t *testing.T) {
	sets := 40.
	if testing.Short() {
		sets = 10
	}
	findings, err := persistences(t.Context(), calibrate.Options{Scale: sets / persistSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	holdFindings(t, findings, err, 4*5*len(persistDesigns))
}

// TestSlopes takes slopes in 80 leagues a design, 20 where time is short.
func TestSlopes(t *testing.T) {
	sets := 80.
	if testing.Short() {
		sets = 20
	}
	findings, err := slopes(t.Context(), calibrate.Options{Scale: sets / slopeSets, Workers: runtime.GOMAXPROCS(0), Seed: 7})
	holdFindings(t, findings, err, 4*len(slopeDesigns))
}

// holdFindings demands so many findings, each at its bar but for four Monte Carlo
// errors.
func holdFindings(t *testing.T, findings []calibrate.Finding, err error, want int) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	if len(findings) != want {
		t.Errorf("%d findings, want %d", len(findings), want)
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
		if f.Verdict(4) == calibrate.Missed {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}
