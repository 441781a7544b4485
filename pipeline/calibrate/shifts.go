package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
	"sill/stats/simulate"
)

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
	{pitch.Cutter, 90}, {pitch.Sweeper, 80}, {pitch.KnuckleCurve, 40}, {pitch.Splitter, 30}}

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
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%03d", i), Hand: hands[i]}.String())
	}
	var vars []shape.Variable
	for _, v := range shape.Variables {
		if v.Name != "axis_gap" { // follows from the others
			vars = append(vars, v)
		}
	}
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		return nil, err
	}
	shifted, _ := pitch.Lookup(d.variable)
	var p pitch.Pitch
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
					p = pitch.Pitch{Season: int16(2031 + season), Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Batter: -1, Pitcher: int32(i),
						Hand: hands[i], Side: pitch.RightSide, Type: of.typ, Outcome: pitch.Foul}
					for k := range p.Num {
						p.Num[k] = pitch.Missing()
					}
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
func shifts(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range shiftDesigns {
		type answer struct {
			found float64
			wrong bool
		}
		answers := make([]answer, o.Sets(shiftSets))
		err := o.Each(ctx, len(answers), func(i int) error {
			counts, err := d.play(seed(o, shiftSeeds, k<<12+i))
			if err != nil {
				return err
			}
			found := map[string]bool{}
			all, _ := trend.Seasons(counts)
			for _, s := range all {
				if !s.Suspect {
					continue
				}
				toRight := *s.Shift.Shift
				if s.Hand == pitch.RightHand.String() {
					toRight = -toRight
				}
				if s.Variable == d.variable && math.Signbit(toRight) == math.Signbit(d.by) {
					found[s.PitchType] = true
				} else {
					answers[i].wrong = true
				}
			}
			answers[i].found = float64(len(found))
			return nil
		})
		if err != nil {
			return nil, err
		}
		var none simulate.Share
		var found []float64
		for _, a := range answers {
			none.Add(!a.wrong)
			found = append(found, a.found)
		}
		out = append(out, calibrate.ShareFinding(d.String(), "leagues without a false shift", none, calibrate.AtLeast(.95), ""))
		if d.variable != "" {
			out = append(out, calibrate.MeanFinding(d.String(), fmt.Sprintf("pitch types of %d found", len(shiftTypes)), found, calibrate.AtLeast(8), ""))
		}
	}
	return out, nil
}
