package tally

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"sill/pipeline/pitch"
)

// FastballThirds is the stratum that every run counts unless told otherwise:
// the qualities that decide how a fastball works high or low, by height.
const FastballThirds = "fastball_height_third"

// Seasons is the stratum whose values are compared with each other.
const Seasons = "season"

// Strata lists every stratum that a run can be asked for. A name is for good: it
// stands in published rows. Edges are fixed, so that the same split of two
// seasons or leagues means the same; the lower edge belongs to the value above.
var Strata = []Stratum{
	{Name: FastballThirds, Title: "height of the pitch", Meaning: thirdsMeaning, Values: thirds, Needs: []string{"plate_height"},
		Of: plateThird, Types: []pitch.Type{pitch.FourSeam, pitch.Sinker}, Variables: []string{"velocity", "vertical_approach_angle"}},
	{Name: "plate_height_third", Title: "height of the pitch", Meaning: thirdsMeaning, Values: thirds, Needs: []string{"plate_height"},
		Of: plateThird, Except: []string{"plate_height"}},
	{Name: "zone_part", Title: "part of the zone", Values: []string{"centre", "border", "outside"}, Needs: []string{"plate_height", "plate_side"},
		Meaning: "border within a ball's width, 2.9 in, of the edge of the batter's zone, on either side; centre further in, outside further out",
		Of:      zonePart, Except: []string{"plate_height", "plate_side"}},
	{Name: "count", Title: "count", Values: []string{"ahead", "even", "behind", "two_strikes"}, Needs: []string{"balls", "strikes"},
		Meaning: "before the pitch, for the pitcher: with two strikes; else ahead with more strikes than balls, even with as many, behind with fewer",
		Of:      countOf},
	{Name: "arm_slot_band", Title: "arm slot", Values: slotBands.values("deg"), Needs: []string{"arm_slot"},
		Meaning: "angle of the arm above horizontal in steps of 20°",
		Of:      slotBands.of(pitch.ArmAngle), Except: []string{"arm_slot"}},
	{Name: "velocity_band", Title: "velocity", Values: speedBands.values("mph"), Needs: []string{"velocity"},
		Meaning: "in steps of 3 mph, the same for every pitch type",
		Of:      speedBands.of(pitch.Velocity), Except: []string{"velocity"}},
	{Name: Seasons, Title: "season", Meaning: "each season of the input",
		Of: func(p *pitch.Pitch, _ *Names) string { return strconv.Itoa(int(p.Season)) }},
	{Name: "level", Title: "level of play", Meaning: "each level that the input names", Needs: []string{"level"},
		Of: func(p *pitch.Pitch, names *Names) string {
			if p.Level < 0 {
				return ""
			}
			return names.Levels[p.Level]
		}},
}

const thirdsMeaning = "lower, middle and upper third of the batter's own zone at the front of the plate, below and above it"

var thirds = []string{"above", "upper", "middle", "lower", "below"}

// plateThird is the third of the batter's zone that a pitch crosses the front of
// the plate in.
func plateThird(p *pitch.Pitch, _ *Names) string {
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

// The plate's half width and a ball's width, in feet. A ball measures 9 to 9¼ in
// around, so 2.9 in across (Official Baseball Rules 2.02, 3.01).
const (
	plateHalf = 17.0 / 24
	ballWidth = 2.9 / 12
)

// zonePart tells centre, border and outside by the distance to the nearest edge
// of the zone, the larger of the two across and up.
func zonePart(p *pitch.Pitch, _ *Names) string {
	top, bottom := p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom]
	x, z := p.Num[pitch.PlateSide], p.Num[pitch.PlateHeight]
	if !(top > bottom) || pitch.IsMissing(x) || pitch.IsMissing(z) {
		return ""
	}
	switch beyond := max(math.Abs(x)-plateHalf, bottom-z, z-top); {
	case beyond < -ballWidth:
		return "centre"
	case beyond <= ballWidth:
		return "border"
	}
	return "outside"
}

func countOf(p *pitch.Pitch, _ *Names) string {
	balls, strikes := p.Num[pitch.BallsBefore], p.Num[pitch.StrikesBefore]
	switch {
	case pitch.IsMissing(balls) || pitch.IsMissing(strikes):
		return ""
	case strikes >= 2:
		return "two_strikes"
	case strikes > balls:
		return "ahead"
	case strikes == balls:
		return "even"
	}
	return "behind"
}

// bands cuts a number at ascending whole edges.
type bands []int

var (
	slotBands  = bands{0, 20, 40, 60}
	speedBands = bands{72, 75, 78, 81, 84, 87, 90, 93, 96, 99}
)

// values names the bands in their order: below_72_mph, 72_to_75_mph … 99_mph_up.
func (b bands) values(unit string) []string {
	out := []string{fmt.Sprintf("below_%d_%s", b[0], unit)}
	for i := range b[1:] {
		out = append(out, fmt.Sprintf("%d_to_%d_%s", b[i], b[i+1], unit))
	}
	return append(out, fmt.Sprintf("%d_%s_up", b[len(b)-1], unit))
}

// of names the band of a number, which is rounded once to 1e-4 as variables are,
// so that 90 mph stored in another unit is 90.
func (b bands) of(n pitch.Number) func(*pitch.Pitch, *Names) string {
	unit := map[pitch.Number]string{pitch.Velocity: "mph", pitch.ArmAngle: "deg"}[n]
	values := b.values(unit)
	return func(p *pitch.Pitch, _ *Names) string {
		x := math.Round(p.Num[n]*1e4) / 1e4
		if pitch.IsMissing(x) {
			return ""
		}
		i, at := slices.BinarySearchFunc(b, x, func(edge int, x float64) int { return cmp.Compare(float64(edge), x) })
		if at {
			i++
		}
		return values[i]
	}
}
