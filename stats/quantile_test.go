package stats_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

func TestQuantileVectors(t *testing.T) {
	var v struct {
		X, Probs, Q []float64
		Single      struct {
			X float64
			Q []float64
		}
	}
	vector(t, "quantile_type7", &v)
	slices.Sort(v.X)
	got := make([]float64, len(v.Probs))
	for i, p := range v.Probs {
		got[i] = stats.Quantile(v.X, p)
	}
	allNear(t, "type 7", got, v.Q, 1e-14)
	for _, want := range v.Single.Q {
		near(t, "one value", stats.Quantile([]float64{v.Single.X}, .3), want, 0)
	}
}

func TestQuantileProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 50).Draw(rt, "x")
		slices.Sort(x)
		a := rapid.Float64Range(0, 1).Draw(rt, "a")
		b := rapid.Float64Range(a, 1).Draw(rt, "b")
		if lo, hi := stats.Quantile(x, a), stats.Quantile(x, b); lo > hi+1e-9 {
			rt.Fatalf("quantile %v is %v but %v is %v", a, lo, b, hi)
		}
		at := rapid.IntRange(0, len(x)-1).Draw(rt, "at")
		if len(x) > 1 {
			if got := stats.Quantile(x, float64(at)/float64(len(x)-1)); math.Abs(got-x[at]) > 1e-9*math.Max(1, x[len(x)-1]-x[0]) {
				rt.Fatalf("order statistic %d: got %v, want %v", at, got, x[at])
			}
		}
	})
}

func TestQuantileEdges(t *testing.T) {
	inf := math.Inf(1)
	if got := stats.Quantile([]float64{-inf, -inf, 3, inf, inf}, .9); got != inf {
		t.Errorf("between two infinities: %v", got)
	}
	panics(t, "no values", func() { stats.Quantile(nil, .5) })
	panics(t, "q above 1", func() { stats.Quantile([]float64{1}, 1.5) })
	panics(t, "NaN q", func() { stats.Quantile([]float64{1}, math.NaN()) })
}
