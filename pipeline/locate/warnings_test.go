package locate

import (
	"testing"

	"sill/pipeline/thresholds"
	"sill/stats"
)

// TestHints: an edge warns of itself where it is weak and neither of the two zones
// that it parts is certain anywhere.
func TestHints(t *testing.T) {
	zone := func(lower, upper int, certain ...stats.Stretch) stats.Zone {
		return stats.Zone{Lower: stats.Side{Edge: lower}, Upper: stats.Side{Edge: upper}, Certain: certain}
	}
	sure := stats.Stretch{Lo: 90, Hi: 92}
	for _, c := range []struct {
		name  string
		zones []stats.Zone
		weak  []bool
		want  bool
	}{
		{"weak, nothing certain", []stats.Zone{zone(-1, 0), zone(0, -1)}, []bool{true}, true},
		{"firm, nothing certain", []stats.Zone{zone(-1, 0), zone(0, -1)}, []bool{false}, false},
		{"weak, certain below", []stats.Zone{zone(-1, 0, sure), zone(0, -1)}, []bool{true}, false},
		{"weak, certain above", []stats.Zone{zone(-1, 0), zone(0, -1, sure)}, []bool{true}, false},
		{"two weak, certain beside one alone", []stats.Zone{zone(-1, 0, sure), zone(0, 1), zone(1, -1)}, []bool{true, true}, true},
		{"two weak, certain between them", []stats.Zone{zone(-1, 0), zone(0, 1, sure), zone(1, -1)}, []bool{true, true}, false},
		{"no edge", []stats.Zone{zone(-1, -1)}, nil, false},
	} {
		var edges []stats.Edge
		for _, w := range c.weak {
			edges = append(edges, stats.Edge{Weak: w})
		}
		if got := hints(c.zones, edges); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// TestGrades: every warning has one of the two grades, a meaning, and a code of its own.
func TestGrades(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range Warnings() {
		if w.Grade != thresholds.Reading && w.Grade != thresholds.Background || w.Meaning == "" || seen[w.Code] {
			t.Errorf("%+v", w)
		}
		seen[w.Code] = true
	}
}
