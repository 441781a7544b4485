package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
	"sill/stats/simulate"
)

// slopeSets is the full number of leagues whose slopes are taken, by design.
const slopeSets = 1000

// slopeDesign is a league of one matchup whose whiffs go with speed, inside pitchers
// and between them.
type slopeDesign struct {
	pitchers        int
	within, between float64 // a mph
	batters         float64 // SD of batters' own rates
}

func (d slopeDesign) String() string {
	return fmt.Sprintf("%d pitchers, slopes %.2f inside and %.2f between, batters' SD %.2f", d.pitchers, d.within, d.between, d.batters)
}

var slopeDesigns = []slopeDesign{
	{40, .02, .02, .06}, {120, .02, .02, 0}, {120, 0, .03, .06}, {120, .03, -.01, .06},
}

// play throws one league and counts it.
func (d slopeDesign) play(seed uint64) (*tally.Tally, error) {
	rng := rand.New(rand.NewPCG(seed, 46))
	var names tally.Names
	var own [trendBatters]float64
	for b := range own {
		own[b] = d.batters * rng.NormFloat64()
		names.Batters = append(names.Batters, fmt.Sprintf("b%04d", b))
	}
	for p := range d.pitchers {
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", p), Hand: pitch.RightHand}.String())
	}
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		return nil, err
	}
	builder, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		return nil, err
	}
	var batch []pitch.Pitch
	for p := range d.pitchers {
		mean, skill := 2*rng.NormFloat64(), .04*rng.NormFloat64()
		swings := int(min(max(math.Exp(math.Log(75)+1.1*rng.NormFloat64()), 5), 750))
		for range swings {
			t := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(p), Batter: int32(rng.IntN(trendBatters)),
				Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			for k := range t.Num {
				t.Num[k] = pitch.Missing()
			}
			off := .8 * rng.NormFloat64()
			t.Num[pitch.Velocity] = 93 + mean + off
			if rng.Float64() < .35+skill+float64(d.between*mean)+float64(d.within*off)+own[t.Batter] {
				t.Outcome = pitch.SwingingStrike
			}
			batch = append(batch, t)
		}
	}
	if err := builder.Add(0, batch); err != nil {
		return nil, err
	}
	return builder.Tally()
}

// slopes takes slopes inside and between pitchers whose truth is known.
func slopes(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range slopeDesigns {
		type result struct{ within, between, difference, rejected bool }
		results := make([]result, o.Sets(slopeSets))
		err := o.Each(ctx, len(results), func(i int) error {
			counts, err := d.play(seed(o, slopeSeeds, k<<12+i))
			if err != nil {
				return err
			}
			eo := estimate.DefaultOptions()
			eo.Replicates = 100
			e, err := estimate.New(ctx, counts, eo)
			if err != nil {
				return err
			}
			curves, err := e.Sample(tally.AllStrata, 0, 0)
			if err != nil {
				return err
			}
			s, err := e.Slopes(curves[0])
			if err != nil {
				return err
			}
			holds := func(lo, hi, truth float64) bool { return lo <= truth && truth <= hi }
			results[i] = result{holds(s.Within.Lo, s.Within.Hi, d.within), holds(s.Between.Lo, s.Between.Hi, d.between),
				holds(s.Difference.Lo, s.Difference.Hi, d.within-d.between), s.Difference.P < .05}
			return nil
		})
		if err != nil {
			return nil, err
		}
		var within, between, difference, rejected simulate.Share
		for _, r := range results {
			within.Add(r.within)
			between.Add(r.between)
			difference.Add(r.difference)
			rejected.Add(r.rejected)
		}
		bar := calibrate.Between(.92, .98)
		out = append(out,
			calibrate.ShareFinding(d.String(), "slope inside pitchers held", within, bar, ""),
			calibrate.ShareFinding(d.String(), "slope between pitchers held", between, bar, ""),
			calibrate.ShareFinding(d.String(), "difference held", difference, bar, ""))
		if d.within == d.between {
			out = append(out, calibrate.ShareFinding(d.String(), "equal slopes said to differ at p < .05", rejected, calibrate.AtMost(.075), ""))
		} else {
			out = append(out, calibrate.ShareFinding(d.String(), "unequal slopes said to differ at p < .05", rejected, calibrate.NoBar, ""))
		}
	}
	return out, nil
}
