package thresholds_test

import (
	"strings"
	"testing"

	"sill/pipeline/thresholds"
)

// oldest is a store of schema 1.0, as package publish wrote it then.
const oldest = "testdata/harbour_1_0"

// TestOlderMinor reads a version that lacks the columns which a newer minor
// added: they are null, all else is as in the newest.
func TestOlderMinor(t *testing.T) {
	table, err := thresholds.Open(oldest)
	if err != nil {
		t.Fatal(err)
	}
	old, err := table.Load()
	if err != nil {
		t.Fatal(err)
	}
	now, err := open(t).Load()
	if err != nil {
		t.Fatal(err)
	}
	if table.Manifest().SchemaVersion != "1.0" || len(old.Verdicts) != len(now.Verdicts) || len(old.Zones) != len(now.Zones) {
		t.Fatalf("schema %s, %d verdicts", table.Manifest().SchemaVersion, len(old.Verdicts))
	}
	for i, v := range old.Verdicts {
		if v.SD != nil || v.Key != now.Verdicts[i].Key || v.Events != now.Verdicts[i].Events {
			t.Errorf("verdict %d: %+v", i, v)
		}
	}
	for i, z := range old.Zones {
		if z.LowerLargestShare != nil || z.UpperWithoutOne != nil || z.Key != now.Zones[i].Key {
			t.Errorf("zone %d: %+v", i, z)
		}
	}
	a, err := table.Lookup(thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}, "", 95)
	if err != nil || a.Position != thresholds.Inside {
		t.Errorf("looked up %+v, %v", a, err)
	}
}

// TestMissingColumnOfItsOwnMinor: a file that claims the schema which has a
// column must hold it.
func TestMissingColumnOfItsOwnMinor(t *testing.T) {
	m := alone(t)
	swap(m, "zones.json", []byte(strings.ReplaceAll(string(m["zones.json"].Data), "lower_without_one", "lower_without_two")))
	table, err := thresholds.OpenFS(m)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := table.Load(); err == nil || !strings.Contains(err.Error(), "has no column lower_without_one") {
		t.Errorf("error %v", err)
	}
}
