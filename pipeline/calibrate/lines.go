package calibrate

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/stats"
	"sill/stats/calibrate"
)

// lineSets is the full number of leagues whose lines are held against the truth, by
// design.
const lineSets = 600

// lineDesign is a league of the study of trials with its true lines: what an endless
// number of pitchers like those of the league would show.
type lineDesign struct {
	trialDesign
	median, rate float64 // of those who qualify, and of all pitches
}

var lineDesigns = []trialDesign{{25, .2, .02}, {60, .2, .02}, {120, 0, .02}, {120, .35, .02}}

// lines holds the intervals of the lines that are published against the truth.
func lines(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var designs []lineDesign
	for k, d := range lineDesigns {
		designs = append(designs, d.lines(seed(o, lineSeeds, k<<12)))
	}
	return study(lineSeeds, lineSets, designs)(ctx, o)
}

// lines works out the true lines. A pitcher's whiffs are binomial in his own rate over
// batters and velocities; 400,000 pitchers are drawn (error of the median about .0001).
func (d trialDesign) lines(seed uint64) lineDesign {
	rng := rand.New(rand.NewPCG(seed, 53))
	step, qualify := d.step(), outcome.Metrics[outcome.Whiff].QualifyEvents
	type node struct{ z, weight float64 }
	var nodes []node // of a normal distribution of batters
	total := 0.0
	for z := -4.; z <= 4; z += .5 {
		nodes = append(nodes, node{z, math.Exp(-z * z / 2)})
		total += math.Exp(-z * z / 2)
	}
	var rates []float64
	var whiffs, swings float64
	for range 400_000 {
		p := d.pitcher(rng)
		fast := .5 * math.Erfc((trialCutoff-p.speed)/trialWithin/math.Sqrt2)
		own := 0.0
		for _, n := range nodes {
			at := p.logit + d.batters*n.z
			own += n.weight / total * ((1-fast)*logistic(at) + fast*logistic(at+step))
		}
		whiffs, swings = whiffs+own*float64(p.swings), swings+float64(p.swings)
		if p.swings < qualify {
			continue
		}
		y := 0
		for range p.swings {
			if rng.Float64() < own {
				y++
			}
		}
		rates = append(rates, float64(y)/float64(p.swings))
	}
	slices.Sort(rates)
	return lineDesign{d, stats.Quantile(rates, .5), whiffs / swings}
}

func (d lineDesign) judge(ctx context.Context, _ int, seed uint64, s calibrate.Scores) error {
	counts, err := d.play(seed + 1) // the truth has the first
	if err != nil {
		return err
	}
	e, _ := settings(seed + 1)
	est, err := estimate.New(ctx, counts, e)
	if err != nil {
		return err
	}
	for _, l := range est.Lines() {
		switch {
		case l.Metric != outcome.Whiff || l.Stratum != "":
		case l.Name == estimate.TypeMedian:
			s.Hit("line held, "+l.Name, held(&l.Lo, &l.Hi, d.median))
			s.Value("median line less the true one", l.Value-d.median)
		case l.Name == estimate.TypeRate:
			s.Hit("line held, "+l.Name, held(&l.Lo, &l.Hi, d.rate))
		}
	}
	return nil
}

func (d lineDesign) tell(t *calibrate.Sheet) {
	t.Share("line held, "+estimate.TypeMedian, calibrate.AtLeast(.92), ".923–.954")
	t.Share("line held, "+estimate.TypeRate, calibrate.AtLeast(.92), ".923–.954")
	t.Mean("median line less the true one", calibrate.Between(-.0015, .0015), "≤ .0010")
}
