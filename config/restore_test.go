package config

import (
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"sill/pipeline/thresholds"
)

// TestRestore: what a manifest keeps of the settings, read back from JSON, gives
// the settings that were resolved.
func TestRestore(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return file
	}
	write("profile.yaml", `
name: Harbour Circuit
season: 2031
speed_at: 50
movement_from: 50
columns:
  pitcher: {column: "thrower.id"}
  hand: {column: arm, values: [{from: 1, to: left}, {from: "02", to: right}]}
  side: {column: stands, values: [{from: true, to: left}, {from: false, to: right}]}
  pitch_type: {column: kind, values: [{from: "straight", to: four_seam}]}
  outcome: {column: Call, values: [{from: "Missed", to: swinging_strike}, {from: "ball", to: ball}]}
  velocity: {column: Speed, unit: km/h}
where:
  - {column: phase, in: ["Regular"]}
`)
	file := write("sill.yaml", `
league: harbour
inputs: [season, "more/*.parquet"]
profile: profile.yaml
seed: 18446744073709551615
variables: [velocity, extension]
widths: [{variable: velocity, width: 2}, {variable: extension, width: 0.4}]
formats: [sql]
estimate: {replicates: 500}
locate: {flips: 999, contrasts: false}
ingest: {max_reject_share: 1}
`)
	want, err := Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := json.Marshal(thresholds.Manifest{Configuration: want.Options.Settings, Seed: want.Options.Seed})
	if err != nil {
		t.Fatal(err)
	}
	var m thresholds.Manifest
	if err := json.Unmarshal(raw, &m); err != nil {
		t.Fatal(err)
	}
	got, err := Restore(m)
	if err != nil {
		t.Fatal(err)
	}
	same := func(v any) string {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	if a, b := same(want.Options.Settings), same(got.Settings); a != b {
		t.Errorf("settings for the next manifest: %s, want %s", b, a)
	}
	got.Settings, want.Options.Settings = nil, nil
	if !reflect.DeepEqual(got, want.Options) {
		t.Errorf("restored %+v\nwant %+v", got, want.Options)
	}
	if !reflect.DeepEqual(got.Profile, want.Options.Profile) {
		t.Errorf("restored %+v\nwant %+v", got.Profile, want.Options.Profile)
	}

	m.Configuration = append(m.Configuration, thresholds.Setting{Key: "estimate.replicate", Value: 5.})
	if _, err := Restore(m); err == nil || !strings.Contains(err.Error(), `unknown setting "estimate.replicate" (did you mean "estimate.replicates"?)`) {
		t.Errorf("an unknown setting: %v", err)
	}
	m.Configuration = []thresholds.Setting{{Key: "estimate.replicates", Value: 5.5}}
	if _, err := Restore(m); err == nil || !strings.Contains(err.Error(), "5.5 is not a whole number") {
		t.Errorf("a fraction: %v", err)
	}
	m.Configuration = []thresholds.Setting{{Key: profileKey, Value: "x"}}
	if _, err := Restore(m); err == nil {
		t.Error("a profile that is none")
	}
}
