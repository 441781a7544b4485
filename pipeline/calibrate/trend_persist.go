package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats/calibrate"
)

// persistSets is the full number of leagues in which it is asked how soon a number is
// the pitcher's, by design.
const persistSets = 160

// persistDesign is a league of four-seamers, a third of them by left-handers. Pitchers
// differ in speed (.8 mph in one), in their rates and in their platoon gaps of whiffs
// and of singles; hands differ in the mean of speed and of gap. A third of the pitchers
// have 20 swings and counted plate appearances against either side, a third 60, a
// third 200.
type persistDesign struct {
	pitchers          int
	speed, skill, gap float64 // SD between pitchers of a hand: mph, and chances
}

func (d persistDesign) String() string {
	return fmt.Sprintf("%d pitchers, speeds SD %g mph, rates %g, gaps %g", d.pitchers, d.speed, d.skill, d.gap)
}

var persistDesigns = []persistDesign{{60, .2, .05, .08}, {200, 2, .05, .08}, {200, .1, .03, .05}}

const persistWhiff, persistHit = .35, .25

// people draws the league.
func (d persistDesign) people(rng *rand.Rand) []follower {
	out := make([]follower, d.pitchers)
	for i := range out {
		f := &out[i]
		f.hand, f.size = pitch.RightHand, trendSizes[i%len(trendSizes)]
		same, mean := 1, .02
		if i/len(trendSizes)%3 == 0 {
			f.hand, same, mean = pitch.LeftHand, 0, .04
			f.speed[0] = -2
		}
		f.speed[0] += 93 + float64(d.speed*rng.NormFloat64())
		for _, chance := range []struct {
			of   *[2]float64
			mean float64
		}{{&f.whiff[0], persistWhiff}, {&f.hit[0], persistHit}} {
			skill, gap := d.skill*rng.NormFloat64(), mean+float64(d.gap*rng.NormFloat64())
			chance.of[same] = chance.mean + skill + gap/2
			chance.of[1-same] = chance.mean + skill - gap/2
		}
	}
	return out
}

// persistTruth is what is true of one number: the standard deviation of pitchers' true
// values, and the variance of one event over the square of that.
type persistTruth struct {
	kind, name   string
	spread, half float64
}

// truths are reckoned from the law: a rate's variance of one event is that of its mean
// less what lies between pitchers.
func (d persistDesign) truths() []persistTruth {
	whiff, hits := outcome.Metrics[outcome.Whiff].Name, outcome.Metrics[outcome.WOBA].Name
	weight := outcome.TheBook()
	single := weight.Value[outcome.Single]
	squares := persistHit * single * single
	for _, r := range runs {
		squares += r.chance * weight.Value[r.class] * weight.Value[r.class]
	}
	truth := func(kind, name string, per, variance, spread float64) persistTruth {
		return persistTruth{kind, name, spread, per * variance / (spread * spread)}
	}
	own := func(variance, scale float64) (outcome, gap float64) { // in a pitcher, and in a pitcher on one side
		outcome = variance - scale*scale*d.skill*d.skill
		return outcome, outcome - scale*scale*d.gap*d.gap/4
	}
	w, wg := own(persistWhiff*(1-persistWhiff), 1)
	h, hg := own(squares-woba(persistHit)*woba(persistHit), single)
	return []persistTruth{
		truth(trend.OfQuality, "velocity", 1, .8*.8, d.speed),
		truth(trend.OfOutcome, whiff, 1, w, d.skill),
		truth(trend.OfGap, whiff, 4, wg, d.gap),
		truth(trend.OfOutcome, hits, 1, h, single*d.skill),
		truth(trend.OfGap, hits, 4, hg, single*d.gap),
	}
}

// persistences asks how soon numbers are the pitchers' where it is known.
func persistences(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range persistDesigns {
		sets := make([][]trend.Persistence, o.Sets(persistSets))
		err := o.Each(ctx, len(sets), func(i int) error {
			rng := rand.New(rand.NewPCG(seed(o, persistSeeds, k<<12+i), 45))
			counts, err := season(rng, d.people(rng), 0)
			if err != nil {
				return err
			}
			sets[i] = trend.Persist(trend.Window{Tally: counts}, outcome.Scoring{Weights: outcome.TheBook()})
			return nil
		})
		if err != nil {
			return nil, err
		}
		for _, truth := range d.truths() {
			out = append(out, d.findings(truth, sets)...)
		}
	}
	return out, nil
}

func (d persistDesign) findings(truth persistTruth, sets [][]trend.Persistence) []calibrate.Finding {
	var half calibrate.Share
	own, spread, reliability := make([]float64, len(sets)), make([]float64, len(sets)), make([]float64, len(sets))
	for i, rows := range sets {
		own[i], spread[i], reliability[i] = math.NaN(), math.NaN(), math.NaN()
		for _, p := range rows {
			if p.Kind != truth.kind || p.Name != truth.name || p.Spread == nil {
				continue
			}
			half.Add(p.HalfLo != nil && *p.HalfLo <= truth.half && (p.HalfHi == nil || truth.half <= *p.HalfHi))
			spread[i] = *p.Spread / truth.spread
			true, told := p.Typical/(p.Typical+truth.half), 0.
			own[i] = 0 // pitchers who are not seen to differ have no half
			if p.Half != nil {
				own[i], told = truth.half / *p.Half, *p.Reliability
			}
			reliability[i] = told - true
		}
	}
	what := truth.name
	if truth.kind == trend.OfGap {
		what = "platoon gap, " + what
	}
	design := d.String()
	return []calibrate.Finding{
		calibrate.ShareFinding(design, what+": events at which half is the pitcher held", half, calibrate.Between(.92, .98), ""),
		calibrate.MeanFinding(design, what+": true events at half over those told, mean", own, calibrate.Between(.9, 1.1), ""),
		calibrate.MeanFinding(design, what+": spread told over the true one, mean", spread, calibrate.Between(.9, 1.1), ""),
		calibrate.MeanFinding(design, what+": share that is the typical pitcher, told less true, mean", reliability, calibrate.Between(-.03, .03), ""),
	}
}
