package shape

import (
	"fmt"
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// NoFlight is the rule that rejects a pitch whose nine parameters describe no
// flight from release to the front of the plate within .25 to 1.6 s.
const NoFlight = "no_flight"

// The zone in feet where the source does not give the batter's own.
const (
	DefaultZoneTop    = 3.4
	DefaultZoneBottom = 1.6
)

// shoulderShare is the height of the shoulder as a share of a pitcher's height,
// in the arm slot's proxy (from memory, no source).
const shoulderShare = .70

// completed lists the numbers that a provider may give and a trajectory can
// tell, with the largest difference between the two that is no disagreement.
var completed = [...]struct {
	column    string
	number    pitch.Number
	tolerance float64
}{
	{"velocity", pitch.Velocity, .5},
	{"induced_vertical_break", pitch.InducedVerticalBreak, 1},
	{"horizontal_break", pitch.HorizontalBreak, 1},
	{"vertical_approach_angle", pitch.VerticalApproachAngle, .125},
	{"horizontal_approach_angle", pitch.HorizontalApproachAngle, .125},
	{"release_height", pitch.ReleaseHeight, .1},
	{"release_side", pitch.ReleaseSide, .1},
	{"plate_height", pitch.PlateHeight, .1},
	{"plate_side", pitch.PlateSide, .1},
}

// The indices of completed.
const (
	velocity = iota
	inducedBreak
	sideBreak
	verticalAngle
	sideAngle
	releaseHeight
	releaseSide
	plateHeight
	plateSide
)

func completedIndex(column string) int {
	for i := range completed {
		if completed[i].column == column {
			return i
		}
	}
	return -1
}

// origin is where the values of a number come from in this run.
type origin uint8

const (
	absent    origin = iota
	given            // the provider's, as it is
	moved            // the provider's, moved to sill's place along the trajectory
	elsewhere        // the provider's, measured at another place, no trajectory to move it
	derived          // from the trajectory
	computed         // from other variables
)

var originWords = []string{"absent", "provider", "provider, moved along the trajectory",
	"provider, measured elsewhere", "derived from the trajectory", "computed"}

// Resolver completes pitches: it settles for each number, once a run, whether
// the provider's value or the trajectory's is used. It is safe for concurrent
// use.
type Resolver struct {
	has        func(string) bool
	source     Source
	origins    [len(completed)]origin
	trajectory bool // the source has all nine parameters
	zone       bool // the source has the batter's zone
	slotProxy  bool // the arm slot is reckoned from the release point
}

// NewResolver decides the source of every number from the columns that the
// source provides (constants included) and from how it measures them. Provided
// values win where their place and interval are sill's own or can be moved
// there along the trajectory. It refuses breaks over another or an unstated
// flight interval where no trajectory can rescale them.
func NewResolver(has func(column string) bool, s Source) (*Resolver, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	r := &Resolver{has: has, source: s, zone: has("zone_top") && has("zone_bottom")}
	r.trajectory = true
	for _, c := range []string{"position_x", "position_y", "position_z", "velocity_x", "velocity_y",
		"velocity_z", "acceleration_x", "acceleration_y", "acceleration_z"} {
		r.trajectory = r.trajectory && has(c)
	}
	for i, c := range completed {
		switch {
		case !has(c.column) && !r.trajectory:
			r.origins[i] = absent
		case !has(c.column) || r.trajectory && slices.Contains(s.Derive, c.column):
			r.origins[i] = derived
		case r.inPlace(i):
			r.origins[i] = given
		case i == inducedBreak || i == sideBreak:
			if !r.trajectory {
				return nil, fmt.Errorf("resolve %s: the source's flight interval runs from %v to %v, not from release to the front of the plate, and without all nine trajectory columns it cannot be rescaled; state the interval or leave the column unmapped",
					c.column, s.MovementFrom, s.MovementTo)
			}
			r.origins[i] = moved
			if s.MovementFrom == Unstated {
				r.origins[i] = derived
			}
		case r.trajectory:
			r.origins[i] = moved
		default:
			r.origins[i] = elsewhere
		}
	}
	r.slotProxy = !has("arm_angle") && has("pitcher_height") &&
		r.origins[releaseHeight] != absent && r.origins[releaseSide] != absent
	return r, nil
}

// MovementFrom returns where the profile says that breaks begin, as it writes it.
func (r *Resolver) MovementFrom() string { return r.source.MovementFrom.setting() }

// inPlace tells whether the provider measures a number where sill does.
func (r *Resolver) inPlace(i int) bool {
	switch i {
	case velocity:
		return r.source.SpeedAt == AtRelease
	case inducedBreak, sideBreak:
		return r.source.MovementFrom == AtRelease && r.source.MovementTo == AtPlateFront
	case verticalAngle, sideAngle:
		return r.source.AnglesAt == AtPlateFront
	}
	return true
}

// Complete fills the derived numbers of a pitch and counts what it met in q,
// which belongs to one goroutine. It returns "" or the rule that rejects the
// pitch, NoFlight. A pitch without a trajectory keeps what the provider gives
// in place; nothing is filled in from the other source.
func (r *Resolver) Complete(p *pitch.Pitch, q *Quality) (rule string) {
	f, tracked := trajectory{}, false
	if r.trajectory {
		f, tracked = trajectoryOf(p)
	}
	var fl flight
	if tracked {
		release := defaultRelease
		if e := p.Num[pitch.Extension]; !pitch.IsMissing(e) {
			release = pitch.RubberY - e
		} else {
			q.DefaultExtension++
		}
		var ok bool
		if fl, ok = f.fly(release); !ok {
			q.NoFlight++
			return NoFlight
		}
		q.Tracked++
	}
	arm := p.Hand.ArmSide()
	r.fill(p, q, &fl, tracked, arm)
	p.Num[pitch.NeutralApproachAngle] = pitch.Missing()
	if tracked {
		p.Num[pitch.NeutralApproachAngle] = fl.neutralAngle()
	}
	if !r.zone {
		p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = DefaultZoneTop, DefaultZoneBottom
		q.DefaultZone++
	}
	if r.slotProxy {
		rise := p.Num[pitch.ReleaseHeight] - float64(shoulderShare*p.Num[pitch.PitcherHeight])
		p.Num[pitch.ArmAngle] = degrees(math.Atan2(rise, math.Abs(p.Num[pitch.ReleaseSide])))
	}
	return ""
}

// fill settles the completed numbers of one pitch.
func (r *Resolver) fill(p *pitch.Pitch, q *Quality, f *flight, tracked bool, arm float64) {
	var own [len(completed)]float64
	if tracked {
		own = f.numbers(arm)
	}
	for i := range completed {
		num := &p.Num[completed[i].number]
		switch r.origins[i] {
		case given:
			if tracked {
				q.fit(i, p, *num, f, r.source.MovementTo, arm)
			}
		case derived:
			*num = pitch.Missing()
			if tracked {
				*num = own[i]
			}
			continue
		case moved:
			if tracked {
				q.fit(i, p, *num, f, r.source.MovementTo, arm)
				*num = r.move(i, *num, own[i], f, arm)
			} else {
				*num = pitch.Missing()
			}
		default:
			continue
		}
		if tracked && !pitch.IsMissing(*num) {
			q.compare(i, p, *num-own[i])
		}
	}
}

// numbers returns the completed numbers as the trajectory tells them.
func (f *flight) numbers(arm float64) (out [len(completed)]float64) {
	rx, rz := f.positionAt(f.release)
	px, pz := f.positionAt(f.plate)
	induced, breakX := f.breaks(f.time())
	vertical, angleX := f.anglesAt(f.plate)
	out[velocity] = f.speedAt(f.release)
	out[inducedBreak], out[sideBreak] = induced, arm*breakX
	out[verticalAngle], out[sideAngle] = vertical, arm*angleX
	out[releaseHeight], out[releaseSide] = rz, arm*rx
	out[plateHeight], out[plateSide] = pz, arm*px
	return out
}

// move carries the provider's value x from where it was measured to where sill
// measures it: speeds by the ratio of the trajectory's speeds, breaks by the
// squared ratio of flight times (½at²), angles by the trajectory's own turn.
func (r *Resolver) move(i int, x, own float64, f *flight, arm float64) float64 {
	at := func(p Place) float64 {
		t, ok := f.at(p)
		if !ok {
			return pitch.Missing()
		}
		return t
	}
	switch i {
	case velocity:
		return x * (own / f.speedAt(at(r.source.SpeedAt)))
	case inducedBreak, sideBreak:
		ratio := f.time() / (at(r.source.MovementTo) - at(r.source.MovementFrom))
		return x * (ratio * ratio)
	case verticalAngle:
		there, _ := f.anglesAt(at(r.source.AnglesAt))
		return x + (own - there)
	default: // sideAngle
		_, there := f.anglesAt(at(r.source.AnglesAt))
		return x + (own - float64(arm*there))
	}
}

// Choice says where the values of one variable come from.
type Choice struct {
	Variable   string `json:"variable"`
	Definition string `json:"definition"` // empty where the variable is absent
	Origin     string `json:"origin"`
}

// Variables returns those of vars that this source can tell, with their
// definitions: a speed or angle measured elsewhere that no trajectory can move
// carries the place in its definition.
func (r *Resolver) Variables(vars []Variable) []Variable {
	var out []Variable
	for _, v := range vars {
		if o := r.originOf(v.Name); o != absent {
			v.Definition = r.definition(v, o)
			out = append(out, v)
		}
	}
	return out
}

// Choices returns the origin of each of vars, the absent ones included.
func (r *Resolver) Choices(vars []Variable) []Choice {
	out := make([]Choice, len(vars))
	for i, v := range vars {
		o := r.originOf(v.Name)
		out[i] = Choice{Variable: v.Name, Origin: originWords[o]}
		if o != absent {
			out[i].Definition = r.definition(v, o)
		}
		switch k := completedIndex(v.Name); {
		case v.Name == "arm_slot" && r.slotProxy:
			out[i].Origin = "proxy from the release point and the pitcher's height"
		case (k == inducedBreak || k == sideBreak) && o == derived && r.has(v.Name) && r.source.MovementFrom == Unstated:
			out[i].Origin += ": the source's flight interval is unstated"
		}
	}
	return out
}

// originOf returns the origin of a variable of Variables.
func (r *Resolver) originOf(name string) origin {
	provided := func(ok bool) origin {
		if ok {
			return given
		}
		return absent
	}
	switch name {
	case "neutral_approach_angle":
		if r.trajectory {
			return derived
		}
		return absent
	case "axis_gap":
		if r.has("spin_axis") && r.origins[inducedBreak] != absent && r.origins[sideBreak] != absent {
			return computed
		}
		return absent
	case "arm_slot":
		return provided(r.has("arm_angle") || r.slotProxy)
	}
	if i := completedIndex(name); i >= 0 {
		return r.origins[i]
	}
	return provided(r.has(name))
}

func (r *Resolver) definition(v Variable, o origin) string {
	switch {
	case o == elsewhere && v.Name == "velocity":
		return fmt.Sprintf("velocity/%v/mph", r.source.SpeedAt)
	case o == elsewhere && v.Name == "vertical_approach_angle":
		return fmt.Sprintf("vertical_approach_angle/%v/deg", r.source.AnglesAt)
	case o == elsewhere && v.Name == "horizontal_approach_angle":
		return fmt.Sprintf("horizontal_approach_angle/%v/arm_side/deg", r.source.AnglesAt)
	case v.Name == "plate_height" && !r.zone:
		return fmt.Sprintf("plate_height/plate_front/share_of_%g_to_%gft", DefaultZoneBottom, DefaultZoneTop)
	case v.Name == "arm_slot" && r.slotProxy:
		return "arm_slot/proxy_release_over_shoulder/deg"
	}
	return v.Definition
}
