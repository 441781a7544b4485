package pipeline

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/publish"
	"sill/pipeline/render/page"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Names of the files that say what a version changed.
const (
	changesFile = "CHANGES.md" // for people
	diffName    = "diff"       // diff.json, every row
)

// committer is publish.Commit or publish.Draft.
type committer func(context.Context, publish.Options, publish.Version) (*publish.Committed, error)

// commitSince publishes a version together with what it changed since the newest
// one. Where another run publishes meanwhile, the comparison is made again with
// that one's version.
func commitSince(ctx context.Context, store publish.Options, v publish.Version, counts *tally.Tally, commit committer) (*publish.Committed, error) {
	to := compare.Side{Tables: v.Tables, Tally: counts, Manifest: thresholds.Manifest{Name: filepath.Base(store.Dir), Algorithm: v.Algorithm,
		Seed: v.Seed, Replicates: v.Replicates, Configuration: v.Configuration, Variables: v.Variables, Inputs: v.Inputs}}
	for {
		parent, d, err := compare.Since(ctx, store.Dir, to)
		if err != nil {
			return nil, err
		}
		raw, err := d.JSON(estimate.TypeMedian)
		if err != nil {
			return nil, err
		}
		v.Follows = &parent
		v.Files = map[string][]byte{changesFile: d.Markdown(estimate.TypeMedian), diffName + ".json": raw}
		v.Documents = map[string]any{diffName: compare.Document{}}
		store.Page = pageOf(v.Tables, v.Quality, raw)
		out, err := commit(ctx, store, v)
		if !errors.Is(err, publish.ErrParent) {
			return out, err
		}
	}
}

// Page renders a version as a page to read: its tables, its quality report and
// its comparison with the version before, the latter two as they are or as JSON;
// nil for none. Options.Base and Options.Reference are the caller's to choose.
func Page(t *thresholds.Tables, m thresholds.Manifest, quality, diff any, o page.Options) ([]byte, error) {
	o.Changes = diff
	for _, w := range locate.Warnings() {
		o.Caveats = append(o.Caveats, page.Word{Code: w.Code, Meaning: w.Meaning})
	}
	var b bytes.Buffer
	err := page.Write(&b, t, m, quality, o)
	return b.Bytes(), err
}

// pageOf is Page as publishing asks for it: a version without a verdict to tell
// has none.
func pageOf(t *thresholds.Tables, quality, diff any) func(string, thresholds.Manifest) ([]byte, error) {
	return func(_ string, m thresholds.Manifest) ([]byte, error) {
		b, err := Page(t, m, quality, diff, page.Options{})
		if errors.Is(err, page.ErrNothing) {
			return nil, nil
		}
		return b, err
	}
}

// DraftPage makes the page of a draft that lies in dir, for the number that it is
// published under.
func DraftPage(dir string, m thresholds.Manifest) ([]byte, error) {
	table, err := thresholds.OpenFS(os.DirFS(dir))
	if err != nil {
		return nil, err
	}
	tables, err := table.Load()
	if err != nil {
		return nil, err
	}
	quality, err := table.Optional(publish.QualityFile)
	if err != nil {
		return nil, err
	}
	diff, err := table.Optional(diffName + ".json")
	if err != nil {
		return nil, err
	}
	return pageOf(tables, quality, diff)(dir, m)
}
