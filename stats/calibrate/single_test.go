package calibrate

import (
	"context"
	"testing"
)

// narrowed puts the data themselves in place of fifteen replicates in sixteen,
// which leaves a quarter of every standard error of the first kind of cluster, and
// counts every event of a part 25 times, which limits of edges rest on.
func narrowed(g *dataset) {
	crowded(g)
	narrowDraws(g.draws, 16)
}

// The studies that rest on draws miss bars, by more than chance explains, when
// standard errors are too small.
func TestSingleStudiesNotice(t *testing.T) {
	if testing.Short() {
		t.Skip("simulations")
	}
	for _, s := range singleStudies() {
		scale, ok := map[string]float64{"curves": .03, "levels": .03, "line": .03, "two_way": .02, "angle": .05}[s.Name]
		if !ok {
			continue
		}
		t.Run(s.Name, func(t *testing.T) {
			findings, err := s.Run(context.Background(), Options{Scale: scale, Workers: 2, Seed: 1, spoil: narrowed})
			if err != nil {
				t.Fatal(err)
			}
			missed := 0
			for _, f := range findings {
				if f.Verdict(3.5) == Missed {
					missed++
					t.Logf("%s: %s: %.4f ± %.4f, bar %s", f.Design, f.Measure, f.Value, f.SE, f.Bar)
				}
			}
			if missed == 0 {
				t.Error("standard errors that are too small were not noticed")
			}
		})
	}
}
