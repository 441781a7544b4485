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

// lineDesigns are leagues of the study of trials.
var lineDesigns = []trialDesign{{25, .2, .02}, {60, .2, .02}, {120, 0, .02}, {120, .35, .02}}

// truth returns what an endless number of pitchers like those of the league would
// show: the median rate of those who qualify, and the rate of all pitches. A pitcher's
// whiffs are binomial in his own rate over batters and velocities; 400,000 pitchers
// are drawn (error of the median about .0001).
func (d trialDesign) truth(seed uint64) (median, rate float64) {
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
	return stats.Quantile(rates, .5), whiffs / swings
}

// lines holds the intervals of the lines that are published against the truth.
func lines(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range lineDesigns {
		median, rate := d.truth(seed(o, lineSeeds, k<<12))
		type result struct{ held [2]bool }
		results := make([]result, o.Sets(lineSets))
		off := make([]float64, len(results))
		err := o.Each(ctx, len(results), func(i int) error {
			counts, err := d.play(seed(o, lineSeeds, k<<12+1+i))
			if err != nil {
				return err
			}
			e, _ := settings(seed(o, lineSeeds, k<<12+1+i))
			est, err := estimate.New(ctx, counts, e)
			if err != nil {
				return err
			}
			for _, l := range est.Lines() {
				switch {
				case l.Metric != outcome.Whiff || l.Stratum != "":
				case l.Name == estimate.TypeMedian:
					results[i].held[0] = l.Lo <= median && median <= l.Hi
					off[i] = l.Value - median
				case l.Name == estimate.TypeRate:
					results[i].held[1] = l.Lo <= rate && rate <= l.Hi
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		var held [2]calibrate.Share
		for _, r := range results {
			for i := range held {
				held[i].Add(r.held[i])
			}
		}
		out = append(out,
			calibrate.ShareFinding(d.String(), "line held, "+estimate.TypeMedian, held[0], calibrate.AtLeast(.92), ".923–.954"),
			calibrate.ShareFinding(d.String(), "line held, "+estimate.TypeRate, held[1], calibrate.AtLeast(.92), ".923–.954"),
			calibrate.MeanFinding(d.String(), "median line less the true one", off, calibrate.Between(-.0015, .0015), "≤ .0010"))
	}
	return out, nil
}
