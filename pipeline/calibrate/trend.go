package calibrate

import (
	"context"
	"fmt"
	"math/rand/v2"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// trendSets is the full number of pairs of seasons in which pitchers are followed.
const trendSets = 200

// What is true of the league in which pitchers are followed: right-handed four-seamers
// of speed about 93 mph (SD 2 between pitchers, .8 in one), a third of the pitchers
// with 20 swings and counted plate appearances against either side and season, a third
// with 60, a third with 200. One in five gains or loses 2 mph (SD .5), the rest
// stay exactly. Rates go with speed, with a skill that stays and one that is new each
// season, and with the batter (none of which go together).
const (
	trendPitchers = 120
	trendBatters  = 200
	trendSlope    = .03 // of a whiff, a mph
	trendSkill    = .05
	trendNew      = .02
	trendBatter   = .04
	trendRuns     = -.006 // of a single, a mph: times its weight, of wOBA
)

var trendSizes = [...]int{20, 60, 200}

// follower is what is true of one pitcher.
type follower struct {
	hand       pitch.Hand
	size       int // swings, and counted plate appearances, against either side and season
	speed      [2]float64
	whiff, hit [2][2]float64 // chance of a whiff, and of a single, by season and side
}

// people draws the league.
func people(rng *rand.Rand) []follower {
	out := make([]follower, trendPitchers)
	for i := range out {
		f := &out[i]
		f.hand = pitch.RightHand
		f.size = trendSizes[i%len(trendSizes)]
		f.speed[0] = 93 + 2*rng.NormFloat64()
		f.speed[1] = f.speed[0]
		if i/len(trendSizes)%5 == 0 {
			f.speed[1] += float64(2-4*rng.IntN(2)) + float64(.5*rng.NormFloat64())
		}
		for side := range 2 {
			skill, touch := trendSkill*rng.NormFloat64(), trendSkill*rng.NormFloat64()
			for s := range 2 {
				f.whiff[s][side] = .35 + skill + trendNew*rng.NormFloat64() + trendSlope*(f.speed[s]-93)
				f.hit[s][side] = .25 + touch + trendNew*rng.NormFloat64() + trendRuns*(f.speed[s]-93)
			}
		}
	}
	return out
}

// runs are the results other than outs and singles, with their chances.
var runs = []struct {
	result pitch.Result
	class  outcome.Class
	chance float64
}{{pitch.Walk, outcome.Walk, .08}, {pitch.Double, outcome.Double, .05}, {pitch.HomeRun, outcome.HomeRun, .03}}

// woba is the true wOBA-against of a chance of singles.
func woba(single float64) float64 {
	w := outcome.TheBook()
	sum := float64(single * w.Value[outcome.Single])
	for _, r := range runs {
		sum += r.chance * w.Value[r.class]
	}
	return sum
}

// season throws one season of the league and counts it.
func season(rng *rand.Rand, league []follower, s int) (*tally.Tally, error) {
	names, skill := numbers(0, trendBatters), skills(rng, trendBatters, trendBatter)
	var batch []pitch.Pitch
	for p := range league {
		f := &league[p]
		names.Pitchers = append(names.Pitchers, named(p, f.hand))
		for side, batters := range []pitch.Side{pitch.LeftSide, pitch.RightSide} {
			for range f.size {
				t := swing(p, rng.IntN(trendBatters))
				t.Season, t.Hand, t.Side = int16(2031+s), f.hand, batters
				d := .8 * rng.NormFloat64()
				t.Num[pitch.Velocity] = f.speed[s] + d
				if rng.Float64() < f.whiff[s][side]+float64(trendSlope*d)+skill[t.Batter] {
					t.Outcome = pitch.SwingingStrike
				}
				batch = append(batch, t)
				// a plate appearance that another pitch ended
				t.Outcome, t.Result = pitch.CalledStrike, pitch.Out
				u := rng.Float64() - f.hit[s][side] - float64(trendRuns*d) + skill[t.Batter]
				if u < 0 {
					t.Result = pitch.Single
				}
				for _, r := range runs {
					if u >= 0 && u < r.chance {
						t.Result = r.result
					}
					u -= r.chance
				}
				batch = append(batch, t)
			}
		}
	}
	return counted(names, batch)
}

// trendDesign is the league in which pitchers are followed.
type trendDesign struct{}

func (trendDesign) String() string {
	return fmt.Sprintf("%d pitchers, one in five gains or loses 2 mph", trendPitchers)
}

// trends follows pitchers whose truth is known from season to season.
var trends = study(trendSeeds, trendSets, []trendDesign{{}})

func (trendDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	rng := rand.New(rand.NewPCG(seed, 45))
	league := people(rng)
	var windows [2]trend.Window
	for k := range windows {
		counts, err := season(rng, league, k)
		if err != nil {
			return err
		}
		windows[k] = trend.Window{Name: fmt.Sprint(2031 + k), Tally: counts}
	}
	found, err := trend.Follow(windows[0], windows[1], outcome.Scoring{Weights: outcome.TheBook()})
	if err != nil {
		return err
	}
	discoveries, mistakes := 0, 0
	for i := range found.Rows {
		r := &found.Rows[i]
		var p int
		if _, err := fmt.Sscanf(r.Pitcher, "p%d", &p); err != nil || r.Change == nil || r.RateD == nil {
			continue
		}
		who, side := &league[p], 0
		if r.Side == pitch.RightSide.String() {
			side = 1
		}
		change := who.speed[1] - who.speed[0]
		truth, slope, measure := who.whiff[1][side]-who.whiff[0][side], trendSlope, whiffHeld(who.size)
		whiffs := r.Outcome == outcome.Metrics[outcome.Whiff].Name
		if !whiffs {
			truth, slope, measure = woba(who.hit[1][side])-woba(who.hit[0][side]), woba(trendRuns)-woba(0), wobaHeld(who.size)
		}
		right := held(r.RateDLo, r.RateDHi, truth)
		s.Hit(measure, right)
		if r.Verdict == trend.Moved {
			s.Hit(moversHeld, right)
		}
		if r.Expect != nil {
			s.Hit(expectedHeld, held(r.ExpectLo, r.ExpectHi, slope*change))
		}
		if whiffs && side == 0 { // once a pitcher
			s.Hit(speedHeld(who.size), held(r.ChangeLo, r.ChangeHi, change))
			if r.Verdict == trend.Moved {
				discoveries++
				if change == 0 {
					mistakes++
				}
			}
		}
	}
	s.Value(falselyMoved, float64(mistakes)/float64(max(1, discoveries)))
	return nil
}

// The measures of changes, those of numbers by how many swings, or plate appearances, a
// pitcher has against either side.
const (
	moversHeld   = "the same of those who moved"
	expectedHeld = "expected change of an outcome held"
	falselyMoved = "share of pitchers said to have moved who did not"
)

func speedHeld(n int) string { return fmt.Sprintf("change of speed held, %d swings a season", 2*n) }
func whiffHeld(n int) string { return fmt.Sprintf("change of whiff rate held, %d swings", n) }
func wobaHeld(n int) string {
	return fmt.Sprintf("change of wOBA-against held, %d plate appearances", n)
}

func (trendDesign) tell(t *calibrate.Sheet) {
	for _, n := range trendSizes {
		t.Rates(speedHeld(n), honest, "")
		t.Rates(whiffHeld(n), honest, "")
		t.Rates(wobaHeld(n), honest, "")
	}
	t.Rates(moversHeld, honest, "")
	t.Rates(expectedHeld, honest, "")
	t.Mean(falselyMoved, calibrate.AtMost(trend.Discovery), "")
}

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
