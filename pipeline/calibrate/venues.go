package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/quality"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// comparison compares venues over pitches: what each reads too high, and whether a run
// would warn of it.
type comparison func(pitches []pitch.Pitch, variables []shape.Variable, names []string) (offsets []quality.VenueOffset, named []bool)

// venueSets is the full number of seasons in which venues are compared, by design.
const venueSets = 400

// venueDesign is a season of four-seam fastballs at twelve venues. Pitchers differ in
// velocity, throw half of their pitches at home and the rest elsewhere, a game at a
// time, and are not the same from game to game.
type venueDesign struct {
	pitchers int
	planted  float64 // what the first venue reads too high, mph
}

func (d venueDesign) String() string {
	return fmt.Sprintf("%d pitchers at 12 venues, one reads %+.1f mph", d.pitchers, d.planted)
}

var venueDesigns = []venueDesign{{60, 0}, {240, 0}, {240, 1.5}, {240, -1.5}}

const venueCount = 12

// play throws a season. truth is what each venue reads more than elsewhere, of the
// pitches thrown there, weighted as pitchers are.
func (d venueDesign) play(seed uint64) (pitches []pitch.Pitch, truth [venueCount]float64) {
	rng := rand.New(rand.NewPCG(seed, 52))
	var weights, sums [venueCount]float64
	for p := range d.pitchers {
		speed, home := 93+2*rng.NormFloat64(), p%venueCount
		var thrown [venueCount]float64
		for g := range 4 + rng.IntN(20) {
			venue := home
			if g%2 == 1 {
				venue = rng.IntN(venueCount)
			}
			day := speed + .4*rng.NormFloat64()
			for range 5 + rng.IntN(30) {
				t := swing(p, -1)
				t.Venue = int32(venue)
				t.Num[pitch.Velocity] = day + .8*rng.NormFloat64()
				if venue == 0 {
					t.Num[pitch.Velocity] += d.planted
				}
				pitches = append(pitches, t)
				thrown[venue]++
			}
		}
		all := 0.0
		for _, n := range thrown {
			all += n
		}
		for v, n := range thrown {
			if n == 0 || n == all {
				continue
			}
			w := n * (all - n) / all
			weights[v] += w
			if v == 0 {
				sums[v] += w * d.planted
			} else {
				sums[v] -= w * d.planted * thrown[0] / (all - n)
			}
		}
	}
	for v := range truth {
		truth[v] = sums[v] / weights[v]
	}
	return pitches, truth
}

// venues holds the offsets of venues against what was planted.
func venues(compare comparison) run {
	var designs []venueStudy
	for _, d := range venueDesigns {
		designs = append(designs, venueStudy{d, compare})
	}
	return study(venueSeeds, venueSets, designs)
}

// venueStudy is a design with what compares its venues.
type venueStudy struct {
	venueDesign
	compare comparison
}

// The measures of venues.
const (
	plantedHeld   = "planted offset held within two standard errors"
	plantedWarned = "planted offset warned of"
	othersHeld    = "offset held within two standard errors, venues without one"
	othersWarned  = "seasons in which a venue without an offset is warned of"
)

func (d venueStudy) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	variables, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		return err
	}
	var names []string
	for v := range venueCount {
		names = append(names, fmt.Sprintf("venue %02d", v))
	}
	pitches, truth := d.play(seed)
	warned := false
	offsets, named := d.compare(pitches, variables, names)
	for i, x := range offsets {
		v := slices.Index(names, x.Venue)
		if v < 0 {
			continue
		}
		held := math.Abs(x.Offset-truth[v]) <= 2*x.Error
		if v == 0 && d.planted != 0 {
			s.Hit(plantedHeld, held)
			s.Hit(plantedWarned, named[i])
		} else {
			s.Hit(othersHeld, held)
			warned = warned || named[i]
		}
	}
	s.Hit(othersWarned, warned)
	return nil
}

func (d venueStudy) tell(t *calibrate.Sheet) {
	others := honest
	if d.planted != 0 {
		// Elsewhere is another mixture of venues for every pitcher, which the
		// error counts as chance: those intervals may be wider than need be.
		others = calibrate.AtLeast(.92)
		t.Share(plantedHeld, honest, "")
		t.Share(plantedWarned, calibrate.AtLeast(.80), "")
	}
	t.Rates(othersHeld, others, "")
	t.Share(othersWarned, calibrate.AtMost(.05), "")
}

// shiftSets is the full number of leagues of two seasons in which shifts of the
// instrument are sought, by design.
const shiftSets = 400

// shiftDesign is a league of two seasons between which the instrument reads one
// sideways quality by so much further to the catcher's right; none where it is "".
type shiftDesign struct {
	variable string
	by       float64
}

func (d shiftDesign) String() string {
	if d.variable == "" {
		return "no instrument shifted"
	}
	return fmt.Sprintf("%s shifted by %+g to the catcher's right", d.variable, d.by)
}

var shiftDesigns = []shiftDesign{{"", 0}, {"horizontal_break", 1.5}, {"horizontal_break", -1.5}}

// shiftTypes are the pitch types with how many of shiftPitchers throw each in both
// seasons: from nearly all to one in ten.
var shiftTypes = []struct {
	typ  pitch.Type
	many int
}{{pitch.FourSeam, 240}, {pitch.Sinker, 150}, {pitch.Slider, 180}, {pitch.Changeup, 140}, {pitch.Curveball, 110},
	{pitch.Cutter, 90}, {pitch.Sweeper, 80}, {rareType(), 40}, {pitch.Splitter, 30}}

// rareType is a type that a source declares.
func rareType() pitch.Type {
	t, err := pitch.NamedType("knuckle_curve")
	if err != nil {
		panic("calibrate: " + err.Error())
	}
	return t
}

// shiftPitchers is how many pitchers a league has; of ten, three are left-handed.
const shiftPitchers = 300

// shiftNumbers are the qualities: their centre, how far single pitches of a pitcher
// spread, and how far pitchers change of their own from season to season (SDs, from
// memory, no source).
var shiftNumbers = []struct {
	number              pitch.Number
	centre, spread, own float64
}{{pitch.Velocity, 90, 1.2, .8}, {pitch.InducedVerticalBreak, 8, 2.2, 1.2}, {pitch.HorizontalBreak, 6, 2.4, 1.3},
	{pitch.VerticalApproachAngle, -6, 1, .25}, {pitch.NeutralApproachAngle, -6, .5, .2}, {pitch.HorizontalApproachAngle, 1, 1.2, .3},
	{pitch.ReleaseHeight, 5.9, .15, .12}, {pitch.ReleaseSide, 1.8, .2, .15}, {pitch.Extension, 6.3, .15, .15}, {pitch.SpinRate, 2300, 120, 70},
	{pitch.PlateHeight, 2.4, .8, .1}, {pitch.PlateSide, .1, .8, .1}, {pitch.ArmAngle, 40, 3, 2.5}}

// play counts two seasons of a league.
func (d shiftDesign) play(seed uint64) (*tally.Tally, error) {
	rng := rand.New(rand.NewPCG(seed, 57))
	var names tally.Names
	hands := make([]pitch.Hand, shiftPitchers)
	for i := range hands {
		hands[i] = pitch.RightHand
		if i%10 < 3 {
			hands[i] = pitch.LeftHand
		}
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("p%03d|%s", i, hands[i]))
	}
	vars := slices.DeleteFunc(slices.Clone(shape.Variables), func(v shape.Variable) bool {
		return v.Name == "axis_gap" // follows from the others
	})
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		return nil, err
	}
	shifted, _ := pitch.Lookup(d.variable)
	for _, of := range shiftTypes {
		for _, i := range rng.Perm(shiftPitchers)[:of.many] {
			means := make([]float64, len(shiftNumbers))
			for season := range 2 {
				for k, n := range shiftNumbers {
					if season == 0 {
						means[k] = n.centre
					} else {
						means[k] += n.own * rng.NormFloat64()
					}
				}
				for range 20 + rng.IntN(40) {
					p := swing(i, -1)
					p.Season, p.Hand, p.Type = int16(2031+season), hands[i], of.typ
					p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = shape.DefaultZoneTop, shape.DefaultZoneBottom
					for k, n := range shiftNumbers {
						p.Num[n.number] = means[k] + float64(n.spread*rng.NormFloat64())
						if season == 1 && d.variable != "" && n.number == shifted.Number {
							p.Num[n.number] += p.Hand.ArmSide() * d.by
						}
					}
					if err := b.Add(0, []pitch.Pitch{p}); err != nil {
						return nil, err
					}
				}
			}
		}
	}
	return b.Tally()
}

// shifts asks how many of the pitch types of a league in which the instrument shifted
// are said to have shifted, the right way for their hand, and in how many leagues any
// other shift is suspected.
var shifts = study(shiftSeeds, shiftSets, shiftDesigns)

func (d shiftDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	counts, err := d.play(seed)
	if err != nil {
		return err
	}
	found, wrong := map[string]bool{}, false
	all, _ := trend.Seasons(counts)
	for _, one := range all {
		if !one.Suspect {
			continue
		}
		toRight := *one.Shift.Shift
		if one.Hand == pitch.RightHand.String() {
			toRight = -toRight
		}
		if one.Variable == d.variable && math.Signbit(toRight) == math.Signbit(d.by) {
			found[one.PitchType] = true
		} else {
			wrong = true
		}
	}
	s.Hit("leagues without a false shift", !wrong)
	s.Value(shiftsFound, float64(len(found)))
	return nil
}

var shiftsFound = fmt.Sprintf("pitch types of %d found", len(shiftTypes))

func (d shiftDesign) tell(t *calibrate.Sheet) {
	t.Share("leagues without a false shift", calibrate.AtLeast(.95), "")
	if d.variable != "" {
		t.Mean(shiftsFound, calibrate.AtLeast(8), "")
	}
}
