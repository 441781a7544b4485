package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats/calibrate"
)

// facedSets is the full number of leagues in which opponents are judged, by design.
const facedSets = 800

// facedDesign is a league of one matchup: two thirds of the events on four-seamers,
// which batters face by chance, a third on sliders, of which a share (favour) goes
// to the third of the batters who are best. Pitchers differ in skill and in work,
// some throw sliders to the best more than others, batters differ in skill and
// playing time, and the better play more.
type facedDesign struct {
	metric   int
	pitchers int
	batters  int
	events   int     // of a pitcher, about
	skill    float64 // SD between batters of the probability
	favour   float64
}

func (d facedDesign) String() string {
	return fmt.Sprintf("%s, %d pitchers of about %d events, %d batters of SD %.3f, %.0f %% of sliders to the best", outcome.Metrics[d.metric].Title,
		d.pitchers, d.events, d.batters, d.skill, 100*d.favour)
}

var facedDesigns = []facedDesign{
	{outcome.Whiff, 60, 120, 300, .05, 0}, {outcome.Whiff, 60, 120, 300, .05, .4},
	{outcome.WOBA, 60, 120, 150, .04, 0}, {outcome.WOBA, 60, 120, 150, .04, .4},
	{outcome.Whiff, 25, 60, 120, .05, .4},
}

// play throws one league's events; it returns the true difference of the batters
// who face sliders from the league's.
func (d facedDesign) play(seed uint64) (pairs []opponents.Pair, truth float64) {
	rng := rand.New(rand.NewPCG(seed, 46))
	skill, playing := skills(rng, d.batters, d.skill), make([]float64, d.batters)
	slices.SortFunc(skill, func(a, b float64) int { // the best first: those who miss least, or hit most
		if (a < b) == (d.metric == outcome.Whiff) {
			return -1
		}
		return 1
	})
	for b := range playing {
		playing[b] = math.Exp(.5*rng.NormFloat64() - .6*float64(b)/float64(d.batters))
	}
	best := d.batters / 3
	mean := func(to int) float64 {
		var n, s float64
		for b := range to {
			n, s = n+playing[b], s+playing[b]*skill[b]
		}
		return s / n
	}
	pick := func(to int) int32 {
		total := 0.0
		for _, w := range playing[:to] {
			total += w
		}
		u := total * rng.Float64()
		for b, w := range playing[:to] {
			if u -= w; u < 0 {
				return int32(b)
			}
		}
		return int32(to - 1)
	}
	c := opponents.NewCounter(1)
	for p := range d.pitchers {
		own, spread := .03*rng.NormFloat64(), 0.0
		if d.favour > 0 {
			spread = .15 * rng.NormFloat64()
		}
		for range int(float64(d.events) * min(max(math.Exp(.6*rng.NormFloat64()), .2), 3)) {
			t := pitch.Pitch{Pitcher: int32(p), Hand: pitch.RightHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			rate, to := .3, d.batters
			if rng.IntN(3) == 0 {
				t.Type, rate = pitch.Slider, .38
				if rng.Float64() < d.favour+spread {
					to = best
				}
			}
			t.Batter = pick(to)
			hit := rng.Float64() < rate+own+skill[t.Batter]
			switch {
			case d.metric == outcome.Whiff && hit:
				t.Outcome = pitch.SwingingStrike
			case d.metric == outcome.WOBA && hit:
				t.Outcome, t.Result = pitch.InPlay, pitch.Single
			case d.metric == outcome.WOBA:
				t.Outcome, t.Result = pitch.InPlay, pitch.Out
			}
			c.Add(0, []pitch.Pitch{t})
		}
	}
	worth := 1.0
	if d.metric == outcome.WOBA {
		worth = outcome.TheBook().Value[outcome.Single]
	}
	return c.Pairs(), worth * d.favour * (mean(best) - mean(d.batters)) * 2 / 3
}

// faced judges opponents whose difference is known.
var faced = study(facedSeeds, facedSets, facedDesigns)

func (d facedDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	scoring := outcome.Scoring{Weights: outcome.TheBook()}
	pairs, truth := d.play(seed)
	for _, f := range opponents.Measure(pairs, &scoring, d.pitchers, d.batters) {
		if f.Type == pitch.Slider && f.Metric == d.metric {
			s.Hit("difference held", held(&f.Lo, &f.Hi, truth))
			s.Value("bias of the difference", f.Difference-truth)
			s.Hit("warned of", f.Clear())
		}
	}
	return nil
}

func (d facedDesign) tell(t *calibrate.Sheet) {
	warned := calibrate.NoBar
	if d.favour == 0 {
		warned = calibrate.AtMost(.02)
	}
	t.Share("difference held", honest, "")
	t.Mean("bias of the difference", calibrate.Between(-.0015, .0015), "")
	t.Share("warned of", warned, "")
}
