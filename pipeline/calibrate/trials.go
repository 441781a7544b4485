package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/analysis/trial"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
	"sill/stats/simulate"
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
		sum, weight := 0.0, 0.0
		for z := -6.; z <= 6; z += .01 {
			w := math.Exp(-z * z / 2)
			sum += w / (1 + math.Exp(-logit-sd*z))
			weight += w
		}
		return sum / weight
	}
	lo, hi := 0.0, 2.0
	for range 60 {
		if mid := (lo + hi) / 2; rate(trialLevel+mid)-rate(trialLevel) < d.gain {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// thrower is a pitcher of a league.
type thrower struct {
	speed, logit float64 // mean velocity, logit of a whiff below the cutoff
	swings       int
}

func (d trialDesign) pitcher(rng *rand.Rand) thrower {
	return thrower{trialCutoff + 2*rng.NormFloat64(), trialLevel + trialSkill*rng.NormFloat64(),
		int(min(max(math.Exp(math.Log(75)+1.1*rng.NormFloat64()), 5), 750))}
}

// play throws one league's swings and counts them.
func (d trialDesign) play(seed uint64) (*tally.Tally, error) {
	rng := rand.New(rand.NewPCG(seed, 44))
	names := tally.Names{}
	skill := make([]float64, trialBatters)
	for b := range skill {
		skill[b] = d.batters * rng.NormFloat64()
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
	step := d.step()
	var batch []pitch.Pitch
	for p := range d.pitchers {
		who := d.pitcher(rng)
		for range who.swings {
			t := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(p), Batter: int32(rng.IntN(trialBatters)),
				Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			for k := range t.Num {
				t.Num[k] = pitch.Missing()
			}
			x := who.speed + trialWithin*rng.NormFloat64()
			t.Num[pitch.Velocity] = x
			logit := who.logit + skill[t.Batter]
			if x >= trialCutoff {
				logit += step
			}
			if rng.Float64() < 1/(1+math.Exp(-logit)) {
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

// trials tries a claim whose truth is known in many small leagues.
func trials(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	claim := trial.Claim{Type: pitch.FourSeam, Hand: pitch.RightHand, Side: pitch.RightSide, Variable: "velocity",
		Region: trial.Region{Kind: trial.AtLeast, A: trialCutoff}, Smallest: .02}
	var out []calibrate.Finding
	for k, d := range trialDesigns {
		rows := make([]trial.Row, o.Sets(trialSets))
		err := o.Each(ctx, len(rows), func(i int) error {
			counts, err := d.play(seed(o, trialSeeds, k<<12+i))
			if err != nil {
				return err
			}
			l := trial.League{Tally: counts, Scoring: outcome.Scoring{Weights: outcome.TheBook()}, Batters: true}
			rows[i] = trial.Try([]trial.Claim{claim}, l).Rows[0]
			return nil
		})
		if err != nil {
			return nil, err
		}
		out = append(out, d.findings(rows)...)
	}
	return out, nil
}

func (d trialDesign) findings(rows []trial.Row) []calibrate.Finding {
	var held, within, holds, fails simulate.Share
	for i := range rows {
		r := &rows[i]
		if r.Advantage != nil {
			held.Add(*r.AdvantageLo <= d.gain && d.gain <= *r.AdvantageHi)
		}
		if r.WithinD != nil {
			within.Add(*r.WithinLo <= d.gain && d.gain <= *r.WithinHi)
		}
		holds.Add(r.Verdict == "holds" || r.Verdict == "holds_clearly" || r.Verdict == "real_but_small")
		fails.Add(r.Verdict == "does_not_hold" || r.Verdict == "real_but_small")
	}
	out := []calibrate.Finding{
		calibrate.ShareFinding(d.String(), "difference held", held, calibrate.Between(.93, .98), ".94–.96"),
		calibrate.ShareFinding(d.String(), "difference within pitchers held", within, calibrate.Between(.93, .98), ""),
	}
	if d.gain == 0 {
		return append(out, calibrate.ShareFinding(d.String(), "said to hold, where there is no gain", holds, calibrate.AtMost(.05), ""))
	}
	return append(out, calibrate.ShareFinding(d.String(), "said not to hold or to be small, where the gain is the smallest of interest", fails, calibrate.AtMost(.05), ""))
}
