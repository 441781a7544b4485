package calibrate

import (
	"slices"
	"testing"

	"sill/pipeline"
	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/thresholds"
)

// TestBothWays: the way without files counts and publishes exactly what the
// program makes of the season's Parquet, so that what the studies show holds for
// the program.
func TestBothWays(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a season twice")
	}
	s := demo.Lantern()
	s.Pitches = 60_000
	long, err := throughFiles(t.Context(), s, 5, func(o *pipeline.Options) {
		o.Workers, o.Strata = 2, nil // the short way counts no splits
	})
	if err != nil {
		t.Fatal(err)
	}
	short, err := published(t.Context(), s, 5)
	if err != nil {
		t.Fatal(err)
	}
	if len(long.Verdicts) == 0 || len(long.Zones) == 0 {
		t.Fatal("the season's table is empty")
	}
	warned(t, long)
	if d := difference(long, short); d != "" {
		t.Errorf("the two ways differ: %s", d)
	}
	other, err := published(t.Context(), s, 6)
	if err != nil {
		t.Fatal(err)
	}
	if difference(long, other) == "" { // the comparison can fail
		t.Error("another season gives the same table")
	}
}

// warned holds the warnings of the pitches themselves to reach the verdicts: those of
// clear cells, and no others, warn of opponents.
func warned(t *testing.T, tables *thresholds.Tables) {
	t.Helper()
	clear := map[thresholds.Key]bool{}
	for _, o := range tables.Opponents {
		if o.Variable == "" && o.Clear {
			clear[thresholds.Key{Hand: o.Hand, Side: o.Side, PitchType: o.PitchType, Outcome: o.Outcome}] = true
		}
	}
	if len(clear) == 0 {
		t.Error("no cell has clearly better or worse batters: the check needs one")
	}
	for _, v := range tables.Verdicts {
		cell := thresholds.Key{Hand: v.Hand, Side: v.Side, PitchType: v.PitchType, Outcome: v.Outcome}
		if v.Stratum == "" && v.Outcome != locate.Joint && slices.Contains(v.Warnings, locate.WarnOpponents) != clear[cell] {
			t.Errorf("%+v: warnings %v", v.Key, v.Warnings)
		}
	}
}
