package pipeline_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/demo"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/publish"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// headlineOf returns the rows of a published table that no stratum has made.
func headlineOf(t *testing.T, raw []byte) []string {
	t.Helper()
	records, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	stratum, reference := slices.Index(records[0], "stratum"), slices.Index(records[0], "reference")
	var out []string
	for _, r := range records {
		if stratum >= 0 && r[stratum] != "" && r[stratum] != "stratum" || reference >= 0 && strings.Contains(r[reference], "@") {
			continue
		}
		out = append(out, strings.Join(r, "\x00"))
	}
	return out
}

// TestStrataLeaveEveryHeadlineByte: with more strata asked for, the headline view
// keeps its bytes and every other table the rows of all pitches; the hand-over
// keeps the strata.
func TestStrataLeaveEveryHeadlineByte(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a season")
	}
	file := writeDemo(t, func(o *demo.Options) { o.Pitches = 60_000 })
	with := func(strata ...string) *pipeline.Result {
		return runQuick(t, file, func(o *pipeline.Options) {
			o.Strata, o.Variables = strata, []string{"velocity", "vertical_approach_angle"}
		})
	}
	asked := []string{tally.FastballThirds, "zone_part", "count", "season"}
	without, split := with(), with(asked...)
	a, b := tableBytes(t, without.Dir), tableBytes(t, split.Dir)
	for _, ext := range []string{"csv", "json", "parquet", "arrow"} {
		if !bytes.Equal(a["thresholds."+ext], b["thresholds."+ext]) {
			t.Errorf("thresholds.%s changed", ext)
		}
	}
	for name := range a {
		if !strings.HasSuffix(name, ".csv") {
			continue
		}
		if want, got := headlineOf(t, a[name]), headlineOf(t, b[name]); !slices.Equal(want, got) || len(want) < 2 {
			t.Errorf("%s: %d rows of all pitches, %d with strata, not the same", name, len(want), len(got))
		}
	}
	seen := map[string]int{}
	for _, v := range split.Tables.Verdicts {
		name, _, _ := strings.Cut(v.Stratum, ":")
		if seen[name]++; name == tally.FastballThirds && v.PitchType != "four_seam" && v.PitchType != "sinker" {
			t.Errorf("%s splits %s", name, v.PitchType)
		}
	}
	if want := append([]string{""}, asked...); len(seen) != len(want) {
		t.Errorf("verdicts of %v, want those of %q", slices.Collect(maps.Keys(seen)), want)
	}

	table, err := thresholds.Open(split.Dir)
	if err != nil {
		t.Fatal(err)
	}
	families := []string{}
	for _, f := range table.Manifest().Families {
		families = append(families, f.Name)
		shown := map[string]bool{} // families with a rejection, which are those selected
		for _, v := range split.Tables.Verdicts {
			name, _, _ := strings.Cut(v.Stratum, ":")
			if (name == f.Name || name == "" && f.Name == "headline") && v.Outcome != locate.Joint && v.Q != nil && *v.Q <= .10 {
				shown[v.Variable+v.Outcome] = true
			}
		}
		if f.Selected != len(shown) || f.Families < f.Selected || f.Tests < f.Families {
			t.Errorf("%+v, %d families reject something", f, len(shown))
		}
	}
	if want := append([]string{"headline"}, slices.Sorted(slices.Values(asked))...); !slices.Equal(families, want) {
		t.Errorf("families %q, want %q", families, want)
	}
	raw, err := publish.Handover(filepath.Dir(split.Dir), table.Manifest().Handover)
	if err != nil {
		t.Fatal(err)
	}
	counts, err := tally.Read(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(counts.Strata, asked) {
		t.Errorf("the hand-over holds strata %q, want %q", counts.Strata, asked)
	}
}

// TestStratumTheSourceLacks: asked for by name it is an error that names the fix;
// the default is left out with a note.
func TestStratumTheSourceLacks(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a season")
	}
	file := writeDemo(t, func(o *demo.Options) { o.Pitches = 8_000 })
	flat := func(o *pipeline.Options) { // nothing tells the height at the plate
		maps.DeleteFunc(o.Profile.Columns, func(name string, _ ingest.Column) bool {
			return name == "plate_height" || name == "plate_side" || name != "position_player" && strings.HasPrefix(name, "position_") ||
				name != "velocity" && strings.HasPrefix(name, "velocity_") || strings.HasPrefix(name, "acceleration_")
		})
	}
	r := runQuick(t, file, flat)
	noted := slices.ContainsFunc(r.Notes, func(n string) bool {
		return strings.Contains(n, "no_stratum: "+tally.FastballThirds) && strings.Contains(n, "plate_height")
	})
	if !noted || r.Version == "" {
		t.Errorf("notes %q of version %q", r.Notes, r.Version)
	}
	for _, v := range r.Tables.Verdicts {
		if v.Stratum != "" {
			t.Fatalf("stratum %s", v.Stratum)
		}
	}
	resolved, err := config.Load(nil, file, nil)
	if err != nil {
		t.Fatal(err)
	}
	o := resolved.Options
	o.Output, o.Strata = t.TempDir(), []string{"zone_part", "level", "season"}
	flat(&o)
	_, err = pipeline.Run(context.Background(), o)
	if !errors.Is(err, pipeline.ErrStratum) {
		t.Fatalf("error %v", err)
	}
	for _, want := range []string{"zone_part: the source does not tell plate_height, plate_side", "level: the source does not tell level", "map it in the profile"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("error %q lacks %q", err, want)
		}
	}
	if strings.Contains(err.Error(), "season") {
		t.Errorf("error %q blames the season", err)
	}
}
