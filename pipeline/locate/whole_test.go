package locate

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/thresholds"
)

// TestTakeWhole: a warning on three of five verdicts goes, from the headline view too;
// one on half of the bins stays, and rows that share a list keep the others.
func TestTakeWhole(t *testing.T) {
	shared := []string{WarnWidth, WarnBatters, WarnWeak}
	tables := &thresholds.Tables{
		Verdicts:   []thresholds.Verdict{{Warnings: shared}, {Warnings: []string{WarnBatters}}, {Warnings: shared}, {}, {Warnings: []string{WarnGap}}},
		Thresholds: []thresholds.Threshold{{Warnings: shared}, {Warnings: []string{WarnGap}}},
		Bins:       []thresholds.Bin{{Warnings: []string{WarnThin}}, {}, {Warnings: []string{WarnThin, WarnDominated}}, {}},
		References: []thresholds.Reference{{Warnings: []string{WarnRateMedian}}},
	}
	got := TakeWhole(tables)
	want := []Whole{{WarnBatters, "verdicts", 3, 5}, {WarnRateMedian, "references", 1, 1}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	left := &thresholds.Tables{
		Verdicts:   []thresholds.Verdict{{Warnings: []string{WarnWidth, WarnWeak}}, {}, {Warnings: []string{WarnWidth, WarnWeak}}, {}, {Warnings: []string{WarnGap}}},
		Thresholds: []thresholds.Threshold{{Warnings: []string{WarnWidth, WarnWeak}}, {Warnings: []string{WarnGap}}},
		Bins:       []thresholds.Bin{{Warnings: []string{WarnThin}}, {}, {Warnings: []string{WarnThin, WarnDominated}}, {}},
		References: []thresholds.Reference{{}},
	}
	if diff := cmp.Diff(left, tables); diff != "" {
		t.Error(diff)
	}
	for _, w := range got {
		if w.Meaning() == "" {
			t.Errorf("%s has no meaning", w.Code)
		}
	}
	if again := TakeWhole(tables); again != nil {
		t.Errorf("%+v", again)
	}
}
