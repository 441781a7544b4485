package page

import (
	"reflect"
	"testing"

	"sill/pipeline/thresholds"
)

// TestContrastsOfSplits demands that comparisons of splits are neither counted
// nor shown among those over all pitches.
func TestContrastsOfSplits(t *testing.T) {
	tables, m := fixture()
	want := tellContrasts(tables.Contrasts, &m, thresholds.HeadlineReference)
	if len(want.Edges) != 2 || want.NotEstimable != 1 || len(want.Levels) != 1 {
		t.Fatalf("over all pitches: %+v", want)
	}
	for _, c := range tables.Contrasts {
		c.Stratum = "fastball_height_third:upper"
		tables.Contrasts = append(tables.Contrasts, c)
	}
	if got := tellContrasts(tables.Contrasts, &m, thresholds.HeadlineReference); !reflect.DeepEqual(got, want) {
		t.Errorf("with those of a split: %+v, want %+v", got, want)
	}
}

// TestHandsAndFacing demands what splits, travels, or stands out in a row of its
// own, the rest in a count, and nothing of splits.
func TestHandsAndFacing(t *testing.T) {
	tables, m := fixture()
	for _, c := range tables.Contrasts {
		c.Stratum = "fastball_height_third:upper"
		tables.Contrasts = append(tables.Contrasts, c)
	}
	h := tellHands(tables.Contrasts, &m)
	if h.All != 3 || h.Splits != 1 || h.Travels != 1 || h.Untold != 1 || len(h.Rows) != 2 {
		t.Fatalf("across hands: %+v", h)
	}
	want := []gap{{"90.9", "−.020", "−.040\u00a0to\u00a0.000"}, {"92.9", ".000", "−.020\u00a0to\u00a0+.020"}, {"94.9", "+.020", ".000\u00a0to\u00a0+.040"}}
	if r := h.Rows[0]; !reflect.DeepEqual(r.Thirds, want) || r.Means != "same-handed" || r.Change.By != "+.047" {
		t.Errorf("what splits: %+v", r)
	}
	f := tellFacing(tables.Opponents)
	if f.Told != 3 || f.Clear != 2 || len(f.Rows) != 2 || f.Rows[0].Batters != "worse" || f.Rows[1].Batters != "better" || f.Rows[1].By != "+.031" {
		t.Errorf("who was facing: %+v", f)
	}
}

// TestSplits: the sentence counts by the page's line only, and names what ran out.
func TestSplits(t *testing.T) {
	row := func(stratum, verdict string) thresholds.Verdict {
		return thresholds.Verdict{Key: thresholds.Key{Stratum: stratum}, Reference: "pitch_type_median", Verdict: verdict}
	}
	other := row("count:even", "too_few")
	other.Reference = "pitch_type_rate"
	got := tellSplits([]thresholds.Verdict{row("", "too_few"), row("count:ahead", "too_few"), row("count:ahead", "found"), row("count:ahead", "too_few"),
		row("count:two_strikes", "found"), row("count:two_strikes", "too_few"), other, row("season:2031", "inconclusive")}, "pitch_type_median")
	want := []string{"Split by count: too few pitches or pitchers in 3 of 5 cells. Ran out of data: ahead (2 of 3).",
		"Split by season: too few pitches or pitchers in 0 of 1 cell."}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q", got)
	}
}
