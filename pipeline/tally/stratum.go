package tally

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Stratum is a further split of every cell, counted beside the cells and never
// in place of them. A pitch that was not thrown to be hit (outcome.Shaped) is in
// none.
type Stratum struct {
	Name    string
	Title   string   // for people: "height of the pitch"
	Meaning string   // where one value ends and the next begins
	Values  []string // in their order; nil where the data give them
	Needs   []string // what a source must tell: variables and canonical columns
	// Of returns the value that a pitch falls in, "" for none.
	Of        func(p *pitch.Pitch, names *Names) string
	Types     []pitch.Type // split these types; nil for all
	Variables []string     // count these variables; nil for all
	Except    []string     // but not these, which the stratum itself cuts
}

// key is the Cell.Stratum of one value.
func (s *Stratum) key(value string) string { return s.Name + ":" + value }

// splits tells whether the stratum splits a pitch type.
func (s *Stratum) splits(t pitch.Type) bool { return s.Types == nil || slices.Contains(s.Types, t) }

// counts tells whether the stratum counts a variable.
func (s *Stratum) counts(name string) bool {
	return (s.Variables == nil || slices.Contains(s.Variables, name)) && !slices.Contains(s.Except, name)
}

func (s *Stratum) validate() error {
	var errs []error
	if s.Name == "" || strings.Contains(s.Name, ":") {
		errs = append(errs, fmt.Errorf("stratum %q: a name is needed, without a colon", s.Name))
	}
	if s.Of == nil {
		errs = append(errs, fmt.Errorf("stratum %s: no function", s.Name))
	}
	return errors.Join(errs...)
}

// Lacks says what keeps a source from being split, "" where nothing does: a
// column or variable that has tells it to lack, or none of the variables counted.
func (s *Stratum) Lacks(vars []shape.Variable, has func(name string) bool) string {
	var missing []string
	for _, n := range s.Needs {
		if !has(n) {
			missing = append(missing, n)
		}
	}
	if len(missing) > 0 {
		return "the source does not tell " + strings.Join(missing, ", ")
	}
	if !slices.ContainsFunc(vars, func(v shape.Variable) bool { return s.counts(v.Name) }) {
		return "none of its variables is counted: " + strings.Join(s.Variables, ", ")
	}
	return ""
}

// StrataNamed returns strata of Strata by name, in the order of Strata. It fails
// on an unknown name and on one given twice.
func StrataNamed(names []string) ([]Stratum, error) {
	var errs []error
	var known []string
	for _, s := range Strata {
		known = append(known, s.Name)
	}
	for i, n := range names {
		switch {
		case slices.Contains(names[:i], n):
			errs = append(errs, fmt.Errorf("stratum %s is given twice", n))
		case slices.Contains(known, n):
		case pitch.Nearest(n, known) != "":
			errs = append(errs, fmt.Errorf("unknown stratum %q (did you mean %q?)", n, pitch.Nearest(n, known)))
		default:
			errs = append(errs, fmt.Errorf("unknown stratum %q (known: %s)", n, strings.Join(known, ", ")))
		}
	}
	var out []Stratum
	for _, s := range Strata {
		if slices.Contains(names, s.Name) {
			out = append(out, s)
		}
	}
	return out, errors.Join(errs...)
}
