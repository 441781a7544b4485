package shape

import (
	"fmt"
	"strings"

	"sill/pipeline/pitch"
)

// origin is where the values of a number come from in this run.
type origin uint8

const (
	absent    origin = iota
	given            // the provider's, as it is
	moved            // the provider's, moved to sill's place along the trajectory
	elsewhere        // the provider's, measured at another place, no trajectory to move it
	derived          // from the trajectory
	computed         // from other variables
	proxy
)

var originWords = [...]string{absent: "absent", given: "provider", moved: "provider, moved along the trajectory",
	elsewhere: "provider, measured elsewhere", derived: "derived from the trajectory", computed: "computed",
	proxy: "proxy from the release point and the pitcher's height"}

// provenance says where the values of a variable may come from.
type provenance struct {
	// Of a number that a provider may give and a trajectory can tell.
	number    pitch.Number
	tolerance float64             // largest difference between the two that is no disagreement
	at        Place               // where sill measures it; a break ends there
	source    func(*Source) Place // where the source does; nil: there too, as far as is known
	scales    bool                // from one place to another by a ratio, else by a difference
	isBreak   bool
	// measure returns it at time t, a break over t seconds; arm is the sign of the arm
	// side. nil where a trajectory does not tell it.
	measure func(f *flight, t, arm float64) float64

	origin     func(*Resolver) origin // of other variables
	definition func(*Resolver) string // nil, or "" where the variable's own is right

	column string
	index  int // in completed
}

var (
	velocity = &provenance{number: pitch.Velocity, tolerance: .5, at: AtRelease, scales: true,
		source:  func(s *Source) Place { return s.SpeedAt },
		measure: func(f *flight, t, _ float64) float64 { return f.speedAt(t) }}
	inducedBreak = &provenance{number: pitch.InducedVerticalBreak, tolerance: 1, at: AtPlateFront, isBreak: true,
		measure: func(f *flight, t, _ float64) float64 {
			induced, _ := f.breaks(t)
			return induced
		}}
	sideBreak = &provenance{number: pitch.HorizontalBreak, tolerance: 1, at: AtPlateFront, isBreak: true,
		measure: func(f *flight, t, arm float64) float64 {
			_, towardX := f.breaks(t)
			return float64(arm * towardX)
		}}
	verticalAngle = &provenance{number: pitch.VerticalApproachAngle, tolerance: .125, at: AtPlateFront, source: anglesAt,
		measure: func(f *flight, t, _ float64) float64 {
			vertical, _ := f.anglesAt(t)
			return vertical
		}}
	sideAngle = &provenance{number: pitch.HorizontalApproachAngle, tolerance: .125, at: AtPlateFront, source: anglesAt,
		measure: func(f *flight, t, arm float64) float64 {
			_, towardX := f.anglesAt(t)
			return float64(arm * towardX)
		}}
	releaseHeight = &provenance{number: pitch.ReleaseHeight, tolerance: .1, at: AtRelease, measure: height}
	releaseSide   = &provenance{number: pitch.ReleaseSide, tolerance: .1, at: AtRelease, measure: side}
	plateHeight   = &provenance{number: pitch.PlateHeight, tolerance: .1, at: AtPlateFront, measure: height,
		definition: func(r *Resolver) string {
			if r.zone {
				return ""
			}
			return fmt.Sprintf("plate_height/plate_front/share_of_%g_to_%gft", DefaultZoneBottom, DefaultZoneTop)
		}}
	plateSide    = &provenance{number: pitch.PlateSide, tolerance: .1, at: AtPlateFront, measure: side}
	neutralAngle = &provenance{origin: func(r *Resolver) origin {
		if r.trajectory {
			return derived
		}
		return absent
	}}
	gapOrigin = &provenance{origin: func(r *Resolver) origin {
		if r.has("spin_axis") && r.origins[inducedBreak.index] != absent && r.origins[sideBreak.index] != absent {
			return computed
		}
		return absent
	}}
	slotOrigin = &provenance{
		origin: func(r *Resolver) origin {
			switch {
			case r.slotProxy:
				return proxy
			case r.has("arm_angle"):
				return given
			}
			return absent
		},
		definition: func(r *Resolver) string {
			if r.slotProxy {
				return "arm_slot/proxy_release_over_shoulder/deg"
			}
			return ""
		}}
)

func anglesAt(s *Source) Place { return s.AnglesAt }

func height(f *flight, t, _ float64) float64 {
	_, z := f.positionAt(t)
	return z
}

func side(f *flight, t, arm float64) float64 {
	x, _ := f.positionAt(t)
	return float64(arm * x)
}

// completed lists the numbers that a trajectory tells, in the order of Variables.
var completed = func() (out []*provenance) {
	for _, v := range Variables {
		if c := v.from; c != nil && c.measure != nil {
			c.column, c.index = v.Name, len(out)
			out = append(out, c)
		}
	}
	return out
}()

// inPlace tells whether the source measures a number where sill does.
func (c *provenance) inPlace(s *Source) bool {
	if c.isBreak {
		return s.MovementFrom == AtRelease && s.MovementTo == AtPlateFront
	}
	return c.source == nil || c.source(s) == c.at
}

// own returns a number as the trajectory tells it.
func (c *provenance) own(f *flight, arm float64) float64 {
	if c.isBreak {
		return c.measure(f, f.time(), arm)
	}
	t, _ := f.at(c.at)
	return c.measure(f, t, arm)
}

// move carries the provider's value x from where it was measured to where sill
// measures it: speeds by the ratio of the trajectory's speeds, breaks by the
// squared ratio of flight times (½at²), angles by the trajectory's own turn.
func (c *provenance) move(s *Source, x, own float64, f *flight, arm float64) float64 {
	at := func(p Place) float64 {
		t, ok := f.at(p)
		if !ok {
			return pitch.Missing()
		}
		return t
	}
	if c.isBreak {
		ratio := f.time() / (at(s.MovementTo) - at(s.MovementFrom))
		return x * (ratio * ratio)
	}
	there := c.measure(f, at(c.source(s)), arm)
	if c.scales {
		return x * (own / there)
	}
	return x + (own - there)
}

// originIn is where the values of the variable come from.
func (v *Variable) originIn(r *Resolver) origin {
	switch from := v.from; {
	case from != nil && from.origin != nil:
		return from.origin(r)
	case from != nil:
		return r.origins[from.index]
	case r.has(v.Name):
		return given
	}
	return absent
}

// definitionIn is what the source measures.
func (v *Variable) definitionIn(r *Resolver, o origin) string {
	if o == elsewhere {
		return strings.Replace(v.Definition, v.from.at.String(), v.from.source(&r.source).String(), 1)
	}
	if v.from != nil && v.from.definition != nil {
		if other := v.from.definition(r); other != "" {
			return other
		}
	}
	return v.Definition
}
