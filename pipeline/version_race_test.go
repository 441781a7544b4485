package pipeline

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sill/pipeline/publish"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// TestChangesOfARace: where another run publishes between the comparison and the
// commit, the comparison is made again with that one's version.
func TestChangesOfARace(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "harbour")
	t.Cleanup(func() {
		filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
			if err == nil && d.IsDir() {
				return os.Chmod(name, 0o755)
			}
			return err
		})
	})
	store := publish.Options{Dir: dir, Created: time.Unix(1, 0)}
	version := func(seed uint64) publish.Version {
		return publish.Version{Algorithm: "1", Seed: seed, Tables: &thresholds.Tables{},
			Inputs: []thresholds.Input{{Name: "season", SHA256: fmt.Sprint(seed)}}}
	}
	rivals := 0
	commit := func(ctx context.Context, o publish.Options, v publish.Version) (*publish.Committed, error) {
		if rivals < 2 {
			rivals++
			if _, err := publish.Commit(ctx, o, version(uint64(10+rivals))); err != nil {
				t.Fatal(err)
			}
		}
		return publish.Commit(ctx, o, v)
	}
	out, err := commitSince(t.Context(), store, version(1), &tally.Tally{}, commit)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(filepath.Join(out.Dir, "CHANGES.md"))
	if err != nil || rivals != 2 || !strings.Contains(string(raw), "Changes since "+out.Parent) {
		t.Errorf("%s follows %s after %d rivals: %v\n%s", out.Version, out.Parent, rivals, err, raw)
	}
}
