package pipeline_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"sill/pipeline"
	"sill/pipeline/analysis/compare"
	"sill/pipeline/demo"
	"sill/pipeline/thresholds"
)

// TestChanges publishes a season and then the next one: each version tells what
// it changed, in the same bytes wherever it is made, and what it tells is what
// comparing the two published versions gives.
func TestChanges(t *testing.T) {
	if testing.Short() {
		t.Skip("plays seasons")
	}
	file := writeDemo(t, func(o *demo.Options) { o.Seasons = 2 })
	seasons, err := filepath.Glob(filepath.Join(filepath.Dir(file), "season=*"))
	if err != nil || len(seasons) != 2 {
		t.Fatalf("seasons %v: %v", seasons, err)
	}
	publish := func(out string) [2]*pipeline.Result {
		var both [2]*pipeline.Result
		for i, season := range seasons {
			both[i] = runQuick(t, file, func(o *pipeline.Options) { o.Inputs, o.Output = []string{season}, out })
		}
		return both
	}
	read := func(r *pipeline.Result, name string) []byte {
		t.Helper()
		b, err := os.ReadFile(filepath.Join(r.Dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	out := t.TempDir()
	t.Cleanup(func() { writable(out) })
	both := publish(out)
	if s := string(read(both[0], "CHANGES.md")); !strings.Contains(s, "first version") {
		t.Errorf("the first version says\n%s", s)
	}
	var first, second compare.Document
	if err := errors.Join(json.Unmarshal(read(both[0], "diff.json"), &first), json.Unmarshal(read(both[1], "diff.json"), &second)); err != nil {
		t.Fatal(err)
	}
	if first.Basis != compare.BasisNone || len(first.Rows) != 0 {
		t.Errorf("the first version's diff.json: basis %s, %d rows", first.Basis, len(first.Rows))
	}
	if second.From.Version != "v1.0.0" || second.Basis != compare.BasisJoint || len(second.Rows) == 0 || second.SharedPitchers == 0 {
		t.Errorf("the second version's diff.json: from %+v, basis %s, %d rows", second.From, second.Basis, len(second.Rows))
	}
	if s := string(read(both[1], "CHANGES.md")); !strings.Contains(s, "Changes since v1.0.0") || !strings.Contains(s, second.Summary) {
		t.Errorf("the second version says\n%s", s)
	}

	page := string(read(both[1], "report.html"))
	for _, want := range []string{"<title>lantern v1.1.0: ", second.Summary} {
		if !strings.Contains(page, want) {
			t.Errorf("the second version's page does not say %q", want)
		}
	}

	store := filepath.Dir(both[1].Dir)
	var sides [2]compare.Side
	for i, r := range both {
		table, err := thresholds.Open(r.Dir)
		if err != nil {
			t.Fatal(err)
		}
		listed := 0
		for _, f := range table.Manifest().Outputs {
			if f.Path == "CHANGES.md" || f.Path == "diff.json" {
				listed++
			}
		}
		if listed != 2 {
			t.Errorf("%s: the manifest lists %d of the two files", r.Version, listed)
		}
		if sides[i], err = compare.Kept(store, table); err != nil || sides[i].Tally == nil {
			t.Fatalf("%s: counts %v, %v", r.Version, sides[i].Tally != nil, err)
		}
	}
	d, err := compare.Compare(context.Background(), sides[0], sides[1], compare.DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(d.Rows, second.Rows) {
		t.Error("the published comparison is not that of the published versions")
	}

	elsewhere := t.TempDir()
	t.Cleanup(func() { writable(elsewhere) })
	again := publish(elsewhere)
	for _, name := range []string{"CHANGES.md", "diff.json", "report.html"} {
		if !bytes.Equal(read(both[1], name), read(again[1], name)) {
			t.Errorf("%s differs in another folder", name)
		}
	}
}
