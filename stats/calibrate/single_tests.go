package calibrate

import (
	"context"
	"fmt"
	"math"

	"sill/stats"
	"sill/stats/simulate"
)

// step is better by a given amount from the centre on.
func step(by float64) simulate.Curve {
	return simulate.Curve{Name: "step", At: func(z float64) float64 {
		if z >= 0 {
			return .25 + by/2
		}
		return .25 - by/2
	}}
}

// cutoff looks at the test of a stated cutoff at the centre of x.
func cutoff(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, second := range []float64{0, .28} {
		for _, clusters := range []int{15, 40, 120} {
			d := simulate.Default(step(0))
			d.Clusters = clusters
			name := fmt.Sprintf("%d clusters", clusters)
			if second > 0 {
				d.Second, d.SecondSD = 250, second
				name += fmt.Sprintf(", second clusters %g", second)
			}
			none, err := o.cutoffs(ctx, d, name+", no effect", 0)
			if err != nil {
				return nil, err
			}
			d.Cells[0].Curve = step(.02)
			t := d.Truth(simulate.PooledLine, 0)
			delta := t.At(0, d.X.Centre+1) - t.At(0, d.X.Centre-1)
			full, err := o.cutoffs(ctx, d, name+", an effect of delta", delta)
			if err != nil {
				return nil, err
			}
			out = append(out,
				ShareFinding(name+", no effect", "difference covered", none.covered, Between(.93, .98), map[int]string{15: ".96", 40: ".95", 120: ".94"}[clusters]),
				ShareFinding(name+", no effect", "said to hold", none.holds, AtMost(.05), ""),
				ShareFinding(name+", an effect of delta", "difference covered", full.covered, Between(.93, .98), ""),
				ShareFinding(name+", an effect of delta", "said not to hold", full.fails, AtMost(.05), ""),
				ShareFinding(name+", an effect of delta", "said to hold", full.holds, NoBar, ""))
		}
	}
	return out, nil
}

type cutoffCounts struct{ covered, holds, fails simulate.Share }

// cutoffs judges a cutoff whose true effect is given in data sets of a design;
// those with too few events do not count.
func (o Options) cutoffs(ctx context.Context, d simulate.Design, name string, effect float64) (cutoffCounts, error) {
	results := make([]stats.Cutoff, o.Sets(many))
	options := stats.DefaultCutoffOptions()
	if effect > 0 {
		options.Delta = effect
	}
	err := o.Each(ctx, len(results), func(i int) error {
		yIn, nIn, yOut, nOut := bySide(d.Draw(o.seed("cutoff", name), i).Tables[0], d.X.Centre)
		results[i] = stats.CompareCutoff(yIn, nIn, yOut, nOut, options)
		return nil
	})
	var n cutoffCounts
	for _, c := range results {
		if c.Shortage != stats.CutoffEnough {
			continue
		}
		n.covered.Add(c.Lo <= effect && effect <= c.Hi)
		v := c.Verdict(c.P)
		n.holds.Add(v == stats.CutoffHolds || v == stats.CutoffHoldsClearly)
		n.fails.Add(v == stats.CutoffFails)
	}
	return n, err
}

// bySide sums a table by cluster over the bins at or above a cutoff and below it.
func bySide(t *stats.Table, cutoff float64) (yIn, nIn, yOut, nOut []float64) {
	yIn, nIn = make([]float64, t.Clusters), make([]float64, t.Clusters)
	yOut, nOut = make([]float64, t.Clusters), make([]float64, t.Clusters)
	for b, x := range t.X {
		y, n := yOut, nOut
		if x >= cutoff {
			y, n = yIn, nIn
		}
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			y[t.Cluster[e]] += t.Y[e]
			n[t.Cluster[e]] += t.N[e]
		}
	}
	return yIn, nIn, yOut, nOut
}

// discoveries looks at tables of 256 tests, of which half are of flat curves.
func discoveries(ctx context.Context, o Options) ([]Finding, error) {
	const crews, cells, level = 32, 8, .10
	d := simulate.Default(simulate.Null)
	d.Clusters = 80
	// As many trials in a cell as a design of one cell with a median size of 75.
	d.SizeMedian, d.SizeMin, d.SizeMax = 75*cells, 10*cells, 1500*cells
	d.Cells = nil
	for _, c := range []simulate.Curve{simulate.Mono, simulate.Tick, simulate.Two, weakened(simulate.Band, .5)} {
		d.Cells = append(d.Cells, simulate.Cell{Curve: c, Share: 1. / cells}, simulate.Cell{Curve: simulate.Null, Share: 1. / cells})
	}
	tables := o.Sets(200)
	p := make([][]float64, tables)
	for i := range p {
		p[i] = make([]float64, crews*cells)
	}
	seed := o.seed("discoveries", "table")
	err := o.Each(ctx, tables*crews, func(k int) error {
		sample := d.Draw(seed, k)
		for c, t := range sample.Tables {
			if first, last, ok := t.EndBins(50, 5); ok {
				t = t.Merge(first, last)
			}
			p[k/crews][k%crews*cells+c] = stats.NewFlipTest(t, simulate.Key(seed, "flips", k*cells+c)).Run(1999).P
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var flats, power []float64
	for _, table := range p {
		var hits, wrong float64
		for i, q := range stats.BenjaminiHochberg(table) {
			if q <= level {
				hits++
				if i%2 == 1 {
					wrong++
				}
			}
		}
		flats = append(flats, wrong/math.Max(1, hits))
		power = append(power, (hits-wrong)/(crews*cells/2))
	}
	design := "256 tests, half of flat curves, 80 clusters"
	return []Finding{
		MeanFinding(design, "share of the rejected that are flat", flats, AtMost(.10), ".077"),
		MeanFinding(design, "share of the others that are rejected", power, NoBar, ""),
	}, nil
}
