package demo

import (
	"errors"
	"fmt"
)

// Options say which league is written, how much of it, and where.
type Options struct {
	Dir     string // folder to write to; Play ignores it
	League  string // see Find
	Pitches int    // regular-season pitches a season, 0 for the league's own number
	Seasons int
	Seed    uint64
	// RowGroup is the number of rows of a Parquet row group.
	RowGroup int
}

// MaxPitches is the largest number of pitches a season may have.
const MaxPitches = 10_000_000

// DefaultOptions returns one season of the Lantern League.
func DefaultOptions() Options {
	return Options{League: "lantern", Seasons: 1, Seed: 1, RowGroup: 65_536}
}

// Validate returns every fault of the options, joined.
func (o Options) Validate() error {
	var errs []error
	if _, err := Find(o.League); err != nil {
		errs = append(errs, err)
	}
	if o.Pitches < 0 || o.Pitches > MaxPitches {
		errs = append(errs, fmt.Errorf("check pitches: %d is not within 0 to %d", o.Pitches, MaxPitches))
	}
	if o.Seasons < 1 || o.Seasons > 50 {
		errs = append(errs, fmt.Errorf("check seasons: %d is not within 1 to 50", o.Seasons))
	}
	if o.RowGroup < 1 {
		errs = append(errs, fmt.Errorf("check row group: %d rows are too few", o.RowGroup))
	}
	return errors.Join(errs...)
}
