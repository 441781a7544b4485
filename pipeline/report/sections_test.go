package report

import (
	"reflect"
	"testing"
)

// TestContrastsOfSplits demands that comparisons of splits are neither counted
// nor shown among those over all pitches.
func TestContrastsOfSplits(t *testing.T) {
	tables, m := fixture()
	want := tellContrasts(tables.Contrasts, &m, DefaultReference)
	if len(want.Edges) != 2 || want.NotEstimable != 1 || len(want.Levels) != 1 {
		t.Fatalf("over all pitches: %+v", want)
	}
	for _, c := range tables.Contrasts {
		c.Stratum = "fastball_height_third:upper"
		tables.Contrasts = append(tables.Contrasts, c)
	}
	if got := tellContrasts(tables.Contrasts, &m, DefaultReference); !reflect.DeepEqual(got, want) {
		t.Errorf("with those of a split: %+v, want %+v", got, want)
	}
}
