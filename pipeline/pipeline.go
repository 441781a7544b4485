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
	"path/filepath"
	"slices"
	"time"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/analysis/quality"
	"sill/pipeline/estimate"
	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Algorithm is the version of the estimators, raised with stats.Algorithm and where a
// number moves that the package does not make. It is part of a version's
// content id: raise it with every change that moves a published number.
const Algorithm = "9"

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
	r, err := open(ctx, o)
	if err != nil {
		return nil, err
	}
	o, say, variables := r.Options, r.say, r.variables
	strata, notes, err := r.strata(o.Strata)
	if err != nil {
		return nil, err
	}
	version := r.describe()
	version.Notes = notes
	store := publish.Options{Dir: filepath.Join(o.Output, o.League), Created: o.Created, Host: o.Host, Bump: o.Bump}
	if !o.DryRun {
		if same, err := published(store, version); same != nil || err != nil {
			return same, err
		}
	}

	say.stage("count", "rows", r.season.Rows(), "variables", len(variables))
	facing, passed := opponents.NewCounter(o.Workers, variables...), quality.NewCounter(o.Workers, variables)
	counts, shapes, report, err := r.count(ctx, strata, facing, passed)
	if err != nil {
		return nil, err
	}
	result := &Result{Report: report, Skipped: r.skipped}
	if o.DryRun {
		return result, nil
	}

	say.stage("estimate", "cells", len(counts.Cells), "replicates", o.Estimate.Replicates)
	est, err := estimate.New(ctx, counts, o.Estimate)
	if err != nil {
		return nil, err
	}
	scoring := o.Estimate.Scoring()
	faced, along := facing.Measure(&scoring, len(r.season.Names.Pitchers), len(r.season.Names.Batters))
	assessed := passed.Report(quality.Source{Season: r.season, Rows: report, Resolver: r.resolver, Shapes: shapes,
		Tally: counts, Spread: est.Spreads()})
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
		v.Quarantine = append(v.Quarantine, publish.Reject(x))
	}
	for _, w := range q.Warnings {
		v.Notes = append(v.Notes, w.Code+": "+w.Detail)
	}
	return nil
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
