package pipeline

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"sill/pipeline/compare"
	"sill/pipeline/estimate"
	"sill/pipeline/publish"
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
		parent, d, err := since(ctx, store.Dir, to)
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

// since compares with the newest version of a store, which it names; a store
// without one gives the comparison of a first version.
func since(ctx context.Context, dir string, to compare.Side) (parent string, d *compare.Diff, err error) {
	log, err := thresholds.ReadLog(os.DirFS(dir))
	if err != nil {
		return "", nil, err
	}
	releases := thresholds.Releases(log)
	newest := thresholds.Newest(releases)
	switch {
	case len(releases) == 0:
		return "", compare.First(to), nil
	case newest == nil:
		return "", compare.First(to, "Every earlier version was retracted."), nil
	}
	table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(newest.Version))
	if err != nil {
		return "", nil, err
	}
	from, err := Kept(dir, table)
	if err != nil {
		return "", nil, err
	}
	d, err = compare.Compare(ctx, from, to, compare.DefaultOptions())
	return newest.Version, d, err
}

// Kept reads what a published version is compared by: its rows, and its counts
// where its store in dir keeps them. A hand-over that was changed is a
// thresholds.ErrIntegrity; one that cannot be read here is done without.
func Kept(dir string, t *thresholds.Table) (compare.Side, error) {
	s := compare.Side{Manifest: t.Manifest(), Tables: &thresholds.Tables{}}
	for v, err := range t.Verdicts() {
		if err != nil {
			return s, err
		}
		s.Tables.Verdicts = append(s.Tables.Verdicts, v)
	}
	for z, err := range t.Zones() {
		if err != nil {
			return s, err
		}
		s.Tables.Zones = append(s.Tables.Zones, z)
	}
	for r, err := range t.References() {
		if err != nil {
			return s, err
		}
		s.Tables.References = append(s.Tables.References, r)
	}
	if s.Manifest.Handover == "" {
		return s, nil
	}
	b, err := publish.Handover(dir, s.Manifest.Handover)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return s, err
	}
	if s.Tally, err = tally.Read(bytes.NewReader(b), int64(len(b))); err != nil {
		s.Lost = "cannot be read here"
	}
	return s, nil
}
