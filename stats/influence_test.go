package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// TestInfluence: scores are the change of the curve per unit of a cluster's weight,
// by difference quotient; shares are of two nodes; without a cluster its rows and
// its lonely node are gone.
func TestInfluence(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	a, _ := crossed(r, 15, 5, 900, .6, 0, smooth)
	c := stats.FitPoint(a, 1, stats.LambdaGrid(2))
	f := stats.NewInfluence(c, a)
	x := c.X[3] + .3*(c.X[4]-c.X[3])
	scores := f.Scores(x)
	at := func(v []float64) float64 { return .7*v[3] + .3*v[4] }
	const step = 1e-5
	sum := 0.0
	for g, s := range scores {
		sum += s
		// the raw rates with the cluster counted 1 + step times, the operator held
		rate := make([]float64, a.Bins())
		for b := range rate {
			var n, y float64
			for e := a.Start[b]; e < a.Start[b+1]; e++ {
				w := 1.0
				if int(a.Cluster[e]) == g {
					w += step
				}
				n, y = n+w*a.N[e], y+w*a.Y[e]
			}
			rate[b] = y / n
		}
		fit := make([]float64, len(rate))
		stats.NewSmoother(c.X, stats.LambdaGrid(2)).FitAt(c.Lambda, rate, c.N, fit)
		near(t, "score", s, (at(fit)-at(c.F))/step, 1e-6)
	}
	near(t, "sum of scores", sum, 0, 1e-12)
	if f.Scores(c.X[0]-1) != nil || !math.IsNaN(f.LargestShare(c.X[0]-1)) {
		t.Error("known outside the nodes")
	}

	small := made([]float64{0, 1, 2, 3}, [][]float64{{5, 5}, {0, 30}, {10, 20}, {7, 1}}, [][]float64{{1, 2}, {0, 9}, {3, 4}, {2, 1}})
	small.Gap = []int32{0, 1, 0}
	shares := stats.NewInfluence(stats.FitPoint(small, 1, stats.LambdaGrid(2)), small)
	for at, want := range map[float64]float64{.5: 35. / 40, 1.2: 50. / 60, 1: 50. / 60, 2.9: 21. / 38, 3: 21. / 38} {
		near(t, "largest share", shares.LargestShare(at), want, 1e-15)
	}
	rest := small.Without(1)
	if n, y := rest.Sums(); rest.Bins() != 3 || rest.X[1] != 2 || n[1] != 10 || y[1] != 3 || rest.Gap[0] != 2 || rest.Gap[1] != 0 {
		t.Errorf("without the second cluster: %+v", rest)
	}
	if small.Bins() != 4 || small.Without(7).Bins() != 4 {
		t.Error("the table itself changed, or a stranger took a node along")
	}
}

// TestCrossing finds the nearest crossing of a direction.
func TestCrossing(t *testing.T) {
	c := &stats.Curve{X: []float64{0, 1, 2, 3, 4}, F: []float64{0, 2, 0, 2, 3}}
	for _, k := range []struct {
		line, sign, x, want float64
		up                  bool
	}{
		{1, 1, 0, .5, true}, {1, 1, 2.4, 2.5, true}, {1, 1, 3, 1.5, false}, {1, -1, 0, 1.5, true}, {5, 1, 2, math.NaN(), true},
		{2.5, 1, 0, 3.5, true}, {2.5, 1, 0, math.NaN(), false}, {math.NaN(), 1, 0, math.NaN(), true},
	} {
		if got := c.Crossing(k.line, k.sign, k.up, k.x); got != k.want && !(math.IsNaN(got) && math.IsNaN(k.want)) {
			t.Errorf("%+v: %g", k, got)
		}
	}
}
