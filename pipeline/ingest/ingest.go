// Package ingest turns any provider's Parquet files into canonical pitches.
//
// A source Profile says how a provider's columns map onto the dictionary of
// package pitch: names, units, signs, words, sentinels, filters. Reading takes
// two passes over the mapped columns:
//
//  1. Index decodes every row once. It hashes each file, collects the names of
//     pitchers, batters, games, venues and levels, drops exact duplicates,
//     sets rows of one key with differing content aside, and finds the last
//     row of every plate appearance over all rows, so that the plate
//     appearance's result stands on that row alone.
//  2. Season.Deliver decodes again and hands batches of pitches to workers,
//     with everything that was set aside reported by rule.
//
// What is delivered and reported depends on the rows and on the names of the
// files alone: not on the order of files, on row groups, on how a file stores
// its numbers, or on the number of workers. Only the order in which batches
// reach the sink varies.
//
// # Order of the rules
//
// Rows are decoded; exact duplicates are dropped; rows that share a key with
// different content are all set aside (unless the profile ranks files); the
// last row of each plate appearance is found and its result attached; then
// filters apply, then the checks of Checks. A result whose last row is
// rejected is counted as lost and never moved to another row.
//
// # Missing and impossible numbers
//
// A NaN counts as missing, since many writers store missing numbers so, and is
// counted under nan. An infinity quarantines its row under not_finite, and a
// number outside the dictionary's physical range under out_of_range. Content
// is compared after rounding to 1e-4 of the canonical unit, so a number
// stored in single and in double precision is the same content.
//
// The package knows nothing of shapes derived from trajectories, of swings or
// of statistics.
package ingest

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
)

// ErrTooManyRejects is wrapped by the error of Deliver when the share of
// rejected rows passes Options.MaxRejectShare.
var ErrTooManyRejects = errors.New("too many rejected rows")

// ErrNothingInScope is wrapped by the error of Deliver when filters leave no
// row over.
var ErrNothingInScope = errors.New("no row in scope")

// FileError is what is wrong with one input file.
type FileError struct {
	File     string // the file's stable name
	RowGroup int    // index of the row group, −1 where none is concerned
	Column   string // source or canonical column, "" where none is concerned
	Msg      string
	Fix      string // what to do about it, "" where nothing is known
	Err      error  // cause, may be nil
}

// Error returns one line: file, row group, column, message, fix.
func (e *FileError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "read %s", e.File)
	if e.RowGroup >= 0 {
		fmt.Fprintf(&b, ", row group %d", e.RowGroup)
	}
	if e.Column != "" {
		fmt.Fprintf(&b, ", column %q", e.Column)
	}
	b.WriteString(": " + e.Msg)
	if e.Err != nil {
		b.WriteString(": " + e.Err.Error())
	}
	if e.Fix != "" {
		b.WriteString(" (" + e.Fix + ")")
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *FileError) Unwrap() error { return e.Err }

// Options are the settings of a run that are not the provider's.
type Options struct {
	// Workers is the number of goroutines; 0 means GOMAXPROCS.
	Workers int
	// MaxRejectShare is the largest tolerated share of rejected rows among the
	// rows in scope (rejected + used).
	MaxRejectShare float64 `mapstructure:"max_reject_share" flag:"max-reject-share" doc:"share of rejected rows above which a run fails"`
	// BatchRows is the number of rows decoded at a time, 1 to 8192.
	BatchRows int `mapstructure:"batch_rows" local:"true" doc:"rows decoded at a time"`
}

// DefaultOptions returns the defaults: all processors, 5 %, 8192 rows.
func DefaultOptions() Options { return Options{MaxRejectShare: .05, BatchRows: maxBatch} }

// maxBatch is the largest number of rows decoded at a time.
const maxBatch = 8192

// workers returns the number of goroutines to use.
func (o Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

// Validate returns all faults of the options, joined.
func (o Options) Validate() error {
	var errs []error
	if o.Workers < 0 {
		errs = append(errs, fmt.Errorf("workers: %d is negative: use 0 for all processors", o.Workers))
	}
	if !(o.MaxRejectShare >= 0 && o.MaxRejectShare <= 1) {
		errs = append(errs, fmt.Errorf("max_reject_share: %v is no share: use a number from 0 to 1", o.MaxRejectShare))
	}
	if o.BatchRows < 1 || o.BatchRows > maxBatch {
		errs = append(errs, fmt.Errorf("batch_rows: %d: use 1 to %d", o.BatchRows, maxBatch))
	}
	return errors.Join(errs...)
}

// Names are the sorted name lists that the indices of a pitch.Pitch point into.
// All lists are sorted bytewise. Pitchers holds keys (see pitch.PitcherKey) of
// pitchers with at least one row in scope; the other lists hold every name of
// the input.
type Names struct {
	Pitchers, Batters, Games, Venues, Levels []string
}

// Input describes one input file.
type Input struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
	Rows   int64  `json:"rows"`
	// Schema is a fingerprint of the leaf columns' names and types.
	Schema string `json:"schema"`
	// PageCRC tells whether every page read carries a checksum. Without one, a
	// flipped byte in the data is read silently as another value.
	PageCRC bool `json:"page_crc"`
}

// Warning is a caveat of the input.
type Warning struct {
	Code   string `json:"code"`
	Detail string `json:"detail"`
}
