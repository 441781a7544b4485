package publish

import (
	"errors"
	"io/fs"
	"os"
	"testing"

	"sill/pipeline/thresholds"
)

// TestFollows: what was told of another parent is not published, and leaves
// nothing behind.
func TestFollows(t *testing.T) {
	o := optionsFor(newStore(t))
	v := small(2)
	none, first := "", "v1.0.0"
	v.Follows = &none
	if c := mustCommit(t, o, v); c.Version != first {
		t.Fatalf("the first version is %s", c.Version)
	}
	v.Seed++
	if _, err := Commit(t.Context(), o, v); !errors.Is(err, ErrParent) || !errors.Is(err, ErrConflict) {
		t.Fatalf("made to follow none: %v", err)
	}
	if log := mustLog(t, o.Dir); len(log) != 1 {
		t.Errorf("the log holds %d entries", len(log))
	}
	v.Follows = &first
	if c := mustCommit(t, o, v); c.Parent != first {
		t.Errorf("the second version follows %q", c.Parent)
	}
}

// TestHandoverRead: a kept hand-over is read back; one that is gone and one that
// was changed are told apart.
func TestHandoverRead(t *testing.T) {
	o := optionsFor(newStore(t))
	v := small(2)
	v.Handover = []byte("counts")
	mustCommit(t, o, v)
	sum := hashOf(v.Handover)
	if b, err := Handover(o.Dir, sum); err != nil || string(b) != "counts" {
		t.Errorf("read %q: %v", b, err)
	}
	if _, err := Handover(o.Dir, hashOf([]byte("others"))); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a hand-over that is not kept: %v", err)
	}
	if _, err := Handover(o.Dir, "../catalog.json"); err == nil {
		t.Error("a name that leads elsewhere is read")
	}
	s := &store{dir: o.Dir}
	file := s.path(handoverDir, sum)
	if err := os.Chmod(file, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte("count5"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := Handover(o.Dir, sum); !errors.Is(err, thresholds.ErrIntegrity) {
		t.Errorf("a hand-over that was changed: %v", err)
	}
}
