package thresholds_test

import (
	"slices"
	"testing"

	"sill/pipeline/thresholds"
)

// TestReading: what a version grades as background is left out, what it does not
// grade stays, and what is asked about stays as it is.
func TestReading(t *testing.T) {
	m := thresholds.Manifest{Warnings: []thresholds.Warning{{Code: "one_pitcher", Grade: thresholds.Reading}, {Code: "gap", Grade: thresholds.Background}}}
	codes := []string{"gap", "one_pitcher", "unheard_of"}
	if got := m.Reading(codes); !slices.Equal(got, []string{"one_pitcher", "unheard_of"}) || codes[0] != "gap" {
		t.Errorf("%q of %q", got, codes)
	}
	m.Warnings = nil
	if got := m.Reading(codes); !slices.Equal(got, codes) {
		t.Errorf("of an old version %q", got)
	}
	if got := m.Reading(nil); len(got) != 0 {
		t.Errorf("%q", got)
	}
}
