package publish

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sill/pipeline/thresholds"
)

// paged are options with a page that tells the number and lists the files that
// lay there when it was made.
func paged(dir string) Options {
	o := optionsFor(dir)
	o.Page = func(dir string, m thresholds.Manifest) ([]byte, error) {
		if _, err := os.Stat(filepath.Join(dir, "bins.json")); err != nil {
			return nil, err
		}
		return []byte("this is " + m.Version + " after " + m.Parent), nil
	}
	return o
}

// TestPage: the page knows the number that its version got, also where a draft is
// published under another one; the manifest, the checksums and the provenance
// list it, and everything else is as it was.
func TestPage(t *testing.T) {
	dir := newStore(t)
	first := mustCommit(t, paged(dir), small(0))
	d := mustDraft(t, paged(dir), small(1))
	if got := contents(t, d.Dir)[PageFile]; got != "this is v1.1.0 after v1.0.0" {
		t.Errorf("the draft's page says %q", got)
	}
	before := contents(t, d.Dir)
	if _, err := CommitDraft(t.Context(), optionsFor(dir), d.ContentID); err == nil || !strings.Contains(err.Error(), "has a page") {
		t.Errorf("a draft's page was left with its old number: %v", err)
	}
	major := paged(dir)
	major.Bump = Major
	c, err := CommitDraft(t.Context(), major, d.ContentID)
	if err != nil {
		t.Fatal(err)
	}
	after := contents(t, c.Dir)
	if got := after[PageFile]; got != "this is v2.0.0 after v1.0.0" {
		t.Errorf("the page says %q", got)
	}
	want := []string{thresholds.SumsFile, thresholds.ManifestFile, thresholds.ProvenanceFile, PageFile}
	if got := differing(before, after); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("another number changed %v, want %v", got, want)
	}
	for _, dir := range []string{first.Dir, c.Dir} {
		files := contents(t, dir)
		sum := hashOf([]byte(files[PageFile]))
		for _, name := range []string{thresholds.SumsFile, thresholds.ManifestFile, thresholds.ProvenanceFile} {
			if strings.Count(files[name], sum) != 1 {
				t.Errorf("%s: %s does not list the page once", filepath.Base(dir), name)
			}
		}
	}
	checkStore(t, dir)

	failing := errors.New("ink is out")
	o := optionsFor(newStore(t))
	o.Page = func(string, thresholds.Manifest) ([]byte, error) { return nil, failing }
	if _, err := Commit(t.Context(), o, small(0)); !errors.Is(err, failing) {
		t.Errorf("a page that cannot be made: %v", err)
	}
	o.Page = func(string, thresholds.Manifest) ([]byte, error) { return nil, nil }
	if c := mustCommit(t, o, small(0)); contents(t, c.Dir)[PageFile] != "" {
		t.Error("an empty page is published")
	}
}
