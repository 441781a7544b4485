package stats_test

import (
	"bytes"
	"math"
	"testing"

	"sill/stats"
)

func TestDrawMultinomial(t *testing.T) {
	const g, r = 40, 4000
	w := stats.DrawMultinomial(seed(3), g, r)
	var mean, square float64
	for i := range r {
		sum := 0
		for _, k := range w.Row(i) {
			sum += int(k)
			mean += float64(k)
			square += float64(k) * float64(k)
		}
		if sum != g {
			t.Fatalf("replicate %d holds %d clusters, want %d", i, sum, g)
		}
	}
	// A multinomial count has mean 1 and variance 1 − 1/G.
	n := float64(g * r)
	near(t, "mean", mean/n, 1, 1e-12)
	near(t, "variance", square/n-1, 1-1./g, 4*math.Sqrt(2/n)*2)
	again := stats.DrawMultinomial(seed(3), g, r)
	shorter := stats.DrawMultinomial(seed(3), g, 7)
	if !bytes.Equal(w.Count, again.Count) || !bytes.Equal(w.Count[:7*g], shorter.Count) {
		t.Error("the same seed gave other draws")
	}
	if bytes.Equal(w.Count, stats.DrawMultinomial(seed(4), g, r).Count) {
		t.Error("another seed gave the same draws")
	}
	one := stats.DrawMultinomial(seed(1), 1, 3)
	if !bytes.Equal(one.Count, []byte{1, 1, 1}) {
		t.Errorf("one cluster is drawn %v", one.Count)
	}
	panics(t, "no cluster", func() { stats.DrawMultinomial(seed(1), 0, 3) })
	panics(t, "a broken row", func() { stats.NewWeights(3, make([]uint8, 4)) })
}

func TestWeightedMedian(t *testing.T) {
	for _, c := range []struct {
		v    []float64
		w    []uint8
		want float64
	}{
		{[]float64{1, 2, 3}, []uint8{1, 1, 1}, 2},
		{[]float64{1, 2, 3, 4}, []uint8{1, 1, 1, 1}, 2.5},
		{[]float64{1, 2, 3, 4}, []uint8{2, 0, 0, 2}, 2.5}, // the next with weight
		{[]float64{1, 2, 3}, []uint8{3, 1, 1}, 1},
		{[]float64{1, 2, 3}, []uint8{0, 0, 9}, 3},
		{[]float64{1, 2, 3}, []uint8{200, 200, 255}, 2}, // sums beyond a byte
	} {
		if got, ok := stats.WeightedMedian(c.v, c.w); !ok || got != c.want {
			t.Errorf("median of %v by %v is %v, %v; want %v", c.v, c.w, got, ok, c.want)
		}
	}
	if _, ok := stats.WeightedMedian([]float64{1, 2}, []uint8{0, 0}); ok {
		t.Error("no weight has a median")
	}
	panics(t, "a missing weight", func() { stats.WeightedMedian([]float64{1}, nil) })
}
