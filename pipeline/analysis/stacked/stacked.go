// Package stacked asks how many of a pitch's qualities must lie in their good
// zones before batters miss more, or hit less: does one outlier suffice, does each
// further one add, or must all of them be there? Zones come from one half of the
// pitchers and rates from the other, both ways round, so no pitcher is judged by
// zones that he helped to find.
//
// It reads pitches and writes no files.
package stacked

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// DefaultQualities are the qualities that are stacked where none is named.
var DefaultQualities = []string{"velocity", "induced_vertical_break", "horizontal_break", "vertical_approach_angle"}

// maxQualities bounds the qualities stacked together: a pitch falls in one of
// 2^qualities groups.
const maxQualities = 8

// Options say what is stacked and how zones are sought.
type Options struct {
	Qualities []string // names of variables; those that the source cannot tell are left out
	Reference string   // the line that a zone beats
	Possible  bool     // take zones as far as the limits of their breakpoints allow
	Estimate  estimate.Options
	Locate    locate.Options
}

// DefaultOptions stacks DefaultQualities by their zones against the
// headline line.
func DefaultOptions() Options {
	return Options{Qualities: DefaultQualities, Reference: estimate.TypeMedian, Estimate: estimate.DefaultOptions(), Locate: locate.DefaultOptions()}
}

// references are the lines whose zones can be stacked.
var references = []string{estimate.TypeMedian, estimate.TypeRate, estimate.HandMedian, estimate.HandRate,
	estimate.MatchupMedian, estimate.MatchupRate, estimate.LeagueMedian, estimate.LeagueRate}

// References lists the lines whose zones can be stacked.
func References() []string { return slices.Clone(references) }

// ErrQualities marks a source that tells too few of the qualities.
var ErrQualities = errors.New("stack qualities: two are needed")

// Validate reports every fault of the options.
func (o Options) Validate() error {
	var errs []error
	if len(o.Qualities) < 2 || len(o.Qualities) > maxQualities {
		errs = append(errs, fmt.Errorf("stack qualities: %d are named, not 2 to %d", len(o.Qualities), maxQualities))
	}
	for i, q := range o.Qualities {
		if slices.Contains(o.Qualities[:i], q) {
			errs = append(errs, fmt.Errorf("stack qualities: %s is named twice", q))
		}
	}
	if !slices.Contains(references, o.Reference) {
		errs = append(errs, fmt.Errorf("stack qualities: unknown line %q", o.Reference))
	}
	return errors.Join(append(errs, o.Estimate.Validate(), o.Locate.Validate())...)
}

// Measure finds each half's zones, counts every pitch by the other half's, and
// judges what stacking brings. It reads the pitches twice.
func Measure(ctx context.Context, p tally.Pitches, o Options) (*Report, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	qualities := slices.DeleteFunc(slices.Clone(p.Variables()), func(v shape.Variable) bool { return !slices.Contains(o.Qualities, v.Name) })
	if len(qualities) < 2 {
		return nil, fmt.Errorf("%w: the source tells %d of %v; name others with --quality, or map more columns", ErrQualities, len(qualities), o.Qualities)
	}
	half := Halves(p.Names().Pitchers, o.Estimate.Seed)
	zones, err := findZones(ctx, p, qualities, half, o)
	if err != nil {
		return nil, err
	}
	var masks []shape.Variable
	for m := range outcome.Metrics {
		masks = append(masks, zones.mask(qualities, half, m))
	}
	counts, err := tally.Count(ctx, p, masks)
	if err != nil {
		return nil, err
	}
	return judge(counts, qualities, zones, o), nil
}
