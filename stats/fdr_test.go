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
		P, BH, Holm []float64
		Q           float64
		RejectedBH  int `json:"rejected_bh"`
		Ties        struct{ P, BH []float64 }
	}
	vector(t, "bh", &v)
	if len(v.P) != 15 {
		t.Fatalf("%d p-values, want 15", len(v.P))
	}
	q := stats.BenjaminiHochberg(v.P)
	allNear(t, "Benjamini-Hochberg", q, v.BH, 1e-12)
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
		holm := stats.Holm(p)
		for i := range p {
			if math.Abs(q[i]-alpha) > 1e-12 && (q[i] <= alpha) != (p[i] <= cut) {
				rt.Fatalf("p %v: q %v, cut %v, alpha %v", p[i], q[i], cut, alpha)
			}
			if !(q[i] >= p[i] && holm[i] >= q[i]-1e-15 && q[i] <= 1 && holm[i] <= 1) {
				rt.Fatalf("p %v: q %v, holm %v", p[i], q[i], holm[i])
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

// TestBenjaminiBogomolovByHand: worked out by hand. Four families at α = .10:
//
//	A  .001 .04 .30   q inside .003 .06 .30   P .003
//	B  .02  .50       q inside .04  .50       P .04
//	C  .06  .90 .95   q inside .18  .95 .95   P .18
//	D  .70            q inside .70            P .70
//
// Over families: Q = .012, min(.08, .24, .70) = .08, .24, .70, so k = 2 of M = 4
// and q inside doubles: A .012 (its Q is the larger), .12, .60; B .08, 1.
// So A's .001 and B's .02 are rejected.
func TestBenjaminiBogomolovByHand(t *testing.T) {
	got := stats.BenjaminiBogomolov([][]float64{{.04, .001, .30}, {.02, .50}, {}, {.06, .90, .95}, {.70}}, .10)
	want := [][]float64{{.12, .012, .60}, {.08, 1}, {}, {.36, 1, 1}, {1}}
	for f := range want {
		allNear(t, "q", got.Q[f], want[f], 1e-12)
	}
	if got.Families != 4 || got.Selected != 2 || !math.IsNaN(got.FamilyQ[2]) || !math.IsNaN(got.Limit[2]) {
		t.Errorf("%+v", got)
	}
	allNear(t, "families", []float64{got.FamilyQ[0], got.FamilyQ[1], got.FamilyQ[3], got.FamilyQ[4]}, []float64{.012, .08, .24, .70}, 1e-12)
	// alone: .10·2/(4·3); its own .02, which .10·2/(4·2) tops; a third family of 3 or of 1
	allNear(t, "limits", []float64{got.Limit[0], got.Limit[1], got.Limit[3], got.Limit[4]}, []float64{.2 / 12, .2 / 8, .3 / 12, .3 / 4}, 1e-12)
}

// TestBenjaminiBogomolovIsTheTwoSteps: q ≤ α is the procedure as its authors state
// it, written here step by step. Families without tests change nothing, a single
// family is Benjamini–Hochberg, and a p that falls to its family's limit is
// rejected.
func TestBenjaminiBogomolovIsTheTwoSteps(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		// p of few distinct values near the limits, so that families are selected
		value := rapid.SampledFrom([]float64{.001, .004, .01, .02, .03, .05, .08, .2, .4, .5, .6, .7, .8, .9, .95, 1})
		p := rapid.SliceOfN(rapid.SliceOfN(value, 0, 8), 0, 8).Draw(rt, "families")
		alpha := rapid.SampledFrom([]float64{.05, .1, .2}).Draw(rt, "alpha")
		got := stats.BenjaminiBogomolov(p, alpha)

		bh := func(p []float64, level float64) float64 { // the largest p rejected, −1 for none
			cut := -1.0
			for i, x := range slices.Sorted(slices.Values(p)) {
				if x*float64(len(p)) <= float64(i+1)*level*(1+1e-12) {
					cut = x
				}
			}
			return cut
		}
		var simes []float64
		smallest := make([]float64, len(p))
		for f, tests := range p {
			smallest[f] = 2
			for i, x := range slices.Sorted(slices.Values(tests)) {
				smallest[f] = min(smallest[f], x*float64(len(tests))/float64(i+1))
			}
			if len(tests) > 0 {
				simes = append(simes, smallest[f])
			}
		}
		cut, k := bh(simes, alpha), 0
		for _, x := range simes {
			if x <= cut {
				k++
			}
		}
		if got.Families != len(simes) || got.Selected != k {
			rt.Fatalf("%d of %d families selected, want %d of %d: %v", got.Selected, got.Families, k, len(simes), p)
		}
		for f, tests := range p {
			inside := -1.0
			if smallest[f] <= cut {
				inside = bh(tests, alpha*float64(k)/float64(len(simes)))
				if inside < 0 {
					rt.Fatalf("family %d is selected and rejects nothing: %v", f, p)
				}
			}
			for i, x := range tests {
				if q := got.Q[f][i]; math.Abs(q-alpha) > 1e-12 && (q <= alpha) != (x <= inside) || q < x || q > 1 || q < got.FamilyQ[f] {
					rt.Fatalf("p %v of family %d: q %v, want rejected up to %v: %v", x, f, q, inside, p)
				}
				lower := slices.Clone(p)
				lower[f] = slices.Clone(tests)
				lower[f][i] = min(x, got.Limit[f]*(1-1e-9))
				if again := stats.BenjaminiBogomolov(lower, alpha); again.Q[f][i] > alpha {
					rt.Fatalf("p %v of family %d at its limit %v: q %v: %v", x, f, got.Limit[f], again.Q[f][i], p)
				}
			}
			alone, bh := stats.BenjaminiBogomolov([][]float64{nil, tests}, alpha).Q[1], stats.BenjaminiHochberg(tests)
			if !slices.EqualFunc(alone, bh, func(a, b float64) bool { return math.Abs(a-b) <= 1e-13 }) {
				rt.Fatalf("alone: %v, want %v", alone, bh)
			}
		}
	})
}

// A q that is α in exact arithmetic is α: 40 tests and the first at .0025, and all
// other sizes whose products miss .1 by a last bit.
func TestBenjaminiBogomolovAtTheLimit(t *testing.T) {
	missed := 0
	for n := 2; n < 400; n++ {
		p := slices.Repeat([]float64{1}, n)
		p[0] = .1 / float64(n)
		if got := stats.BenjaminiBogomolov([][]float64{p}, .1); got.Q[0][0] != .1 || got.Selected != 1 {
			t.Errorf("%d tests: q %v, %d selected", n, got.Q[0][0], got.Selected)
		}
		if float64(n)*p[0] > .1 {
			missed++
		}
	}
	if missed == 0 {
		t.Error("no product misses .1: no test")
	}
}

// TestQValues: tests that were not made leave the others as they are.
func TestQValues(t *testing.T) {
	nan := math.NaN()
	got := stats.QValues([]float64{nan, .04, nan, .01, .3, nan})
	want := stats.BenjaminiHochberg([]float64{.04, .01, .3})
	allNear(t, "q", []float64{got[1], got[3], got[4]}, want, 0)
	if !math.IsNaN(got[0]) || !math.IsNaN(got[2]) || !math.IsNaN(got[5]) || len(got) != 6 {
		t.Errorf("%v", got)
	}
}

func TestFDREdges(t *testing.T) {
	if got := stats.BenjaminiHochberg(nil); len(got) != 0 {
		t.Errorf("no tests gave %v", got)
	}
	if got := stats.BenjaminiBogomolov(nil, .1); got.Families != 0 || got.Selected != 0 || len(got.Q) != 0 {
		t.Errorf("no families gave %+v", got)
	}
	panics(t, "alpha 0", func() { stats.BenjaminiBogomolov(nil, 0) })
	panics(t, "p above 1", func() { stats.BenjaminiHochberg([]float64{.1, 1.1}) })
	panics(t, "NaN", func() { stats.Holm([]float64{math.NaN()}) })
}
