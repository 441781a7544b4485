package main

import (
	"slices"
	"testing"

	leagues "sill/pipeline/calibrate"
	"sill/stats/calibrate"
)

// TestNames: a report keeps one result a name, so no two studies may share one.
func TestNames(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range slices.Concat(calibrate.Studies(), leagues.Studies()) {
		if seen[s.Name] || s.Asks == "" {
			t.Errorf("study %q is named twice or asks nothing", s.Name)
		}
		seen[s.Name] = true
	}
}
