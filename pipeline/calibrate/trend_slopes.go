package calibrate

import (
	"context"
	"fmt"
	"math/rand/v2"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
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
	own := skills(rng, trendBatters, d.batters)
	var batch []pitch.Pitch
	for p := range d.pitchers {
		mean, skill := 2*rng.NormFloat64(), .04*rng.NormFloat64()
		for range work(rng, 75, 1.1, 5, 750) {
			t := swing(p, rng.IntN(trendBatters))
			off := .8 * rng.NormFloat64()
			t.Num[pitch.Velocity] = 93 + mean + off
			if rng.Float64() < .35+skill+float64(d.between*mean)+float64(d.within*off)+own[t.Batter] {
				t.Outcome = pitch.SwingingStrike
			}
			batch = append(batch, t)
		}
	}
	return counted(numbers(d.pitchers, trendBatters), batch)
}

// slopes takes slopes inside and between pitchers whose truth is known.
var slopes = study(slopeSeeds, slopeSets, slopeDesigns)

func (d slopeDesign) judge(ctx context.Context, _ int, seed uint64, s calibrate.Scores) error {
	counts, err := d.play(seed)
	if err != nil {
		return err
	}
	options := estimate.DefaultOptions()
	options.Replicates = 100
	e, err := estimate.New(ctx, counts, options)
	if err != nil {
		return err
	}
	curves, err := e.Sample(tally.AllStrata, 0, 0)
	if err != nil {
		return err
	}
	got, err := e.Slopes(curves[0])
	if err != nil {
		return err
	}
	s.Hit("slope inside pitchers held", held(&got.Within.Lo, &got.Within.Hi, d.within))
	s.Hit("slope between pitchers held", held(&got.Between.Lo, &got.Between.Hi, d.between))
	s.Hit("difference held", held(&got.Difference.Lo, &got.Difference.Hi, d.within-d.between))
	s.Hit("said to differ", got.Difference.P < .05)
	return nil
}

func (d slopeDesign) tell(t *calibrate.Sheet) {
	t.Share("slope inside pitchers held", honest, "")
	t.Share("slope between pitchers held", honest, "")
	t.Share("difference held", honest, "")
	differ, bar := "unequal slopes said to differ at p < .05", calibrate.NoBar
	if d.within == d.between {
		differ, bar = "equal slopes said to differ at p < .05", calibrate.AtMost(.075)
	}
	t.Share("said to differ", bar, "").Measure = differ
}
