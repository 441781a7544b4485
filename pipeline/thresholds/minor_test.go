package thresholds_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"sill/pipeline/thresholds"
)

// oldest is a store of schema 1.0, as package publish wrote it then.
const oldest = "testdata/harbour_1_0"

// TestOlderMinor reads a version that lacks the columns and resources which a
// newer minor added: they are null and empty, all else is as in the newest.
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
	now.Verdicts = slices.DeleteFunc(now.Verdicts, func(v thresholds.Verdict) bool { return v.Outcome == thresholds.Joint }) // of schema 1.4
	now.Zones = slices.DeleteFunc(now.Zones, func(z thresholds.Zone) bool { return z.Outcome == thresholds.Joint && z.Sign < 0 })
	if table.Manifest().SchemaVersion != "1.0" || len(old.Verdicts) != len(now.Verdicts) || len(old.Zones) != len(now.Zones) {
		t.Fatalf("schema %s, %d verdicts", table.Manifest().SchemaVersion, len(old.Verdicts))
	}
	for i, v := range old.Verdicts {
		if v.SD != nil || v.FamilyQ != nil || v.Key != now.Verdicts[i].Key || v.Events != now.Verdicts[i].Events {
			t.Errorf("verdict %d: %+v", i, v)
		}
	}
	for i, z := range old.Zones {
		if z.LowerLargestShare != nil || z.UpperWithoutOne != nil || z.Key != now.Zones[i].Key {
			t.Errorf("zone %d: %+v", i, z)
		}
	}
	before, after := table.Manifest(), open(t).Manifest()
	if before.TestedWith("") != nil {
		t.Errorf("an old version's tests were one family: %+v", before.Families)
	}
	if with := after.TestedWith(""); with == nil || with.Name != "headline" || with.Families != 1 || after.TestedWith("count:ahead") != nil {
		t.Errorf("tested with all pitches %+v, with a split that is not there %+v", with, after.TestedWith("count:ahead"))
	}
	after.Families = append(after.Families, thresholds.Tested{Name: "count", Families: 2})
	if with := after.TestedWith("count:ahead"); with == nil || with.Name != "count" {
		t.Errorf("tested with a split %+v", with)
	}
	if len(old.Slopes) != 0 || len(now.Slopes) != 2 {
		t.Errorf("%d slopes of an old version, %d of a new one", len(old.Slopes), len(now.Slopes))
	}
	if len(old.Opponents) != 0 || len(now.Opponents) != 2 {
		t.Errorf("opponents of %d cells of an old version, of %d of a new one", len(old.Opponents), len(now.Opponents))
	}
	// One certain stretch a zone then, from certain_lo to certain_hi.
	for _, x := range []float64{95, 95.5} {
		a, err := table.Lookup(thresholds.Key{Hand: "left", Side: "left", PitchType: "four_seam", Variable: "velocity", Outcome: "whiff_rate"}, "", x)
		if err != nil || a.Position != thresholds.Inside {
			t.Errorf("looked up %g: %+v, %v", x, a, err)
		}
	}
	if n, m := len(thresholds.Stretches(old.Zones)), len(thresholds.Stretches(now.Zones)); n != 4 || m != 5 {
		t.Errorf("%d stretches of an old version, %d of a new one", n, m)
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

// TestMissingResourceOfItsOwnMinor: nor may a resource be missing.
func TestMissingResourceOfItsOwnMinor(t *testing.T) {
	m := alone(t)
	renamed := func(b []byte) []byte { return bytes.ReplaceAll(b, []byte("slopes.json"), []byte("others.json")) }
	m["others.json"] = m["slopes.json"]
	delete(m, "slopes.json")
	m[thresholds.SumsFile].Data = renamed(m[thresholds.SumsFile].Data)
	seal(m, renamed(m[thresholds.ManifestFile].Data))
	table, err := thresholds.OpenFS(m)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := table.Load(); err == nil || !strings.Contains(err.Error(), "slopes.json") {
		t.Errorf("error %v", err)
	}
}
