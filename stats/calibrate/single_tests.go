package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sill/stats"
)

// step is better by a given amount from the centre on.
func step(by float64) Curve {
	return Curve{Name: "step", At: func(z float64) float64 {
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
			d := crewed(step(0), clusters)
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
			t := d.Truth(PooledLine, 0)
			full, err := o.cutoffs(ctx, d, name+", an effect of delta", t.At(0, d.X.Centre+1)-t.At(0, d.X.Centre-1))
			if err != nil {
				return nil, err
			}
			none.Share("difference covered", Between(.93, .98), map[int]string{15: ".96", 40: ".95", 120: ".94"}[clusters])
			none.Share("said to hold", AtMost(.05), "")
			full.Share("difference covered", Between(.93, .98), "")
			full.Share("said not to hold", AtMost(.05), "")
			full.Share("said to hold", NoBar, "")
			out = slices.Concat(out, none.Findings, full.Findings)
		}
	}
	return out, nil
}

// cutoffs judges a cutoff whose true effect is given in data sets of a design;
// those with too few events do not count.
func (o Options) cutoffs(ctx context.Context, d Design, name string, effect float64) (*Sheet, error) {
	options := stats.DefaultCutoffOptions()
	if effect > 0 {
		options.Delta = effect
	}
	r, err := o.Gather(ctx, many, func(i int, s Scores) error {
		yIn, nIn, yOut, nOut := bySide(d.Draw(o.stream("cutoff/"+name), i).Tables[0], d.X.Centre)
		c := stats.CompareCutoff(yIn, nIn, yOut, nOut, options)
		if c.Shortage != stats.CutoffEnough {
			return nil
		}
		s.Hit("difference covered", c.Lo <= effect && effect <= c.Hi)
		v := c.Verdict(c.P)
		s.Hit("said to hold", v == stats.CutoffHolds || v == stats.CutoffHoldsClearly)
		s.Hit("said not to hold", v == stats.CutoffFails)
		return nil
	})
	return r.Sheet(name), err
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
	d := crewed(Null, 80)
	// As many trials in a cell as a design of one cell with a median size of 75.
	d.SizeMedian, d.SizeMin, d.SizeMax = 75*cells, 10*cells, 1500*cells
	d.Cells = nil
	for _, c := range []Curve{Mono, Tick, Two, weakened(Band, .5)} {
		d.Cells = append(d.Cells, Cell{Curve: c, Share: 1. / cells}, Cell{Curve: Null, Share: 1. / cells})
	}
	seed := o.stream("discoveries/table")
	r, err := o.Gather(ctx, 200, func(table int, s Scores) error {
		var p []float64
		for k := range crews {
			number := table*crews + k
			for c, t := range d.Draw(seed, number).Tables {
				tables := []*stats.Table{t}
				openEnds(d.Kind, tables...)
				p = append(p, stats.NewFlipTest(tables[0], Key(seed, "flips", number*cells+c)).Run(1999).P)
			}
		}
		var hits, wrong float64
		for i, q := range stats.BenjaminiHochberg(p) {
			if q <= level {
				hits++
				if i%2 == 1 {
					wrong++
				}
			}
		}
		s.Value("share of the rejected that are flat", wrong/math.Max(1, hits))
		s.Value("share of the others that are rejected", (hits-wrong)/(crews*cells/2))
		return nil
	})
	t := r.Sheet("256 tests, half of flat curves, 80 clusters")
	t.Mean("share of the rejected that are flat", AtMost(.10), ".077")
	t.Mean("share of the others that are rejected", NoBar, "")
	return t.Findings, err
}
