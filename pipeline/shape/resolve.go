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

// Resolver completes pitches: it settles for each number, once a run, whether
// the provider's value or the trajectory's is used. It is safe for concurrent
// use.
type Resolver struct {
	has        func(string) bool
	source     Source
	origins    []origin // of completed
	trajectory bool     // the source has all nine parameters
	zone       bool     // the source has the batter's zone
	slotProxy  bool     // the arm slot is reckoned from the release point
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
	r := &Resolver{has: has, source: s, origins: make([]origin, len(completed)), zone: has("zone_top") && has("zone_bottom")}
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
		case c.inPlace(&s):
			r.origins[i] = given
		case c.isBreak:
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
		r.origins[releaseHeight.index] != absent && r.origins[releaseSide.index] != absent
	return r, nil
}

// MovementFrom returns where the profile says that breaks begin, as it writes it.
func (r *Resolver) MovementFrom() string { return r.source.MovementFrom.setting() }

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
	for i, c := range completed {
		o := r.origins[i]
		if o == absent || o == elsewhere {
			continue
		}
		num := &p.Num[c.number]
		if !tracked {
			if o != given {
				*num = pitch.Missing()
			}
			continue
		}
		own := c.own(f, arm)
		if o == derived {
			*num = own
			continue
		}
		if c.isBreak {
			q.fit(c, p, *num, f, r.source.MovementTo, arm)
		}
		if o == moved {
			*num = c.move(&r.source, *num, own, f, arm)
		}
		if !pitch.IsMissing(*num) {
			q.compare(c, p, *num-own)
		}
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
		if o := v.originIn(r); o != absent {
			v.Definition = v.definitionIn(r, o)
			out = append(out, v)
		}
	}
	return out
}

// Choices returns the origin of each of vars, the absent ones included.
func (r *Resolver) Choices(vars []Variable) []Choice {
	out := make([]Choice, len(vars))
	for i, v := range vars {
		o := v.originIn(r)
		out[i] = Choice{Variable: v.Name, Origin: originWords[o]}
		if o != absent {
			out[i].Definition = v.definitionIn(r, o)
		}
		if v.from != nil && v.from.isBreak && o == derived && r.has(v.Name) && r.source.MovementFrom == Unstated {
			out[i].Origin += ": the source's flight interval is unstated"
		}
	}
	return out
}
