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
// in place of them.
type Stratum struct {
	Name string
	// Of returns the value of the stratum that a pitch falls in, "" for none.
	Of        func(*pitch.Pitch) string
	Types     []pitch.Type // split these types; nil for all
	Variables []string     // count these variables; nil for all
}

// PlateThirds splits by the height at the front of the plate: lower, middle and
// upper third of the batter's zone, below and above it; the lower edge of each
// third belongs to it.
func PlateThirds(types []pitch.Type, variables []string) Stratum {
	return Stratum{Name: "plate_height_third", Of: plateThird, Types: types, Variables: variables}
}

func plateThird(p *pitch.Pitch) string {
	top, bottom, z := p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateHeight]
	third := (top - bottom) / 3
	switch {
	case !(third > 0) || pitch.IsMissing(z):
		return ""
	case z < bottom:
		return "below"
	case z < bottom+third:
		return "lower"
	case z < top-third:
		return "middle"
	case z <= top:
		return "upper"
	}
	return "above"
}

// key is the Cell.Stratum of one value.
func (s *Stratum) key(value string) string { return s.Name + ":" + value }

// splits tells whether the stratum splits a pitch type.
func (s *Stratum) splits(t pitch.Type) bool { return s.Types == nil || slices.Contains(s.Types, t) }

// counts tells whether the stratum counts a variable.
func (s *Stratum) counts(name string) bool {
	return s.Variables == nil || slices.Contains(s.Variables, name)
}

func (s *Stratum) validate(vars []shape.Variable) error {
	var errs []error
	if s.Name == "" || strings.Contains(s.Name, ":") {
		errs = append(errs, fmt.Errorf("stratum %q: a name is needed, without a colon", s.Name))
	}
	if s.Of == nil {
		errs = append(errs, fmt.Errorf("stratum %s: no function", s.Name))
	}
	for _, name := range s.Variables {
		if !slices.Contains(shape.Names(vars), name) {
			errs = append(errs, fmt.Errorf("stratum %s: variable %q is not counted", s.Name, name))
		}
	}
	return errors.Join(errs...)
}
