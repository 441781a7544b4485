package calibrate

import (
	"math"
	"runtime"
	"testing"

	"sill/stats/calibrate"
)

// reduced runs a study of full size full on so many sets.
func reduced(t *testing.T, study run, full, sets int) []calibrate.Finding {
	t.Helper()
	findings, err := study(t.Context(), calibrate.Options{Scale: float64(sets) / float64(full), Workers: runtime.GOMAXPROCS(0), Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		t.Logf("%s: %s %.4f ± %.4f of %d", f.Design, f.Measure, f.Value, f.SE, f.Of)
	}
	return findings
}

// small runs a study reduced, the smaller where time is short. It demands so many
// findings, each of a share of so many sets at least and at its bar.
func small(t *testing.T, study run, full, sets, short, want int, share float64) {
	t.Helper()
	if testing.Short() {
		sets = short
	}
	findings := reduced(t, study, full, sets)
	if len(findings) != want {
		t.Errorf("%d findings, want %d", len(findings), want)
	}
	for _, f := range findings {
		if math.IsNaN(f.Value) || f.Verdict(4) == calibrate.Missed || f.Of < int(share*float64(sets)) {
			t.Errorf("%s: %s is %.4f ± %.4f of %d, want %s", f.Design, f.Measure, f.Value, f.SE, f.Of, f.Bar)
		}
	}
}

// missed lists the findings that miss their bars, which give way by four Monte Carlo
// errors.
func missed(findings []calibrate.Finding) (out []string) {
	for _, f := range findings {
		if f.Verdict(4) == calibrate.Missed {
			out = append(out, f.Design+": "+f.Measure)
		}
	}
	return out
}

// Leagues are fewer where time is short; 12 grade, of fewer leagues all may hold by
// chance.
func TestSmallLeagues(t *testing.T) {
	for _, c := range []struct {
		name              string
		study             run
		full, sets, short int
		findings          int
		share             float64 // of the sets that every finding rests on at least
	}{
		{"trials", trials, trialSets, 100, 20, 3 * len(trialDesigns), .9},
		{"faced", faced, facedSets, 60, 20, 3 * len(facedDesigns), 0},
		{"located", holdings, locatedSets, 40, 12, 9*len(locatedDesigns) - 4, .5}, // of height alone there is no breakpoint
		{"stacked", stacks, stackSets, 40, 12, 6 * len(stackDesigns), .4},
		{"shifts", shifts, shiftSets, 40, 12, 2*len(shiftDesigns) - 1, 0},
		{"trends", trends, trendSets, 30, 8, 3*len(trendSizes) + 3, 0},
		{"persistence", persistences, persistSets, 40, 10, 4 * 5 * len(persistDesigns), 0},
		{"slopes", slopes, slopeSets, 80, 20, 4 * len(slopeDesigns), 0},
		{"standings", standings, standingSets, 15, 4, 5 * len(standingDesigns), 0},
	} {
		t.Run(c.name, func(t *testing.T) { small(t, c.study, c.full, c.sets, c.short, c.findings, c.share) })
	}
}
