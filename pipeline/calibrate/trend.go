package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
	"sill/stats/simulate"
)

// trendSets is the full number of pairs of seasons in which pitchers are followed.
const trendSets = 200

// The study's blocks of seeds, apart from those that leagues.go counts up.
const (
	trendSeeds = 40 + iota
	slopeSeeds
	persistSeeds
)

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
	var names tally.Names
	var skill [trendBatters]float64
	for b := range trendBatters {
		skill[b] = trendBatter * rng.NormFloat64()
		names.Batters = append(names.Batters, fmt.Sprintf("b%04d", b))
	}
	for p := range league {
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", p), Hand: league[p].hand}.String())
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
	for p := range league {
		f := &league[p]
		for side, batters := range []pitch.Side{pitch.LeftSide, pitch.RightSide} {
			for range f.size {
				t := pitch.Pitch{Season: int16(2031 + s), Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(p), Batter: int32(rng.IntN(trendBatters)),
					Hand: f.hand, Side: batters, Type: pitch.FourSeam, Outcome: pitch.Foul}
				for k := range t.Num {
					t.Num[k] = pitch.Missing()
				}
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
	if err := builder.Add(0, batch); err != nil {
		return nil, err
	}
	return builder.Tally()
}

// followed is what one league showed.
type followed struct {
	speed, whiff, woba    [len(trendSizes)]simulate.Share // held, by size: changes of speed and outcomes
	moved                 simulate.Share                  // outcomes of those who moved, held
	expected              simulate.Share                  // held
	discoveries, mistakes int                             // moved; and in truth not at all
}

// trends follows pitchers whose truth is known from season to season.
func trends(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	sets := make([]followed, o.Sets(trendSets))
	err := o.Each(ctx, len(sets), func(i int) error {
		rng := rand.New(rand.NewPCG(seed(o, trendSeeds, i), 45))
		league := people(rng)
		var windows [2]trend.Window
		for s := range windows {
			counts, err := season(rng, league, s)
			if err != nil {
				return err
			}
			windows[s] = trend.Window{Name: fmt.Sprint(2031 + s), Tally: counts}
		}
		found, err := trend.Follow(windows[0], windows[1], outcome.Scoring{Weights: outcome.TheBook()})
		if err != nil {
			return err
		}
		sets[i].score(league, found)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return trendFindings(sets), nil
}

// score holds what was found against what is true.
func (f *followed) score(league []follower, found *trend.Trend) {
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
		size := p % len(trendSizes)
		change := who.speed[1] - who.speed[0]
		truth := who.whiff[1][side] - who.whiff[0][side]
		slope, at := trendSlope, &f.whiff[size]
		if r.Outcome != outcome.Metrics[outcome.Whiff].Name {
			truth, slope, at = woba(who.hit[1][side])-woba(who.hit[0][side]), woba(trendRuns)-woba(0), &f.woba[size]
		}
		held := *r.RateDLo <= truth && truth <= *r.RateDHi
		at.Add(held)
		if r.Verdict == trend.Moved {
			f.moved.Add(held)
		}
		if r.Expect != nil {
			f.expected.Add(*r.ExpectLo <= slope*change && slope*change <= *r.ExpectHi)
		}
		if r.Outcome == outcome.Metrics[outcome.Whiff].Name && side == 0 { // once a pitcher
			f.speed[size].Add(*r.ChangeLo <= change && change <= *r.ChangeHi)
			if r.Verdict == trend.Moved {
				f.discoveries++
				if change == 0 {
					f.mistakes++
				}
			}
		}
	}
}

func trendFindings(sets []followed) []calibrate.Finding {
	design := fmt.Sprintf("%d pitchers, one in five gains or loses 2 mph", trendPitchers)
	mean := func(measure string, bar calibrate.Bar, of func(*followed) float64) calibrate.Finding {
		values := make([]float64, len(sets))
		for i := range sets {
			values[i] = of(&sets[i])
		}
		return calibrate.MeanFinding(design, measure, values, bar, "")
	}
	rate := func(s simulate.Share) float64 {
		if s.Of == 0 {
			return math.NaN()
		}
		return s.Rate()
	}
	honest := calibrate.Between(.92, .98)
	var out []calibrate.Finding
	for k, n := range trendSizes {
		out = append(out,
			mean(fmt.Sprintf("change of speed held, %d swings a season", 2*n), honest, func(f *followed) float64 { return rate(f.speed[k]) }),
			mean(fmt.Sprintf("change of whiff rate held, %d swings", n), honest, func(f *followed) float64 { return rate(f.whiff[k]) }),
			mean(fmt.Sprintf("change of wOBA-against held, %d plate appearances", n), honest, func(f *followed) float64 { return rate(f.woba[k]) }))
	}
	return append(out,
		mean("the same of those who moved", honest, func(f *followed) float64 { return rate(f.moved) }),
		mean("expected change of an outcome held", honest, func(f *followed) float64 { return rate(f.expected) }),
		mean("share of pitchers said to have moved who did not", calibrate.AtMost(trend.Discovery), func(f *followed) float64 { return float64(f.mistakes) / float64(max(1, f.discoveries)) }))
}
