package main

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/analysis/quality"
	leagues "sill/pipeline/calibrate"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// runSill publishes what a run configuration names, in a folder that it removes
// again, and returns the rows.
func runSill(ctx context.Context, configuration string, e estimate.Options, l locate.Options) (tables *thresholds.Tables, err error) {
	resolved, err := config.Load(nil, configuration, nil)
	if err != nil {
		return nil, err
	}
	o := resolved.Options
	if o.Output, err = os.MkdirTemp("", "published-"); err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, remove(o.Output)) }()
	o.Seed, o.Workers, o.Estimate, o.Locate, o.Created = e.Seed, max(1, l.Workers), e, l, time.Unix(1, 0)
	result, err := pipeline.Run(ctx, o)
	if err != nil {
		return nil, err
	}
	return result.Tables, nil
}

// compareVenues is the program's comparison of venues.
func compareVenues(pitches []pitch.Pitch, variables []shape.Variable, names []string) []leagues.Offset {
	offsets, named := quality.CompareVenues(pitches, variables, names)
	var out []leagues.Offset
	for i, x := range offsets {
		out = append(out, leagues.Offset{Venue: x.Venue, Offset: x.Offset, Error: x.Error, Named: named[i]})
	}
	return out
}

// remove removes a folder of published versions, whose files are read-only.
func remove(dir string) error {
	return errors.Join(filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			err = os.Chmod(name, 0o755)
		}
		return err
	}), os.RemoveAll(dir))
}
