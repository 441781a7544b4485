package ingest

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/parquet-go/parquet-go"
	"go.yaml.in/yaml/v3"
)

func inspected(t *testing.T, p *Profile) *Inspection {
	t.Helper()
	types := nodes()
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{throw("G", 1, 1), throw("G", 1, 2, "speed", nil, "kind", "odd"), throw("G", 1, 3, "speed", math.NaN()),
		throw("G", 1, 4, "speed", 500.0), throw("G", 1, 5, "speed", 88.0)}, parquet.MaxRowsPerRowGroup(2))
	in, err := Inspect(t.Context(), File{Path: path, Name: "a.parquet"}, p)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func (in *Inspection) column(name string) ColumnInfo {
	for _, c := range in.Columns {
		if c.Name == name {
			return c
		}
	}
	return ColumnInfo{}
}

func (in *Inspection) coverage(name string) Coverage {
	for _, c := range in.Coverage {
		if c.Column == name {
			return c
		}
	}
	return Coverage{}
}

func TestInspect(t *testing.T) {
	in := inspected(t, profile())
	if in.Rows != 5 || in.RowGroups != 3 || !in.PageCRC || len(in.Columns) != 17 || !strings.HasPrefix(in.CreatedBy, "sill tests") {
		t.Errorf("%+v", in)
	}
	ignore := cmpopts.IgnoreUnexported(ColumnInfo{})
	want := ColumnInfo{Name: "speed", Class: "number", Type: "DOUBLE", Nulls: 1, NaNs: 1, Min: "88", Max: "500", Distinct: 3,
		Values: []ValueCount{{"500", 1}, {"88", 1}, {"93.4", 1}}}
	if diff := cmp.Diff(want, in.column("speed"), ignore); diff != "" {
		t.Error(diff)
	}
	want = ColumnInfo{Name: "kind", Class: "text", Type: "STRING", Distinct: 2, Values: []ValueCount{{"fast", 4}, {"odd", 1}}}
	if diff := cmp.Diff(want, in.column("kind"), ignore); diff != "" {
		t.Error(diff)
	}
	for _, want := range []Coverage{
		{Column: "pitch_type", Required: true, State: "mapped", Source: "kind", Values: 4, Unmapped: []ValueCount{{"odd", 1}}},
		{Column: "velocity", State: "mapped", Source: "speed", Values: 2, Faults: 1, Unmapped: []ValueCount{}},
		{Column: "spin_rate", State: "unmapped", Unmapped: []ValueCount{}},
		{Column: "plate_side", State: "derived", Unmapped: []ValueCount{}},
	} {
		if diff := cmp.Diff(want, in.coverage(want.Column)); diff != "" {
			t.Error(diff)
		}
	}
	if len(in.Problems) != 0 {
		t.Errorf("problems %q", in.Problems)
	}
	p := profile()
	delete(p.Columns, "hand")
	p.Season = 31
	if in := inspected(t, p); len(in.Problems) != 2 {
		t.Errorf("problems of the profile: %q", in.Problems)
	}
	p = profile().edit("hand", func(c *Column) { c.Column = "arms" }).edit("spin_rate", func(c *Column) { c.Column, c.Unit = "x", "rpm" })
	if in := inspected(t, p); len(in.Problems) != 1 || !strings.Contains(in.Problems[0], `"arms"`) || in.coverage("spin_rate").State != "absent" {
		t.Errorf("problems of the file: %q", in.Problems)
	}
}

// TestStarter reads the starter profile back, with its questions answered, and
// runs it.
func TestStarter(t *testing.T) {
	types := map[string]parquet.Node{"Game.Id": textNode, "PitcherId": intNode, "pitcherThrows": textNode, "batter_side": textNode, "Pitch Type": textNode,
		"pitch_call": textNode, "Game Date": textNode, "release.speed": doubleNode, "vertical_movement": doubleNode, "horizontal_movement": doubleNode,
		"release_height": doubleNode, "spin": doubleNode, "odd one": textNode, "inning_half": textNode, "batterId": intNode,
		"play result": textNode}
	base := row{"Game.Id": "g", "PitcherId": 1, "pitcherThrows": "L", "batter_side": "Right", "Pitch Type": "Four-Seam Fastball", "pitch_call": "SwingingStrike",
		"Game Date": "13.4.2031", "release.speed": 42.0, "vertical_movement": 40.0, "horizontal_movement": -22.0, "release_height": 1.9, "spin": 2300.0,
		"odd one": "x", "inning_half": "Top", "batterId": 5, "play result": "Intentional Walk"}
	path := filepath.Join(t.TempDir(), "a.parquet")
	writeRows(t, path, types, []row{base, base.with("pitcherThrows", "R", "Pitch Type", "Slider", "pitch_call", "in play", "inning_half", "Bottom",
		"vertical_movement", -51.0, "horizontal_movement", 44.0, "play result", "Double Play")})
	in, err := Inspect(t.Context(), File{Path: path, Name: "a.parquet"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	text := string(Starter(in))
	for _, want := range []string{
		`column: "release.speed"`, "unit: m/s", "unit: cm", "unit: m  #", `{from: "L", to: left}`, `{from: "Right", to: right}`,
		`{from: "SwingingStrike", to: swinging_strike}`, `{from: "in play", to: in_play}`, `{from: "Slider", to: slider}`,
		`{from: "Four-Seam Fastball", to: "?"}`, "format: day.month.year", `positive: "?"`, `{from: "Bottom", to: 2}`, `{from: "Intentional Walk", to: [walk, intentional]}`,
		`{from: "Double Play", to: [out, double_play]}`, `#   "odd one"`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the starter lacks %s", want)
		}
	}
	var raw map[string]any
	if err := yaml.Unmarshal([]byte(text), &raw); err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	p := decodeProfile(t, raw)
	if err := p.Validate(); err == nil || !strings.Contains(err.Error(), `"?"`) {
		t.Errorf("open questions are accepted: %v", err)
	}
	answered := strings.NewReplacer(`positive: "?"`, "positive: arm_side", `to: "?"`, "to: four_seam").Replace(text)
	raw = nil
	if err := yaml.Unmarshal([]byte(answered), &raw); err != nil {
		t.Fatal(err)
	}
	p = decodeProfile(t, raw)
	_, r, lines := run(t, []File{{Path: path, Name: "a.parquet"}}, p, DefaultOptions())
	if r.RowsUsed != 2 || !strings.Contains(lines[0], "2031-04-13") || !strings.Contains(lines[0], "four_seam swinging_strike") {
		t.Errorf("%v\nof\n%s", lines, answered)
	}
}
