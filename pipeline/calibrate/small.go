package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/analysis/quality"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// The studies' blocks of seeds.
const (
	leagueSeeds = iota
	flatSeeds
	seasonSeeds
	factSeeds
	trialSeeds
	stackSeeds
	gradeSeeds
	facedSeeds
	locatedSeeds
	shiftSeeds
	needSeeds
	lineSeeds
	venueSeeds

	trendSeeds = 27 + iota
	slopeSeeds
	persistSeeds
	standingSeeds
)

// seed is that of a study's i-th season. It lies above those of the seasons on
// which the truth was measured, which begin at a million.
func seed(o calibrate.Options, block uint64, i int) uint64 {
	return 1<<32 + o.Seed<<20 + block<<16 + uint64(i)
}

// run is how a study is run.
type run = func(context.Context, calibrate.Options) ([]calibrate.Finding, error)

// design is a law of small leagues whose truth is known.
type design interface {
	fmt.Stringer // its name in the report
	// judge plays league number i under a seed and scores what is said of it.
	judge(ctx context.Context, i int, seed uint64, s calibrate.Scores) error
	// tell gives the findings of all its leagues.
	tell(t *calibrate.Sheet)
}

// study judges so many leagues of each design at full size.
func study[D design](block uint64, sets int, designs []D) run {
	return func(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
		var out []calibrate.Finding
		for k, d := range designs {
			r, err := o.Gather(ctx, sets, func(i int, s calibrate.Scores) error { return d.judge(ctx, i, seed(o, block, k<<12+i), s) })
			if err != nil {
				return nil, err
			}
			t := r.Sheet(d.String())
			d.tell(t)
			out = append(out, t.Findings...)
		}
		return out, nil
	}
}

// honest is what 95 % intervals of small leagues must hold.
var honest = calibrate.Between(.92, .98)

// held tells whether an interval holds a value.
func held(lo, hi *float64, truth float64) bool { return *lo <= truth && truth <= *hi }

// swing is one at a four-seamer of a right-hander by a right-handed batter, who
// fouls it off; nothing was measured.
func swing(pitcher, batter int) pitch.Pitch {
	p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(pitcher), Batter: int32(batter),
		Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
	for k := range p.Num {
		p.Num[k] = pitch.Missing()
	}
	return p
}

// named is the name of pitcher number p.
func named(p int, hand pitch.Hand) string {
	return pitch.PitcherKey{ID: fmt.Sprintf("p%04d", p), Hand: hand}.String()
}

// numbers are the names of right-handed pitchers and of batters.
func numbers(pitchers, batters int) tally.Names {
	var names tally.Names
	for p := range pitchers {
		names.Pitchers = append(names.Pitchers, named(p, pitch.RightHand))
	}
	for b := range batters {
		names.Batters = append(names.Batters, fmt.Sprintf("b%04d", b))
	}
	return names
}

// skills draws what batters differ by.
func skills(rng *rand.Rand, batters int, sd float64) []float64 {
	out := make([]float64, batters)
	for b := range out {
		out[b] = sd * rng.NormFloat64()
	}
	return out
}

// work draws how many swings a pitcher has: log-normal, within limits.
func work(rng *rand.Rand, median, logSD, least, most float64) int {
	return int(min(max(math.Exp(math.Log(median)+logSD*rng.NormFloat64()), least), most))
}

// counted counts pitches by velocity.
func counted(names tally.Names, pitches []pitch.Pitch) (*tally.Tally, error) {
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		return nil, err
	}
	builder, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		return nil, err
	}
	if err := builder.Add(0, pitches); err != nil {
		return nil, err
	}
	return builder.Tally()
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// overNormal is the mean of f over a standard normal z, within six standard
// deviations.
func overNormal(step float64, f func(z float64) float64) float64 {
	sum, weight := 0.0, 0.0
	for z := -6.; z <= 6; z += step {
		w := math.Exp(-z * z / 2)
		sum += w * f(z)
		weight += w
	}
	return sum / weight
}

// passes is where a rising f passes a value.
func passes(lo, hi, value float64, f func(x float64) float64) float64 {
	for range 60 {
		if mid := (lo + hi) / 2; f(mid) < value {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Studies lists the studies of whole leagues.
func Studies() []calibrate.Study {
	return []calibrate.Study{
		{Name: "leagues", Asks: "Do the breakpoints of whole published tables hold what is true of the league, with batters, workloads and qualities that travel together?", Run: leagues},
		{Name: "flat_leagues", Asks: "Where most curves of a whole table are flat by construction, how many discoveries are false?", Run: flatLeagues},
		{Name: "whole_seasons", Asks: "Does the program say of whole seasons, read from Parquet, what the studies without files say?", Run: seasons},
		{Name: "facts", Asks: "Are cutoffs of the trade, planted in large seasons, read off without bias?", Run: facts},
		{Name: "trials", Asks: "Does a stated cutoff that is tried in a small league hold, and not hold, no more often by mistake than it says?", Run: trials},
		{Name: "needs", Asks: "Where a verdict or a trial says how many pitchers would settle it, do so many settle it as often as promised?", Run: needs},
		{Name: "lines", Asks: "Do the intervals of the lines, as published, hold what an endless league would show?", Run: lines},
		{Name: "venues", Asks: "Is what a venue reads too high held, warned of where it is planted, and not where it is not?", Run: venues(quality.CompareVenues)},
		{Name: "trend", Asks: "Do changes of quality and of outcomes, from season to season, hold what is true at 20, 60 and 200 events, and who is said to have moved?", Run: trends},
		{Name: "persistence", Asks: "Do the events at which half of a number is the pitcher, and what else is said of how soon it is his, hold what is true?", Run: persistences},
		{Name: "season_shifts", Asks: "Where an instrument shifts sideways between two seasons, in how many of nine pitch types is it found, and how often is any shift named that is none?", Run: shifts},
		{Name: "slopes", Asks: "Do slopes inside and between pitchers hold what is true, and is their difference told at its level?", Run: slopes},
		{Name: "stacked", Asks: "Do rates and gains by how many qualities are good, in zones that the other half of the pitchers found, hold what is true?", Run: stacks},
		{Name: "opponents", Asks: "Is the difference of the batters faced from the league's held, whether or not some pitch types go to the better ones?", Run: faced},
		{Name: "located", Asks: "Are the gain of a breakpoint with location held, and what of it is location, held where both are known?", Run: holdings},
		{Name: "grades", Asks: "Do pitchers' own rates and platoon gaps, drawn toward their like, hold the true ones, and are pitches that are told apart ranked the right way?", Run: grades},
		{Name: "standings", Asks: "Does a pitcher's place among like pitchers, in standard deviations and as a percentile, by a curve that is estimated hold that by the true one?", Run: standings},
	}
}
