package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/stats/calibrate"
)

// Offset is what a venue is said to read too high.
type Offset struct {
	Venue         string
	Offset, Error float64
	Named         bool // a run would warn of it
}

// Venues compares venues over pitches. It stands for the program, which this package
// does not import.
type Venues func(pitches []pitch.Pitch, variables []shape.Variable, names []string) []Offset

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
				t := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: int32(venue), Level: -1, Pitcher: int32(p), Batter: -1,
					Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
				for k := range t.Num {
					t.Num[k] = pitch.Missing()
				}
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
func venues(compare Venues) func(context.Context, calibrate.Options) ([]calibrate.Finding, error) {
	return func(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
		variables, err := shape.Only(shape.Variables, []string{"velocity"})
		if err != nil {
			return nil, err
		}
		var names []string
		for v := range venueCount {
			names = append(names, fmt.Sprintf("venue %02d", v))
		}
		var out []calibrate.Finding
		for k, d := range venueDesigns {
			type result struct {
				held         calibrate.Share // of the venues without an offset
				found, named bool            // the planted offset is held; it is warned of
				sly          bool            // another is warned of
			}
			results := make([]result, o.Sets(venueSets))
			err := o.Each(ctx, len(results), func(i int) error {
				pitches, truth := d.play(seed(o, venueSeeds, k<<12+i))
				for _, x := range compare(pitches, variables, names) {
					for v := range names {
						if x.Venue != names[v] {
							continue
						}
						held := math.Abs(x.Offset-truth[v]) <= 2*x.Error
						if v == 0 && d.planted != 0 {
							results[i].found, results[i].named = held, x.Named
						} else {
							results[i].held.Add(held)
							results[i].sly = results[i].sly || x.Named
						}
					}
				}
				return nil
			})
			if err != nil {
				return nil, err
			}
			held := make([]float64, len(results))
			var found, named, sly calibrate.Share
			for i, r := range results {
				held[i] = r.held.Rate()
				found.Add(r.found)
				named.Add(r.named)
				sly.Add(r.sly)
			}
			honest, others := calibrate.Between(.92, .98), calibrate.Between(.92, .98)
			if d.planted != 0 {
				// Elsewhere is another mixture of venues for every pitcher, which the
				// error counts as chance: those intervals may be wider than need be.
				others = calibrate.AtLeast(.92)
				out = append(out, calibrate.ShareFinding(d.String(), "planted offset held within two standard errors", found, honest, ""),
					calibrate.ShareFinding(d.String(), "planted offset warned of", named, calibrate.AtLeast(.80), ""))
			}
			out = append(out, calibrate.MeanFinding(d.String(), "offset held within two standard errors, venues without one", held, others, ""),
				calibrate.ShareFinding(d.String(), "seasons in which a venue without an offset is warned of", sly, calibrate.AtMost(.05), ""))
		}
		return out, nil
	}
}
