// Consumer is a grading tool in a module of its own: it opens a store and
// grades a few pitches.
package main

import (
	"fmt"
	"os"

	"sill/pipeline/thresholds"
)

func main() {
	table, err := thresholds.Open(os.Args[1], thresholds.WithMajor(1),
		thresholds.WithDefinitions(map[string]string{"velocity": "velocity/release/mph"}))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for _, p := range []struct {
		hand, side, pitchType string
		velocity              float64
	}{
		{"left", "left", "four_seam", 95},
		{"left", "left", "four_seam", 90},
		{"left", "left", "four_seam", 93.25},
		{"left", "left", "four_seam", 101},
		{"left", "right", "four_seam", 95},
		{"right", "right", "cutter", 90},
	} {
		key := thresholds.Key{Hand: p.hand, Side: p.side, PitchType: p.pitchType, Variable: "velocity", Outcome: "whiff_rate"}
		a, err := table.Lookup(key, "pitch_type_median", p.velocity)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Printf("%s-v-%s %s %g: %s, %s, %.2f from %.2f, rate %.3f\n",
			p.hand, p.side, p.pitchType, p.velocity, a.Verdict, a.Position, a.Distance, a.Nearest, a.Rate)
	}
}
