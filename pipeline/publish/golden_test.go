package publish

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// goldenStore is a published store that readers of every later sill must open.
const goldenStore = "../thresholds/testdata/harbour"

// TestGolden publishes the small version and compares every file with the
// golden store, byte by byte. SILL_GOLDEN=1 writes the store anew.
func TestGolden(t *testing.T) {
	dir := newStore(t)
	mustCommit(t, optionsFor(dir), small(0))
	if os.Getenv("SILL_GOLDEN") != "" {
		if err := os.RemoveAll(goldenStore); err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{"_log", "v1.0.0", "catalog.json", "LATEST"} {
			copyTo(t, filepath.Join(dir, part), filepath.Join(goldenStore, part))
		}
	}
	seen := 0
	err := filepath.WalkDir(goldenStore, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		want, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(goldenStore, p)
		got, err := os.ReadFile(filepath.Join(dir, rel))
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s differs from the golden file (%v)", rel, err)
		}
		seen++
		return nil
	})
	files := 0
	walk := filepath.WalkDir(filepath.Join(dir, "v1.0.0"), func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files++
		}
		return err
	})
	if err != nil || walk != nil || seen != files+3 {
		t.Errorf("%d golden files, want %d and 3 of the store (%v, %v)", seen, files, err, walk)
	}
}

func copyTo(t *testing.T, from, to string) {
	t.Helper()
	err := filepath.WalkDir(from, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(from, p)
		target := filepath.Join(to, rel)
		if d.IsDir() {
			return os.MkdirAll(target, 0o755)
		}
		if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
			return err
		}
		b, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		return os.WriteFile(target, b, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
}
