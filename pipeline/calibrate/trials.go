package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/trial"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// trialSets is the full number of leagues in which a claim is tried, by design.
const trialSets = 500

// trialDesign is a small league of one pitch type in one matchup whose whiffs take
// a step at the claim's cutoff. Pitchers differ in velocity (SD 2 mph, .8 within),
// in skill (logit SD .25) and in work, batters in skill; none of these go together.
type trialDesign struct {
	pitchers int
	batters  float64 // logit SD between batters
	gain     float64 // of whiff rate at the step
}

func (d trialDesign) String() string {
	return fmt.Sprintf("%d pitchers, batters' logit SD %g, true gain %.3f", d.pitchers, d.batters, d.gain)
}

var trialDesigns = []trialDesign{
	{40, 0, 0}, {40, .35, 0}, {120, .2, 0},
	{40, 0, .02}, {40, .35, .02}, {120, .2, .02},
}

const (
	trialCutoff  = 93.
	trialLevel   = -1.3 // logit of a whiff below the cutoff
	trialSkill   = .25
	trialWithin  = .8 // SD of a pitcher's velocity, mph
	trialBatters = 200
)

// step is the jump in logit at which the whiff rate over all pitchers and batters
// rises by the gain: both are normal, so the rate is an integral over one normal.
func (d trialDesign) step() float64 {
	sd := math.Hypot(trialSkill, d.batters)
	rate := func(logit float64) float64 {
		return overNormal(.01, func(z float64) float64 { return logistic(logit + sd*z) })
	}
	return passes(0, 2, d.gain, func(step float64) float64 { return rate(trialLevel+step) - rate(trialLevel) })
}

// thrower is a pitcher of a league.
type thrower struct {
	speed, logit float64 // mean velocity, logit of a whiff below the cutoff
	swings       int
}

func (d trialDesign) pitcher(rng *rand.Rand) thrower {
	return thrower{trialCutoff + 2*rng.NormFloat64(), trialLevel + trialSkill*rng.NormFloat64(), work(rng, 75, 1.1, 5, 750)}
}

// play throws one league's swings and counts them.
func (d trialDesign) play(seed uint64) (*tally.Tally, error) {
	rng := rand.New(rand.NewPCG(seed, 44))
	skill, step := skills(rng, trialBatters, d.batters), d.step()
	var batch []pitch.Pitch
	for p := range d.pitchers {
		who := d.pitcher(rng)
		for range who.swings {
			t := swing(p, rng.IntN(trialBatters))
			x := who.speed + trialWithin*rng.NormFloat64()
			t.Num[pitch.Velocity] = x
			logit := who.logit + skill[t.Batter]
			if x >= trialCutoff {
				logit += step
			}
			if rng.Float64() < logistic(logit) {
				t.Outcome = pitch.SwingingStrike
			}
			batch = append(batch, t)
		}
	}
	return counted(numbers(d.pitchers, trialBatters), batch)
}

// try tries the claim in a league.
func (d trialDesign) try(seed uint64) (*trial.Trial, error) {
	counts, err := d.play(seed)
	if err != nil {
		return nil, err
	}
	claim := trial.Claim{Type: pitch.FourSeam, Hand: pitch.RightHand, Side: pitch.RightSide, Variable: "velocity",
		Region: trial.Region{Kind: trial.AtLeast, A: trialCutoff}, Smallest: .02}
	return trial.Try([]trial.Claim{claim}, trial.League{Tally: counts, Scoring: outcome.Scoring{Weights: outcome.TheBook()}, Batters: true}), nil
}

// trials tries a claim whose truth is known in many small leagues.
var trials = study(trialSeeds, trialSets, trialDesigns)

func (d trialDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	tried, err := d.try(seed)
	if err != nil {
		return err
	}
	r := &tried.Rows[0]
	if r.Advantage != nil {
		s.Hit("difference held", held(r.AdvantageLo, r.AdvantageHi, d.gain))
	}
	if r.WithinD != nil {
		s.Hit("difference within pitchers held", held(r.WithinLo, r.WithinHi, d.gain))
	}
	s.Hit("said to hold, where there is no gain", slices.Contains([]string{"holds", "holds_clearly", "real_but_small"}, r.Verdict))
	s.Hit("said not to hold or to be small, where the gain is the smallest of interest",
		slices.Contains([]string{"does_not_hold", "real_but_small"}, r.Verdict))
	return nil
}

func (d trialDesign) tell(t *calibrate.Sheet) {
	t.Share("difference held", calibrate.Between(.93, .98), ".94–.96")
	t.Share("difference within pitchers held", calibrate.Between(.93, .98), "")
	if d.gain == 0 {
		t.Share("said to hold, where there is no gain", calibrate.AtMost(.05), "")
	} else {
		t.Share("said not to hold or to be small, where the gain is the smallest of interest", calibrate.AtMost(.05), "")
	}
}
