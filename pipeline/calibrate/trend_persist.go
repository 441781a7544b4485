package calibrate

import (
	"context"
	"fmt"
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
var persistences = study(persistSeeds, persistSets, persistDesigns)

// String names the number in measures.
func (t persistTruth) String() string {
	if t.kind == trend.OfGap {
		return "platoon gap, " + t.name
	}
	return t.name
}

// The measures of a number, after its name.
const (
	halfHeld        = ": events at which half is the pitcher held"
	halfTold        = ": true events at half over those told, mean"
	spreadTold      = ": spread told over the true one, mean"
	reliabilityTold = ": share that is the typical pitcher, told less true, mean"
)

func (d persistDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	rng := rand.New(rand.NewPCG(seed, 45))
	counts, err := season(rng, d.people(rng), 0)
	if err != nil {
		return err
	}
	rows := trend.Persist(trend.Window{Tally: counts}, outcome.Scoring{Weights: outcome.TheBook()})
	for _, truth := range d.truths() {
		what := truth.String()
		for _, p := range rows {
			if p.Kind != truth.kind || p.Name != truth.name || p.Spread == nil {
				continue
			}
			s.Hit(what+halfHeld, p.HalfLo != nil && *p.HalfLo <= truth.half && (p.HalfHi == nil || truth.half <= *p.HalfHi))
			s.Value(what+spreadTold, *p.Spread/truth.spread)
			true, told, half := p.Typical/(p.Typical+truth.half), 0., 0.
			if p.Half != nil { // pitchers who are not seen to differ have no half
				half, told = truth.half / *p.Half, *p.Reliability
			}
			s.Value(what+halfTold, half)
			s.Value(what+reliabilityTold, told-true)
		}
	}
	return nil
}

func (d persistDesign) tell(t *calibrate.Sheet) {
	for _, truth := range d.truths() {
		what := truth.String()
		t.Share(what+halfHeld, honest, "")
		t.Mean(what+halfTold, calibrate.Between(.9, 1.1), "")
		t.Mean(what+spreadTold, calibrate.Between(.9, 1.1), "")
		t.Mean(what+reliabilityTold, calibrate.Between(-.03, .03), "")
	}
}
