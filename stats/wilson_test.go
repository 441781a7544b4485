package stats_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"sill/stats"
)

const z95 = 1.959963984540054

func TestWilsonVectors(t *testing.T) {
	var v struct {
		Conf  float64
		Cases []struct{ X, N, Lo, Hi float64 }
	}
	vector(t, "wilson", &v)
	if len(v.Cases) != 8 {
		t.Fatalf("%d cases, want 8", len(v.Cases))
	}
	z := distuv.UnitNormal.Quantile((1 + v.Conf) / 2)
	for _, c := range v.Cases {
		name := fmt.Sprintf("%v of %v", c.X, c.N)
		lo, hi := stats.Wilson(c.X, c.N, z)
		near(t, name+" lo", lo, c.Lo, 1e-12)
		near(t, name+" hi", hi, c.Hi, 1e-12)
	}
}

// The limits Newcombe 1998 (Stat Med 17:857, table I) prints, from memory.
func TestWilsonPrinted(t *testing.T) {
	for _, c := range []struct{ x, n, lo, hi float64 }{
		{81, 263, .2553, .3662}, {15, 148, .0624, .1605}, {0, 20, 0, .1611}, {1, 29, .0061, .1718},
	} {
		lo, hi := stats.Wilson(c.x, c.n, z95)
		near(t, "lo", lo, c.lo, 5.1e-5)
		near(t, "hi", hi, c.hi, 5.1e-5)
	}
}

func TestWilsonIsTheScoreTestInverted(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := float64(rapid.IntRange(1, 5000).Draw(rt, "n"))
		x := float64(rapid.IntRange(0, int(n)).Draw(rt, "x"))
		z := rapid.Float64Range(.1, 5).Draw(rt, "z")
		lo, hi := stats.Wilson(x, n, z)
		if !(lo >= 0 && lo <= x/n && x/n <= hi && hi <= 1) {
			rt.Fatalf("%v of %v: [%v, %v]", x, n, lo, hi)
		}
		for _, p := range []float64{lo, hi} {
			if p > 0 && p < 1 {
				if score := math.Abs(x/n-p) / math.Sqrt(p*(1-p)/n); math.Abs(score-z) > 1e-6*z {
					rt.Fatalf("at limit %v the score is %v, want %v", p, score, z)
				}
			}
		}
		mirrorLo, mirrorHi := stats.Wilson(n-x, n, z)
		if math.Abs(mirrorLo-(1-hi)) > 1e-12 || math.Abs(mirrorHi-(1-lo)) > 1e-12 {
			rt.Fatalf("failures of %v in %v are not the mirror image", x, n)
		}
	})
}

func TestWilsonDesign(t *testing.T) {
	lo, hi := stats.WilsonDesign(60, 200, 2, 1.96)
	wantLo, wantHi := stats.Wilson(30, 100, 1.96)
	near(t, "lo", lo, wantLo, 0)
	near(t, "hi", hi, wantHi, 0)
	lo, _ = stats.WilsonDesign(60, 200, .5, 1.96)
	wantLo, _ = stats.Wilson(60, 200, 1.96)
	near(t, "a design effect below 1", lo, wantLo, 0)
	_, hi = stats.WilsonDesign(200, 200, 7.3, 1.96)
	near(t, "no failure", hi, 1, 0)
}

func TestWilsonEdges(t *testing.T) {
	if lo, hi := stats.Wilson(0, 0, 2); lo != 0 || hi != 1 {
		t.Errorf("nothing seen: [%v, %v], want [0, 1]", lo, hi)
	}
	if lo, hi := stats.Wilson(3, 10, 0); math.Abs(lo-.3) > 1e-15 || math.Abs(hi-.3) > 1e-15 {
		t.Errorf("z = 0: [%v, %v], want the rate", lo, hi)
	}
	panics(t, "more successes than trials", func() { stats.Wilson(3, 2, 2) })
	panics(t, "NaN successes", func() { stats.Wilson(math.NaN(), 2, 2) })
	panics(t, "negative z", func() { stats.Wilson(1, 2, -1) })
	panics(t, "NaN design effect", func() { stats.WilsonDesign(1, 2, math.NaN(), 2) })
}
