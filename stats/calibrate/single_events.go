package calibrate

import (
	"context"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/stats"
)

// events is what an analyst gets who resamples single events: a percentile
// interval of where one smooth curve, its λ chosen once, crosses the pooled rate.
// It must fail the bar of the mono edge, or the harness cannot tell right from
// wrong.
//
// The first study measured .32 and does not say how its analyst went about it.
// Tried here on the design of that study (150 sets each): as below .47; with λ
// chosen anew in every replicate .65; with the line kept as it is .91; with the
// median line kept .66 to .73; with the first crossing of the raw rates .79; with
// every trial an event .49, .59, .75, .59 to .65, .70. None gives .32 with clusters
// of this size; clusters three times as large come near (.38), and are told too. The engine itself, given
// each event as a cluster, covers .7: it inverts a test, which is wider than the
// percentiles.
func events(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, c := range []struct {
		name   string
		larger float64
		bar    Bar
	}{
		{"mono, 120 clusters, events resampled", 1, AtMost(.60)},
		{"mono, 120 clusters three times as large, events resampled", 3, NoBar},
	} {
		d := Default(Mono)
		d.SizeMedian, d.SizeMin, d.SizeMax = c.larger*d.SizeMedian, c.larger*d.SizeMin, c.larger*d.SizeMax
		truth := d.Truth(PooledLine, 0).Edges[0][0].X
		seed := o.stream("events/" + c.name)
		r, err := o.Gather(ctx, some/2, func(i int, s Scores) error {
			lo, hi := naive(d.Draw(seed, i).Tables[0], Key(seed, "events", i))
			s.Hit("edge covered, pooled line", lo <= truth && truth <= hi)
			return nil
		})
		if err != nil {
			return nil, err
		}
		t := r.Sheet(c.name)
		t.Share("edge covered, pooled line", c.bar, ".32")
		out = append(out, t.Findings...)
	}
	return out, nil
}

// naive returns the percentile interval of the rising crossing of the smooth
// curve and the pooled rate, over 300 resamples of events; a resample without one
// is left out.
func naive(t *stats.Table, key [32]byte) (lo, hi float64) {
	tables := []*stats.Table{t}
	openEnds(stats.Proportion, tables...)
	t = tables[0]
	n, y := t.Sums()
	bins, all := len(n), 0.0
	rate, curve := make([]float64, bins), make([]float64, bins)
	for b := range n {
		rate[b] = y[b] / n[b]
		all += n[b]
	}
	mean := func(y []float64) float64 {
		sum := 0.0
		for _, v := range y {
			sum += v
		}
		return sum / all
	}
	s := stats.NewSmoother(t.X, stats.LambdaGrid(2))
	lambda := s.Fit(rate, n, curve, 1)
	at := crossing(t.X, curve, mean(y), t.X[bins/2])
	src := rand.NewChaCha8(key)
	binomial := func(n, p float64) float64 {
		if n == 0 {
			return 0
		}
		return distuv.Binomial{N: n, P: p, Src: src}.Rand()
	}
	var crossings []float64
	n2, y2, rate2 := make([]float64, bins), make([]float64, bins), make([]float64, bins)
	for range 300 {
		// As many events with replacement: bin by bin out of what is left.
		left, from := all, all
		for b := range n2 {
			n2[b] = binomial(left, min(1, n[b]/from))
			y2[b] = binomial(n2[b], rate[b])
			left, from = left-n2[b], from-n[b]
			rate2[b] = y2[b] / max(1, n2[b])
		}
		s.FitAt(lambda, rate2, n2, curve)
		if x := crossing(t.X, curve, mean(y2), at); !math.IsNaN(x) {
			crossings = append(crossings, x)
		}
	}
	return stats.PercentileInterval(crossings, .95)
}

// crossing returns the rising crossing of a line that is nearest to a point; NaN
// for none.
func crossing(x, f []float64, line, near float64) float64 {
	best := math.NaN()
	for b := range len(x) - 1 {
		p, q := f[b]-line, f[b+1]-line
		if p >= 0 || q < 0 {
			continue
		}
		if at := x[b] + (x[b+1]-x[b])*p/(p-q); !(math.Abs(at-near) >= math.Abs(best-near)) {
			best = at
		}
	}
	return best
}
