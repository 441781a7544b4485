package compare

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"io/fs"
	"iter"
	"os"

	"sill/pipeline/publish"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Since compares with the newest version of a store, which it names; a store
// without one gives the comparison of a first version.
func Since(ctx context.Context, dir string, to Side) (parent string, d *Diff, err error) {
	log, err := thresholds.ReadLog(os.DirFS(dir))
	if err != nil {
		return "", nil, err
	}
	releases := thresholds.Releases(log)
	newest := thresholds.Newest(releases)
	switch {
	case len(releases) == 0:
		return "", First(to), nil
	case newest == nil:
		return "", First(to, "Every earlier version was retracted."), nil
	}
	table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(newest.Version))
	if err != nil {
		return "", nil, err
	}
	from, err := Kept(dir, table)
	if err != nil {
		return "", nil, err
	}
	d, err = Compare(ctx, from, to, DefaultOptions())
	return newest.Version, d, err
}

// Kept reads what a published version is compared by: its rows, and its counts
// where its store in dir keeps them. A hand-over that was changed is a
// thresholds.ErrIntegrity; one that cannot be read here is done without.
func Kept(dir string, t *thresholds.Table) (Side, error) {
	s := Side{Manifest: t.Manifest(), Tables: &thresholds.Tables{}}
	err := cmp.Or(collect(&s.Tables.Verdicts, t.Verdicts()), collect(&s.Tables.Zones, t.Zones()), collect(&s.Tables.References, t.References()))
	if err != nil || s.Manifest.Handover == "" {
		return s, err
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

func collect[T any](to *[]T, rows iter.Seq2[T, error]) error {
	for r, err := range rows {
		if err != nil {
			return err
		}
		*to = append(*to, r)
	}
	return nil
}
