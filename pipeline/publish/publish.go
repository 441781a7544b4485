// Package publish writes published versions: immutable folders under a
// league's store, each holding the same rows in several formats, a manifest
// and checksums, made visible by one entry of an append-only log.
//
// It knows formats and file systems. It knows nothing of how the rows were
// estimated, reads no clock and no environment, and never touches a version
// that is already there.
//
// # Protocol
//
// A version is staged in a folder of its own on the store's file system (each
// file created exclusively and synced, the manifest and checksums last), read
// back and verified, and renamed into place without replacing anything. Then
// its log entry is linked to the next free serial: that link is the commit
// point. catalog.json and LATEST are rewritten from the log afterwards. A
// whole version that lies in place without a log entry (its writer was
// interrupted) is logged by whoever meets it next, so no publisher ever waits
// for another one.
package publish

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"sill/pipeline/thresholds"
)

// Options says where and under what number to publish.
type Options struct {
	// Dir is the league's store, such as outputs/harbour. Its last element is
	// a plain name; it is created where it is absent.
	Dir string
	// Bump is the step of the version number asked for, Auto for the smallest
	// that the change allows. A smaller step than that is refused (ErrBump).
	Bump Bump
	// Created is the time recorded in the manifest and log: that of
	// SOURCE_DATE_EPOCH where it is set, else now. The caller passes it in.
	Created time.Time
	// Host is recorded in the manifest, "" to leave it out.
	Host string
	// Page makes PageFile of a version that has its number now, and whose other
	// files lie in dir; it may hold neither clock nor host. Nil for no page, as is
	// an empty one.
	Page func(dir string, m thresholds.Manifest) ([]byte, error)

	disk disk // faults of tests
}

// PageFile is the version as a page to read.
const PageFile = "report.html"

// Version is what is published.
type Version struct {
	Tool          thresholds.Tool
	Algorithm     string // version of the estimators; part of the content id
	Seed          uint64
	Replicates    int
	Configuration []thresholds.Setting
	Variables     []thresholds.Variable // in the table's order, with their definitions
	Warnings      []thresholds.Warning  // that rows may carry
	Families      []thresholds.Tested
	Inputs        []thresholds.Input
	Rows          thresholds.Rows
	Notes         []string

	// Tables are written in the order given (see thresholds.Sort) and hold numbers of
	// the decimals that their columns state (see thresholds.Tables.Round).
	Tables     *thresholds.Tables
	Quarantine []Reject
	Quality    any // written as quality.json
	// Formats are the optional formats to write too (see OptionalFormats).
	Formats []string
	// Files are further files by plain name, such as CHANGES.md.
	Files map[string][]byte
	// Documents holds, for each JSON document among Files, a value of the Go
	// type it was encoded from, by name without .json: its schema is written too.
	Documents map[string]any
	// Follows is the newest version when Files were made, empty for none; a
	// version that would follow another one is refused (ErrParent). Nil for any.
	Follows *string
	// Handover is the tally file, kept in _handover by its sha256; nil for none.
	Handover []byte
}

// Reject is one rejected row of the inputs.
type Reject struct {
	File   string `json:"file" parquet:"file" doc:"name of the input file"`
	Row    int64  `json:"row" parquet:"row" doc:"number of the row in its file, from 0"`
	Rule   string `json:"rule" parquet:"rule" doc:"code of the rule that rejected it"`
	Column string `json:"column" parquet:"column" doc:"column at fault, empty where it is the whole row"`
	Value  string `json:"value" parquet:"value" doc:"value at fault as text"`
}

// Committed is the outcome of Commit.
type Committed struct {
	Version   string   // such as v1.0.0
	Dir       string   // folder of the version
	Unchanged bool     // the newest version has the same content id; nothing was written
	Parent    string   // version it follows, "" for the first
	ContentID string   // of the version
	Bump      Bump     // step from the parent
	Reasons   []string // why the step is no smaller
}

var (
	// ErrConflict says that something stands in the way of the version.
	ErrConflict = errors.New("version conflict")
	// ErrParent is the ErrConflict of a version that was made to follow another one
	// than the newest.
	ErrParent = fmt.Errorf("%w: another version was published meanwhile", ErrConflict)
	// ErrBump says that the version number asked for hides a larger change.
	ErrBump = errors.New("version bump too small")
	// ErrFileSystem says that the store's file system lacks what publishing needs.
	ErrFileSystem = errors.New("the store needs a file system with hard links")
)

// plainName admits names that are one folder or file on every system.
var plainName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$`)

// Validate reports every fault of the options.
func (o Options) Validate() error {
	var errs []error
	if name := filepath.Base(o.Dir); o.Dir == "" || !plainName.MatchString(name) {
		errs = append(errs, fmt.Errorf("publish: folder %q: the league's name must be letters, digits, dots, dashes and underscores", o.Dir))
	}
	if o.Bump < Auto || o.Bump > Major {
		errs = append(errs, fmt.Errorf("publish: unknown bump %d", o.Bump))
	}
	if o.Created.IsZero() {
		errs = append(errs, errors.New("publish: no time of creation given"))
	}
	return errors.Join(errs...)
}

// checkFolder refuses a store or one of its folders that is a link or a file.
func checkFolder(dir string) error {
	info, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%w: %s is not a folder (%s)", ErrConflict, dir, info.Mode().Type())
	}
	return nil
}
