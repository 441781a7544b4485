package calibrate

import (
	"context"
	"fmt"
	"math/rand/v2"

	"sill/pipeline/analysis/trend"
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
