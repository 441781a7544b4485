package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/quality"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
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
