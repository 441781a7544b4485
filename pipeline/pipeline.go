// Package pipeline is the line from a season's Parquet files to a published
// table of thresholds. Run is the whole program, told in order.
//
// It knows the order of the stages and nothing of what each of them does.
package pipeline

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"slices"
	"sync/atomic"
	"time"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/analysis/quality"
	"sill/pipeline/estimate"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Algorithm is the version of the estimators. It is part of a version's
// content id: raise it with every change that moves a published number.
const Algorithm = "7"

// ErrProfile marks a run whose source cannot tell a variable, or not at the
// place where the profile says it is measured: the profile is to be mended.
var ErrProfile = errors.New("the profile does not lead to any variable")

// Result is what a run came to.
type Result struct {
	Version   string             // such as v1.0.0, "" after a dry run
	Dir       string             // folder of the version
	Unchanged bool               // the newest version holds this content already
	Committed *publish.Committed // what publishing or drafting came to, nil after a dry run and where unchanged
	Tables    *thresholds.Tables
	Report    *ingest.Report // how the rows fared, as published where the version is unchanged
	Skipped   []string       // variables that the source cannot tell
	Notes     []string       // caveats of the whole run
}

// Run turns the inputs into a published version.
func Run(ctx context.Context, o Options) (*Result, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	o = o.shared()
	say := teller{o.Log, o.Progress}

	season, resolver, variables, skipped, err := open(ctx, o, say)
	if err != nil {
		return nil, err
	}
	strata, notes, err := strataFor(o.Strata, season, resolver, variables)
	if err != nil {
		return nil, err
	}
	version := describe(season, variables, o)
	version.Notes = notes
	store := publish.Options{Dir: filepath.Join(o.Output, o.League), Created: o.Created, Host: o.Host, Bump: o.Bump}
	if !o.DryRun {
		if same, err := published(store, version); same != nil || err != nil {
			return same, err
		}
	}

	say.stage("count", "rows", season.Rows(), "variables", len(variables))
	facing, passed := opponents.NewCounter(o.Workers, variables...), quality.NewCounter(o.Workers, variables)
	counts, shapes, report, err := count(ctx, season, resolver, variables, strata, o, facing, passed)
	if err != nil {
		return nil, err
	}
	result := &Result{Report: report, Skipped: skipped}
	if o.DryRun {
		return result, nil
	}

	say.stage("estimate", "cells", len(counts.Cells), "replicates", o.Estimate.Replicates)
	est, err := estimate.New(ctx, counts, o.Estimate)
	if err != nil {
		return nil, err
	}
	scoring := o.Estimate.Scoring()
	faced, along := facing.Measure(&scoring, len(season.Names.Pitchers), len(season.Names.Batters))
	assessed := passed.Report(quality.Source{Season: season, Rows: report, Resolver: resolver, Shapes: shapes, Tally: counts, Spread: est.Spreads()})
	o.Locate.Caveats = append(slices.Clip(o.Locate.Caveats), assessed.Caveats(faced)...)
	say.stage("locate", "flips", o.Locate.Flips)
	tables, err := locate.Locate(ctx, est, o.Locate)
	if err != nil {
		return nil, err
	}

	say.stage("publish", "verdicts", len(tables.Verdicts), "zones", len(tables.Zones))
	tables.Opponents = opponents.Rows(faced, along)
	assessed.Whole(locate.TakeWhole(tables))
	thresholds.Sort(tables, shape.Names(variables))
	tables.Round() // verdicts are given: nothing below decides on the last digits
	if version.Families, err = tested(ctx, est, tables, o.Locate); err != nil {
		return nil, err
	}
	if err := fill(&version, tables, counts, report, assessed); err != nil {
		return nil, err
	}
	commit := publish.Commit
	if o.Draft {
		commit = publish.Draft
	}
	committed, err := commitSince(ctx, store, version, counts, commit)
	if err != nil {
		return nil, err
	}
	result.Committed = committed
	result.Version, result.Dir, result.Unchanged = committed.Version, committed.Dir, committed.Unchanged
	result.Tables, result.Notes = tables, version.Notes
	say.stage("done", "version", result.Version)
	return result, nil
}

// open finds and indexes the inputs, and settles what they can tell.
func open(ctx context.Context, o Options, say teller) (season *ingest.Season, r *shape.Resolver, vars []shape.Variable, skipped []string, err error) {
	files, err := ingest.Find(o.Inputs)
	if err != nil {
		return nil, nil, nil, nil, err
	}
	say.stage("index", "files", len(files))
	if season, err = ingest.Index(ctx, files, o.Profile, o.Ingest); err != nil {
		return nil, nil, nil, nil, err
	}
	if r, vars, skipped, err = resolve(season, o); err != nil {
		return nil, nil, nil, nil, cmp.Or(rejected(ctx, season), err)
	}
	return season, r, vars, skipped, nil
}

// resolve settles where each variable's values come from, once for the run.
func resolve(season *ingest.Season, o Options) (r *shape.Resolver, vars []shape.Variable, skipped []string, err error) {
	wanted, err := o.variables()
	if err != nil {
		return nil, nil, nil, err
	}
	r, err = shape.NewResolver(season.Has, source(o.Profile))
	if err != nil {
		return nil, nil, nil, fmt.Errorf("%w: %w", ErrProfile, err)
	}
	for _, c := range r.Choices(wanted) {
		if c.Definition == "" {
			skipped = append(skipped, c.Variable)
		}
	}
	vars = r.Variables(wanted)
	if len(vars) == 0 {
		return nil, nil, nil, fmt.Errorf("%w: the source has none of %v: map velocity, breaks or a trajectory", ErrProfile, shape.Names(wanted))
	}
	return r, vars, skipped, nil
}

// rejected says whether so many rows are bad that nothing else needs to be said
// of the input.
func rejected(ctx context.Context, season *ingest.Season) error {
	_, err := season.Deliver(ctx, func(int, *pitch.Pitch) string { return "" })
	return err
}

// count reads the pitches once, counts them, and shows each to the counters too.
func count(ctx context.Context, season *ingest.Season, r *shape.Resolver, vars []shape.Variable, strata []tally.Stratum, o Options, counters ...pitch.Counter) (*tally.Tally, *shape.Quality, *ingest.Report, error) {
	names := tally.Names{Pitchers: season.Names.Pitchers, Batters: season.Names.Batters, Games: season.Names.Games, Levels: season.Names.Levels}
	builder, err := tally.NewBuilder(vars, strata, names, o.Workers)
	if err != nil {
		return nil, nil, nil, err
	}
	shapes := make([]shape.Quality, o.Workers)
	counters = append(counters, progress{season.Rows(), new(atomic.Int64), o.Progress}, builder)
	report, err := season.Deliver(ctx, func(worker int, p *pitch.Pitch) string { return r.Complete(p, &shapes[worker]) }, counters...)
	if err != nil {
		return nil, nil, nil, err
	}
	for i := range shapes[1:] {
		shapes[0].Add(&shapes[1+i])
	}
	counts, err := builder.Tally()
	return counts, &shapes[0], report, err
}

// published returns the newest version where it holds this content already,
// else nil.
func published(store publish.Options, v publish.Version) (*Result, error) {
	current, err := publish.Current(store, v)
	if err != nil || current == nil || !current.Unchanged {
		return nil, err
	}
	table, err := thresholds.Open(current.Dir)
	if err != nil {
		return nil, err
	}
	tables, err := table.Load()
	if err != nil {
		return nil, err
	}
	report, err := publishedRows(table)
	return &Result{Version: current.Version, Dir: current.Dir, Unchanged: true, Tables: tables, Report: report}, err
}

// publishedRows returns how the rows of a version fared, from its quality report.
func publishedRows(t *thresholds.Table) (*ingest.Report, error) {
	raw, err := t.Bytes(publish.QualityFile)
	if err != nil {
		return nil, err
	}
	var q struct {
		Rows *ingest.Report `json:"rows"`
	}
	if err := json.Unmarshal(raw, &q); err != nil {
		return nil, fmt.Errorf("read %s: %w", publish.QualityFile, err)
	}
	return q.Rows, nil
}

// describe says what goes into a version, as far as it is known before the
// pitches are read.
func describe(season *ingest.Season, vars []shape.Variable, o Options) publish.Version {
	v := publish.Version{
		Tool: o.Tool, Algorithm: Algorithm, Seed: o.Seed, Replicates: o.Estimate.Replicates,
		Configuration: o.Settings, Formats: o.Formats,
	}
	for _, x := range vars {
		v.Variables = append(v.Variables, thresholds.Variable{Name: x.Name, Title: x.Title, Unit: x.Unit, Width: x.Width, Definition: x.Definition})
	}
	for _, in := range season.Inputs {
		v.Inputs = append(v.Inputs, thresholds.Input{Name: in.Name, Bytes: in.Bytes, SHA256: in.SHA256, Rows: in.Rows, Schema: in.Schema, PageCRC: in.PageCRC})
	}
	return v
}

// tested says what was tested together, in how many families and with how many
// flips of signs.
func tested(ctx context.Context, est *estimate.Estimate, tables *thresholds.Tables, o locate.Options) ([]thresholds.Tested, error) {
	all, err := locate.Stratifications(ctx, est, o)
	selected := locate.Selected(tables.Verdicts, o)
	out := make([]thresholds.Tested, len(all))
	for i, s := range all {
		out[i] = thresholds.Tested{Name: cmp.Or(s.Name, "headline"), Tests: s.Tests, Flips: s.Flips,
			Families: s.Families, Selected: selected[s.Name]}
	}
	return out, err
}

// fill completes a version with what the run found.
func fill(v *publish.Version, tables *thresholds.Tables, counts *tally.Tally, r *ingest.Report, q *quality.Report) error {
	var handover bytes.Buffer
	if err := tally.Write(&handover, counts); err != nil {
		return err
	}
	v.Tables, v.Handover, v.Quality = tables, handover.Bytes(), q
	v.Rows = thresholds.Rows{Read: r.RowsRead, Used: r.RowsUsed, Rejected: r.RowsRejected, FirstDay: q.Span.First(), LastDay: q.Span.Last()}
	for _, x := range r.Rejects {
		v.Quarantine = append(v.Quarantine, publish.Reject{File: x.File, Row: x.Row, Rule: x.Rule, Column: x.Column, Value: x.Value})
	}
	for _, w := range q.Warnings {
		v.Notes = append(v.Notes, w.Code+": "+w.Detail)
	}
	return nil
}

// progress counts the pitches that have passed, for a progress bar.
type progress struct {
	of   int64
	done *atomic.Int64
	tell func(stage string, done, total int64)
}

// Add counts a batch.
func (p progress) Add(_ int, batch []pitch.Pitch) error {
	if n := p.done.Add(int64(len(batch))); p.tell != nil {
		p.tell("count", n, p.of)
	}
	return nil
}

// teller tells a terminal's progress bar and the log which stage begins.
type teller struct {
	log      *slog.Logger
	progress func(stage string, done, total int64)
}

func (t teller) stage(name string, facts ...any) {
	log := t.log
	if log == nil {
		log = slog.New(slog.NewTextHandler(io.Discard, nil))
	}
	log.Info(name, facts...)
	if t.progress != nil {
		t.progress(name, 0, 0)
	}
}

// Now is the clock of a version: the caller's SOURCE_DATE_EPOCH where it is
// set (reproducible-builds.org), else the time it is.
func Now(sourceDateEpoch string) (time.Time, error) {
	if sourceDateEpoch == "" {
		return time.Now().UTC(), nil
	}
	var seconds int64
	if _, err := fmt.Sscanf(sourceDateEpoch, "%d", &seconds); err != nil {
		return time.Time{}, fmt.Errorf("read SOURCE_DATE_EPOCH: %q is no number of seconds", sourceDateEpoch)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
