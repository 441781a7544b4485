package stats_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

func TestFDRVectors(t *testing.T) {
	var v struct {
		P, BH, BY, Holm []float64
		Q               float64
		RejectedBH      int `json:"rejected_bh"`
		Ties            struct{ P, BH []float64 }
	}
	vector(t, "bh", &v)
	if len(v.P) != 15 {
		t.Fatalf("%d p-values, want 15", len(v.P))
	}
	q := stats.BenjaminiHochberg(v.P)
	allNear(t, "Benjamini-Hochberg", q, v.BH, 1e-12)
	allNear(t, "Benjamini-Yekutieli", stats.BenjaminiYekutieli(v.P), v.BY, 1e-12)
	allNear(t, "Holm", stats.Holm(v.P), v.Holm, 1e-12)
	allNear(t, "ties", stats.BenjaminiHochberg(v.Ties.P), v.Ties.BH, 1e-12)
	rejected := 0
	for _, x := range q {
		if x <= v.Q {
			rejected++
		}
	}
	if rejected != v.RejectedBH {
		t.Errorf("%d rejected, want %d as in the paper", rejected, v.RejectedBH)
	}
}

// q ≤ α must be the step-up rule as the paper states it: reject the k smallest,
// k the largest i with p₍ᵢ₎ ≤ iα/m. The order of the input must not matter.
func TestBenjaminiHochbergIsTheStepUpRule(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 40).Draw(rt, "p")
		before := slices.Clone(p)
		alpha := rapid.Float64Range(.001, .5).Draw(rt, "alpha")
		sorted := slices.Sorted(slices.Values(p))
		cut := -1.0
		for i, x := range sorted {
			if x*float64(len(p)) <= float64(i+1)*alpha {
				cut = x
			}
		}
		q := stats.BenjaminiHochberg(p)
		by := stats.BenjaminiYekutieli(p)
		holm := stats.Holm(p)
		for i := range p {
			if math.Abs(q[i]-alpha) > 1e-12 && (q[i] <= alpha) != (p[i] <= cut) {
				rt.Fatalf("p %v: q %v, cut %v, alpha %v", p[i], q[i], cut, alpha)
			}
			if !(q[i] >= p[i] && by[i] >= q[i] && holm[i] >= q[i]-1e-15 && by[i] <= 1 && holm[i] <= 1) {
				rt.Fatalf("p %v: q %v, by %v, holm %v", p[i], q[i], by[i], holm[i])
			}
		}
		if !slices.Equal(p, before) {
			rt.Fatal("the argument was modified")
		}
		slices.Reverse(p)
		again := stats.BenjaminiHochberg(p)
		slices.Reverse(again)
		if !slices.Equal(again, q) {
			rt.Fatal("the order of the tests changed their q")
		}
	})
}

func TestFDREdges(t *testing.T) {
	if got := stats.BenjaminiHochberg(nil); len(got) != 0 {
		t.Errorf("no tests gave %v", got)
	}
	panics(t, "p above 1", func() { stats.BenjaminiHochberg([]float64{.1, 1.1}) })
	panics(t, "NaN", func() { stats.Holm([]float64{math.NaN()}) })
}
