package pipeline_test

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"sill/pipeline"
	"sill/pipeline/demo"
)

// writeDemo writes a small demo season and returns its configuration file.
func writeDemo(t *testing.T, adjust func(*demo.Options)) string {
	t.Helper()
	o := demo.DefaultOptions()
	o.Dir, o.Pitches = filepath.Join(t.TempDir(), "lantern"), 40_000
	if adjust != nil {
		adjust(&o)
	}
	if _, err := demo.Write(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(o.Dir, "sill.yaml")
}

// TestSameBytes: the tables depend on the pitches, settings and seed alone.
func TestSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("plays seasons")
	}
	file := writeDemo(t, nil)
	base := runQuick(t, file, nil)
	if len(base.Tables.Verdicts) == 0 || len(base.Tables.Bins) == 0 {
		t.Fatal("the season's table is empty")
	}

	t.Run("one core", func(t *testing.T) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
		sameTables(t, "one core", base.Dir, runQuick(t, file, nil).Dir)
	})
	t.Run("files in another order", func(t *testing.T) {
		reversed := func(o *pipeline.Options) {
			var files []string
			root := filepath.Dir(file)
			filepath.WalkDir(root, func(name string, d os.DirEntry, err error) error {
				if strings.HasSuffix(name, ".parquet") {
					files = append(files, name)
				}
				return err
			})
			slices.Reverse(files)
			o.Inputs = files
		}
		sameTables(t, "other order", base.Dir, runQuick(t, file, reversed).Dir)
	})
	t.Run("small row groups", func(t *testing.T) {
		small := writeDemo(t, func(o *demo.Options) { o.RowGroup = 1000 })
		sameTables(t, "row groups", base.Dir, runQuick(t, small, nil).Dir)
	})
	t.Run("another seed", func(t *testing.T) { // the comparison can fail
		other := runQuick(t, file, func(o *pipeline.Options) { o.Seed = 2 })
		a, b := tableBytes(t, base.Dir), tableBytes(t, other.Dir)
		if string(a["verdicts.csv"]) == string(b["verdicts.csv"]) {
			t.Error("another seed gives the same verdicts to the last digit")
		}
	})
	t.Run("again", func(t *testing.T) {
		out := t.TempDir()
		t.Cleanup(func() { writable(out) })
		into := func(o *pipeline.Options) { o.Output = out }
		first, second := runQuick(t, file, into), runQuick(t, file, into)
		if first.Unchanged || !second.Unchanged || second.Version != first.Version {
			t.Errorf("first %s unchanged %v, second %s unchanged %v", first.Version, first.Unchanged, second.Version, second.Unchanged)
		}
	})
}
