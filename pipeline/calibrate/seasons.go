package calibrate

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"time"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

// seasonSets is the full number of seasons that go the whole way.
const seasonSets = 10

// seasons writes whole seasons as Parquet and scores what the program makes of
// them.
func seasons(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	differs := 0.0
	first := seed(o, seasonSeeds, 0)
	table := func(ctx context.Context, s demo.Scenario, seed uint64) (*thresholds.Tables, error) {
		tables, err := throughFiles(ctx, s, seed, func(o *pipeline.Options) { o.Strata = nil })
		if err != nil || seed != first {
			return tables, err
		}
		short, err := published(ctx, s, seed)
		if err == nil && difference(tables, short) != "" {
			differs = 1
		}
		return tables, err
	}
	r, err := play(ctx, o, seasonSeeds, seasonSets, demo.Lantern(), table)
	if err != nil {
		return nil, err
	}
	r.Design = "Lantern League, through files"
	r.Spread(allEdges, calibrate.AtLeast(.925), "")
	for _, reference := range headline {
		for _, m := range outcome.Metrics {
			r.Spread(edgesHeld+reference+", "+m.Name, calibrate.NoBar, "")
		}
	}
	r.Spread(falseEdge, calibrate.AtMost(.10), "")
	r.byVariable(o.Scale)
	r.empty()
	judged := len(r.Findings)
	r.wrong()
	for i := range r.Findings[judged:] {
		r.Findings[judged+i].Bar = calibrate.NoBar // so few seasons tell it less well than the leagues without files
	}
	r.Add(calibrate.Finding{Measure: "first season differs from the way without files", Value: differs, Of: 1, Bar: calibrate.AtMost(0)})
	return r.Findings, nil
}

// throughFiles writes a season to a folder of its own, runs the program over it and
// returns the rows that it publishes. change, where not nil, may change the run.
func throughFiles(ctx context.Context, s demo.Scenario, seed uint64, change func(*pipeline.Options)) (_ *thresholds.Tables, err error) {
	dir, err := os.MkdirTemp("", "season-")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, remove(dir)) }()
	written := demo.DefaultOptions()
	written.Seed, written.Dir = seed, dir
	if _, err := demo.WriteScenario(ctx, s, written); err != nil {
		return nil, err
	}
	resolved, err := config.Load(nil, filepath.Join(dir, "sill.yaml"), nil)
	if err != nil {
		return nil, err
	}
	o := resolved.Options
	o.Estimate, o.Locate = settings(seed)
	o.Output, o.Seed, o.Workers, o.Created = filepath.Join(dir, "published"), seed, o.Locate.Workers, time.Unix(1, 0)
	if change != nil {
		change(&o)
	}
	result, err := pipeline.Run(ctx, o)
	if err != nil {
		return nil, err
	}
	return result.Tables, nil
}

// remove removes a folder with published versions, whose files are read-only.
func remove(dir string) error {
	return errors.Join(filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			err = os.Chmod(name, 0o755)
		}
		return err
	}), os.RemoveAll(dir))
}

// difference names the first resource and row in which what a run published differs
// from what the way without files makes of the same season, "" if they are the same to
// the last decimal that is published. What only the pitches can give is left out.
func difference(published, short *thresholds.Tables) string {
	long, counted := *published, *short
	counted.Verdicts, counted.Thresholds = slices.Clone(short.Verdicts), slices.Clone(short.Thresholds)
	counted.Round()
	locate.TakeWhole(&counted)
	fromCounts(&long)
	fromCounts(&counted)
	return unlike(&long, &counted)
}

// fromCounts takes off what only the pitches can give: who was facing, and caveats.
func fromCounts(t *thresholds.Tables) {
	t.Opponents, t.Verdicts, t.Thresholds = nil, slices.Clone(t.Verdicts), slices.Clone(t.Thresholds)
	strip := func(warnings *[]string) {
		var left []string // nil for none, as where none was put
		for _, code := range *warnings {
			if code != locate.WarnOpponents && code != locate.WarnVenueOffset {
				left = append(left, code)
			}
		}
		*warnings = left
	}
	for i := range t.Thresholds {
		strip(&t.Thresholds[i].Warnings)
	}
	for i := range t.Verdicts {
		strip(&t.Verdicts[i].Warnings)
	}
}

// unlike names the first resource and row in which two tables differ, "" if they are
// the same to the last bit.
func unlike(a, b *thresholds.Tables) string {
	x, y := reflect.ValueOf(*a), reflect.ValueOf(*b)
	for i := range x.NumField() {
		name, p, q := x.Type().Field(i).Name, x.Field(i), y.Field(i)
		if p.Kind() != reflect.Slice {
			continue
		}
		if p.Len() != q.Len() {
			return fmt.Sprintf("%s: %d rows and %d", name, p.Len(), q.Len())
		}
		for row := range p.Len() {
			if u, v := p.Index(row).Interface(), q.Index(row).Interface(); !reflect.DeepEqual(u, v) {
				before, _ := json.Marshal(u)
				after, _ := json.Marshal(v)
				return fmt.Sprintf("%s, row %d: %s and %s", name, row, before, after)
			}
		}
	}
	return ""
}
