package thresholds_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/thresholds"
)

// columnsFile lists the columns that each schema version added, the oldest first.
const columnsFile = "testdata/columns.txt"

// TestColumnsOfEverySchema holds the columns, their types, units and nulls against
// the list of what each schema version brought. What a version brought stays as it
// is: whoever adds a column or a resource raises thresholds.SchemaVersion, and
// SILL_GOLDEN=1 then lists the columns of the new version, never of one that is
// listed already.
func TestColumnsOfEverySchema(t *testing.T) {
	listed := strings.Split(strings.TrimSuffix(string(readFile(t, columnsFile)), "\n"), "\n")
	known := map[string]bool{}
	for _, line := range listed {
		known[schemaOf(line)] = true
	}
	if os.Getenv("SILL_GOLDEN") != "" && !known[thresholds.SchemaVersion] {
		listed = append(listed, columnsSince(thresholds.SchemaVersion)...)
		if err := os.WriteFile(columnsFile, []byte(strings.Join(listed, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var have []string
	for minor := range minorOf(thresholds.SchemaVersion) + 1 {
		have = append(have, columnsSince(fmt.Sprintf("1.%d", minor))...)
	}
	if d := cmp.Diff(listed, have); d != "" {
		t.Errorf("the schema is %s; a column added, gone or changed needs a newer one: %s", thresholds.SchemaVersion, d)
	}
}

// TestNoColumnFromTheFuture: no column and no resource, of any table, is since a
// schema that is not there yet; reading such a row type panics.
func TestNoColumnFromTheFuture(t *testing.T) {
	_ = thresholds.Resources() // panics where one is
	type later struct {
		X float64 `json:"x" since:"1.99"`
	}
	type typo struct {
		X float64 `json:"x" since:"12"`
	}
	for name, columns := range map[string]func() []thresholds.Column{"later": thresholds.Columns[later], "typo": thresholds.Columns[typo]} {
		func() {
			defer func() {
				if p := recover(); p == nil || !strings.Contains(fmt.Sprint(p), name+".X is since schema") {
					t.Errorf("%s: %v", name, p)
				}
			}()
			columns()
		}()
	}
}

// TestColumnsOfTheFirstSchema holds the list against the oldest store, which package
// publish wrote when that schema was the newest.
func TestColumnsOfTheFirstSchema(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(oldest, "v1.0.0", "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	var stored []string
	for _, file := range files {
		var doc struct {
			Resource string
			Columns  []thresholds.Column
		}
		if err := json.Unmarshal(readFile(t, file), &doc); err == nil && doc.Resource != "" {
			for _, c := range doc.Columns {
				stored = append(stored, line("1.0", doc.Resource, c))
			}
		}
	}
	now := columnsSince("1.0")
	slices.Sort(stored)
	slices.Sort(now)
	if d := cmp.Diff(stored, now); d != "" {
		t.Error(d)
	}
}

// columnsSince lists the columns that a schema version added.
func columnsSince(version string) []string {
	var out []string
	for _, r := range thresholds.Resources() {
		for _, c := range r.Columns {
			if since := newer(orFirst(r.Since), orFirst(c.Since)); since == version {
				out = append(out, line(since, r.Name, c))
			}
		}
	}
	return out
}

func line(since, resource string, c thresholds.Column) string {
	null := "required"
	if c.Nullable {
		null = "nullable"
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s.%s %s %s %s", since, resource, c.Name, c.Type, null, c.Unit))
}

func schemaOf(line string) string {
	version, _, _ := strings.Cut(line, " ")
	return version
}

func orFirst(since string) string {
	if since == "" {
		return "1.0"
	}
	return since
}

func newer(a, b string) string {
	if minorOf(a) > minorOf(b) {
		return a
	}
	return b
}

func minorOf(version string) int {
	n := 0
	if _, err := fmt.Sscanf(version, "1.%d", &n); err != nil {
		panic(err)
	}
	return n
}
