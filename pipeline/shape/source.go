package shape

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sill/pipeline/pitch"
)

// Place is where in its flight a source measures a pitch: a y in feet from the
// rear tip of the plate, AtRelease or Unstated.
type Place float64

// The places that are no fixed y, and the usual one at the plate.
const (
	Unstated     Place = -2
	AtRelease    Place = -1
	AtPlateFront Place = pitch.PlateFront
)

// String returns the word for the place, a y as "50ft".
func (p Place) String() string {
	switch p {
	case AtRelease:
		return "release"
	case AtPlateFront:
		return "plate_front"
	case Unstated:
		return "unstated"
	}
	return strconv.FormatFloat(float64(p), 'g', -1, 64) + "ft"
}

// setting returns the word as a profile writes it.
func (p Place) setting() string { return strings.TrimSuffix(p.String(), "ft") }

func (p Place) valid() bool {
	return p == AtRelease || p == Unstated || p >= 0 && p <= pitch.RubberY
}

// Source says how a source measures what it provides.
type Source struct {
	SpeedAt      Place    // where velocity is measured
	MovementFrom Place    // where the flight begins over which breaks are given
	MovementTo   Place    // where it ends
	AnglesAt     Place    // where approach angles are taken
	Derive       []string // columns to derive from the trajectory although the source gives them
}

// DefaultSource returns speed at release and angles at the front of the plate.
// The interval of the breaks is unstated: one pitch breaks 16.35 in from
// release, 13.94 from y = 50 and 8.93 from y = 40, so no default is safe.
func DefaultSource() Source {
	return Source{SpeedAt: AtRelease, MovementFrom: Unstated, MovementTo: Unstated, AnglesAt: AtPlateFront}
}

// Validate reports every fault of the source.
func (s Source) Validate() error {
	var errs []error
	place := func(what string, p Place, ok bool) {
		if !ok || !p.valid() {
			errs = append(errs, fmt.Errorf("source: %s is %v", what, p))
		}
	}
	place("the place of speed", s.SpeedAt, s.SpeedAt != Unstated)
	place("the place of approach angles", s.AnglesAt, s.AnglesAt != Unstated)
	place("the start of movement", s.MovementFrom, true)
	place("the end of movement", s.MovementTo, s.MovementTo != AtRelease)
	if (s.MovementFrom == Unstated) != (s.MovementTo == Unstated) {
		errs = append(errs, errors.New("source: only one end of the flight interval of movement is stated"))
	}
	if s.MovementFrom >= 0 && s.MovementFrom <= s.MovementTo {
		errs = append(errs, fmt.Errorf("source: movement from %v to %v runs away from the plate", s.MovementFrom, s.MovementTo))
	}
	for _, name := range s.Derive {
		if !slices.ContainsFunc(completed, func(c *provenance) bool { return c.column == name }) {
			errs = append(errs, fmt.Errorf("source: %q cannot be derived from a trajectory", name))
		}
	}
	return errors.Join(errs...)
}
