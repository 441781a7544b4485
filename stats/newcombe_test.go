package stats_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

const z95 = 1.959963984540054

func TestNewcombeVectors(t *testing.T) {
	var v struct {
		Cases []struct{ X1, N1, X2, N2, Diff, Lo, Hi float64 }
	}
	vector(t, "newcombe_difference", &v)
	if len(v.Cases) != 5 {
		t.Fatalf("%d cases, want 5", len(v.Cases))
	}
	for _, c := range v.Cases {
		d, lo, hi := stats.Newcombe(c.X1, c.N1, c.X2, c.N2, z95)
		near(t, "difference", d, c.Diff, 1e-12)
		near(t, "lo", lo, c.Lo, 1e-12)
		near(t, "hi", hi, c.Hi, 1e-12)
	}
}

func TestNewcombeProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n1 := rapid.IntRange(1, 500).Draw(rt, "n1")
		n2 := rapid.IntRange(1, 500).Draw(rt, "n2")
		x1 := float64(rapid.IntRange(0, n1).Draw(rt, "x1"))
		x2 := float64(rapid.IntRange(0, n2).Draw(rt, "x2"))
		deff := rapid.Float64Range(1, 9).Draw(rt, "deff")
		d, lo, hi := stats.NewcombeDesign(x1, float64(n1), deff, x2, float64(n2), 1, z95)
		if !(-1 <= lo && lo <= d && d <= hi && hi <= 1) {
			rt.Fatalf("[%v, %v, %v]", lo, d, hi)
		}
		swapped, sLo, sHi := stats.NewcombeDesign(x2, float64(n2), 1, x1, float64(n1), deff, z95)
		if swapped != -d || math.Abs(sLo+hi) > 1e-15 || math.Abs(sHi+lo) > 1e-15 {
			rt.Fatal("exchanging the sides does not turn the interval over")
		}
		// A wider design effect pulls the Wilson centre to ½, so one limit may
		// move inwards, but never both.
		_, lo1, hi1 := stats.Newcombe(x1, float64(n1), x2, float64(n2), z95)
		if hi-lo < hi1-lo1-1e-12 {
			rt.Fatalf("design effect %v narrows %v to %v", deff, hi1-lo1, hi-lo)
		}
	})
	panics(t, "an empty side", func() { stats.Newcombe(0, 0, 1, 2, 2) })
}
