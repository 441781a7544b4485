package pipeline

import (
	"errors"
	"fmt"
	"slices"

	"sill/pipeline/ingest"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// ErrStratum marks a run that asks for a stratum which its source cannot tell.
var ErrStratum = errors.New("the source cannot be split by")

// strataFor returns the strata of a run. Where the source lacks what a stratum
// needs, that is an error for one asked for by name and a note for the default.
func strataFor(names []string, season *ingest.Season, r *shape.Resolver, vars []shape.Variable) (strata []tally.Stratum, notes []string, err error) {
	absent := map[string]bool{}
	for _, c := range r.Choices(shape.Variables) {
		absent[c.Variable] = c.Definition == ""
	}
	has := func(name string) bool {
		if missing, variable := absent[name]; variable {
			return !missing
		}
		return season.Has(name)
	}
	all, err := tally.StrataNamed(names)
	asked := !slices.Equal(names, DefaultOptions().Strata)
	errs := []error{err}
	for _, s := range all {
		switch why := s.Lacks(vars, has); {
		case why == "":
			strata = append(strata, s)
		case asked:
			errs = append(errs, fmt.Errorf("%w %s: %s; map it in the profile, or leave the stratum out of the setting strata", ErrStratum, s.Name, why))
		default:
			notes = append(notes, fmt.Sprintf("no_stratum: %s was left out: %s", s.Name, why))
		}
	}
	return strata, notes, errors.Join(errs...)
}
