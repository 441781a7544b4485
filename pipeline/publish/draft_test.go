package publish

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sill/pipeline/thresholds"
)

func mustDraft(t *testing.T, o Options, v Version) *Committed {
	t.Helper()
	c, err := Draft(t.Context(), o, v)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// contents reads every file of a folder.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, name := range filesOf(t, dir) {
		b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		out[name] = string(b)
	}
	return out
}

// differing lists the files that are not the same in both.
func differing(a, b map[string]string) []string {
	var out []string
	for name := range a {
		if b[name] != a[name] {
			out = append(out, name)
		}
	}
	for name := range b {
		if _, ok := a[name]; !ok {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// TestDraft: nobody sees a draft; publishing it keeps every byte; another number
// changes the manifest and checksums alone.
func TestDraft(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	d := mustDraft(t, o, small(0))
	if d.Version != "v1.0.0" || filepath.Dir(d.Dir) != filepath.Join(dir, stagingDir) {
		t.Errorf("draft %+v", d)
	}
	if _, err := thresholds.Open(dir); !errors.Is(err, thresholds.ErrNoVersion) {
		t.Errorf("a draft is seen: %v", err)
	}
	before := contents(t, d.Dir)
	late := o
	late.Created = o.Created.AddDate(1, 0, 0) // the clock of publishing stands nowhere
	c, err := CommitDraft(t.Context(), late, d.ContentID)
	if err != nil || c.Version != "v1.0.0" {
		t.Fatalf("%+v, %v", c, err)
	}
	if got := differing(before, contents(t, c.Dir)); len(got) > 0 {
		t.Errorf("files that changed on publishing: %v", got)
	}
	if got := differing(before, contents(t, mustCommit(t, optionsFor(newStore(t)), small(0)).Dir)); len(got) > 0 {
		t.Errorf("a draft differs from what Commit publishes in %v", got)
	}
	checkStore(t, dir)

	d = mustDraft(t, o, small(1))
	if again := mustDraft(t, o, small(1)); again.Dir != d.Dir {
		t.Errorf("drafted twice: %s and %s", d.Dir, again.Dir)
	}
	before = contents(t, d.Dir)
	o.Bump = Patch
	if _, err := CommitDraft(t.Context(), o, d.ContentID); !errors.Is(err, ErrBump) {
		t.Errorf("too small a step: %v", err)
	}
	o.Bump = Major
	if c, err := JudgeDraft(t.Context(), o, d.ContentID); err != nil || c.Version != "v2.0.0" {
		t.Errorf("judged %+v, %v", c, err)
	}
	if got := differing(before, contents(t, d.Dir)); len(got) > 0 {
		t.Errorf("looking changed %v", got)
	}
	if c, err = CommitDraft(t.Context(), o, d.ContentID); err != nil || c.Version != "v2.0.0" {
		t.Fatalf("%+v, %v", c, err)
	}
	if got, want := differing(before, contents(t, c.Dir)), []string{"SHA256SUMS", "manifest.json"}; !slices.Equal(got, want) {
		t.Errorf("files that changed with the number: %v, want %v", got, want)
	}
	if versions := checkStore(t, dir); !slices.Equal(versions, []string{"v1.0.0", "v2.0.0"}) {
		t.Errorf("versions %v", versions)
	}
	if again := mustDraft(t, o, small(1)); !again.Unchanged {
		t.Errorf("drafted what is published: %+v", again)
	}
}

// TestDraftRefused: a changed file, a parent that is no longer the newest.
func TestDraftRefused(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	first, second := mustDraft(t, o, small(1)), mustDraft(t, o, small(2))
	if _, err := FindDraft(dir, ""); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"nope", first.ContentID + "0"} {
		if _, err := FindDraft(dir, name); !errors.Is(err, ErrNoDraft) {
			t.Errorf("%q: %v", name, err)
		}
	}
	if d, err := FindDraft(dir, first.ContentID[:8]); err != nil || d.Version != "v1.0.0" || d.ContentID != first.ContentID {
		t.Errorf("%+v, %v", d, err)
	}
	if _, err := CommitDraft(t.Context(), o, first.ContentID); err != nil {
		t.Fatal(err)
	}
	if _, err := CommitDraft(t.Context(), o, second.ContentID); !errors.Is(err, ErrConflict) || !strings.Contains(err.Error(), "newest version is v1.0.0 now") {
		t.Errorf("another parent: %v", err)
	}
	if err := Mark(o, thresholds.Retract, "v1.0.0", "wrong"); err != nil {
		t.Fatal(err)
	}
	if c, err := CommitDraft(t.Context(), o, second.ContentID); err != nil || c.Version != "v1.1.0" || c.Parent != "" {
		t.Errorf("no parent again: %+v, %v", c, err)
	}
	third := mustDraft(t, o, small(3))
	file := filepath.Join(third.Dir, "bins.csv")
	if err := errors.Join(os.Chmod(file, 0o644), os.WriteFile(file, nil, 0o644)); err != nil {
		t.Fatal(err)
	}
	if _, err := CommitDraft(t.Context(), o, third.ContentID); !errors.Is(err, thresholds.ErrIntegrity) {
		t.Errorf("a changed file: %v", err)
	}
	if removed, err := cleanStaging(o, time.Now().Add(-time.Hour)); err != nil || len(removed) > 0 {
		t.Errorf("a young draft was removed: %v, %v", removed, err)
	}
	if removed, err := cleanStaging(o, time.Now().Add(time.Hour)); err != nil || len(removed) != 1 {
		t.Errorf("removed %v, %v", removed, err)
	}
	if v, err := Verify(dir, ""); err != nil || v.Err() != nil {
		t.Errorf("%+v, %v", v, err)
	}
}

// TestDraftRace: of many who publish one draft, one does, and the others learn
// that it is there.
func TestDraftRace(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	d := mustDraft(t, o, small(1))
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			c, err := CommitDraft(t.Context(), o, d.ContentID)
			// whoever comes while another one is at it is told so
			if err != nil && !errors.Is(err, ErrConflict) {
				t.Error(err)
			} else if err == nil && c.Version != "v1.0.0" {
				t.Errorf("%+v", c)
			}
		})
	}
	all.Wait()
	if versions := checkStore(t, dir); len(versions) != 1 {
		t.Errorf("versions %v", versions)
	}
}

// TestNoHardLinks: a file system without hard links is refused by name before
// anything stands in the store.
func TestNoHardLinks(t *testing.T) {
	dir := newStore(t)
	o := optionsFor(dir)
	o.disk.fault = func(step, _ string) error {
		if step == "probe" {
			return fs.ErrPermission
		}
		return nil
	}
	_, err := Commit(t.Context(), o, small(0))
	if !errors.Is(err, ErrFileSystem) || !strings.Contains(err.Error(), "hard links") {
		t.Errorf("error %v", err)
	}
	for _, folder := range []string{thresholds.LogDir, stagingDir, handoverDir} {
		if left, _ := os.ReadDir(filepath.Join(dir, folder)); len(left) > 0 {
			t.Errorf("%s holds %v", folder, left)
		}
	}
}

// TestVerify: a good store has no fault; each kind of damage is one, by name.
func TestVerify(t *testing.T) {
	good := newStore(t)
	o := optionsFor(good)
	v := small(0)
	v.Handover = []byte("tally")
	mustCommit(t, o, v)
	mustCommit(t, o, small(1))
	if err := Mark(o, thresholds.Retract, "v1.0.0", "wrong"); err != nil {
		t.Fatal(err)
	}
	got, err := Verify(good, "")
	if err != nil || got.Err() != nil || !slices.Equal(got.Versions, []string{"v1.0.0", "v1.1.0"}) || got.Entries != 3 {
		t.Fatalf("%+v, %v", got, err)
	}
	if n := len(filesOf(t, filepath.Join(good, "v1.0.0"))) + len(filesOf(t, filepath.Join(good, "v1.1.0"))); got.Files != n {
		t.Errorf("%d files, want %d", got.Files, n)
	}
	handover := slashed(handoverDir, hashOf(v.Handover))
	for name, damage := range map[string]func(dir string) error{
		"v1.0.0/bins.csv":                     func(d string) error { return os.Remove(d + "/v1.0.0/bins.csv") },
		"v1.1.0/schemas/bins.schema.json":     func(d string) error { return os.WriteFile(d+"/v1.1.0/schemas/bins.schema.json", nil, 0o644) },
		"v1.1.0/schemas/strange":              func(d string) error { return os.WriteFile(d+"/v1.1.0/schemas/strange", nil, 0o644) },
		handover:                              func(d string) error { return os.WriteFile(d+"/"+handover, []byte("other"), 0o644) },
		slashed(handoverDir, "orphan"):        func(d string) error { return os.WriteFile(d+"/"+handoverDir+"/orphan", nil, 0o644) },
		"v3.0.0":                              func(d string) error { return os.Mkdir(d+"/v3.0.0", 0o755) },
		"thesis.doc":                          func(d string) error { return os.WriteFile(d+"/thesis.doc", nil, 0o644) },
		catalogFile:                           func(d string) error { return os.Remove(d + "/" + catalogFile) },
		thresholds.EntryName(2):               func(d string) error { return os.WriteFile(d+"/"+thresholds.EntryName(2), nil, 0o644) },
		slashed(thresholds.LogDir, "x"):       func(d string) error { return os.WriteFile(d+"/_log/x", nil, 0o644) },
		"v1.1.0/" + thresholds.SumsFile:       func(d string) error { return os.WriteFile(d+"/v1.1.0/SHA256SUMS", nil, 0o644) },
		"v1.1.0/" + thresholds.ProvenanceFile: func(d string) error { return os.Remove(d + "/v1.1.0/" + thresholds.ProvenanceFile) },
	} {
		dir := newStore(t)
		if err := os.CopyFS(dir, os.DirFS(good)); err != nil {
			t.Fatal(err)
		}
		unlock(dir)
		filesWritable(t, dir)
		if err := damage(dir); err != nil {
			t.Fatal(err)
		}
		got, err := Verify(dir, "")
		if err != nil || len(got.Faults) != 1 || got.Faults[0].File != name || !errors.Is(got.Err(), thresholds.ErrIntegrity) {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	if _, err := Verify(good, "v9.0.0"); !errors.Is(err, thresholds.ErrNoVersion) {
		t.Errorf("an unknown version: %v", err)
	}
}

func filesWritable(t *testing.T, dir string) {
	t.Helper()
	for _, name := range filesOf(t, dir) {
		if err := os.Chmod(filepath.Join(dir, filepath.FromSlash(name)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
