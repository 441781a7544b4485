package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

// TestFlipsByHand redoes the whole test for few clusters: scores, statistics,
// every sign vector and all ranks, with nothing shared.
func TestFlipsByHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bins, g := rapid.IntRange(2, 7).Draw(t, "bins"), rapid.IntRange(1, 8).Draw(t, "clusters")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		n, y := make([][]float64, bins), make([][]float64, bins)
		x := make([]float64, bins)
		var all, sum float64
		for b := range n {
			n[b], y[b], x[b] = make([]float64, g), make([]float64, g), float64(b)
			for p := range g {
				n[b][p] = float64(r.IntN(30))
				y[b][p] = math.Floor(n[b][p] * r.Float64())
			}
			n[b][0]++
			for p := range g {
				all += n[b][p]
				sum += y[b][p]
			}
		}
		rate := sum / all
		// Cut columns.
		var columns [][]float64
		below := 0.0
		for b := range bins - 1 {
			for _, v := range n[b] {
				below += v
			}
			if share := below / all; share >= .05 && share <= .95 {
				c := make([]float64, g)
				for p := range g {
					for k := range bins {
						v := y[k][p] - rate*n[k][p]
						c[p] -= (1 - share) * v
						if k > b {
							c[p] += v
						}
					}
				}
				columns = append(columns, c)
			}
		}
		largest := func(sign int) float64 {
			out := 0.0
			for _, c := range columns {
				s, v := 0.0, 0.0
				for p := range c {
					v += c[p] * c[p]
					if sign>>p&1 == 1 {
						s += c[p]
					} else {
						s -= c[p]
					}
				}
				if v > 1e-15 {
					out = max(out, s*s/v)
				}
			}
			return out
		}
		got := stats.NewFlipTest(made(x, n, y), seed(1)).Run(9999)
		if least := min(got.PShape, got.PCut); got.P < least-1e-12 || got.P > 2*least+1e-12 {
			t.Fatalf("the combined p is not between the better of two and twice it: %+v", got)
		}
		own := largest(1<<g - 1)
		if math.Abs(own-got.Cut) > 1e-9*max(1, own) {
			t.Fatalf("cut %g, want %g", got.Cut, own)
		}
		hits := 0
		for s := range 1 << g {
			if largest(s) >= own-1e-9*max(1, own) {
				hits++
			}
		}
		if want := float64(hits) / float64(int(1)<<g); math.Abs(got.PCut-want) > 1e-12 {
			t.Fatalf("p of the cut %g, want %g", got.PCut, want)
		}
	})
}

// TestFlipsCombine checks the combined p against ranks over all flips, ties and
// all, on exact enumerations.
func TestFlipsCombine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.IntRange(1, 8).Draw(t, "clusters")
		draw := func(name string) []float64 {
			c := make([]float64, g)
			for i := range c {
				c[i] = float64(rapid.IntRange(-3, 3).Draw(t, name)) // many ties
			}
			return c
		}
		shape, cut := draw("shape"), draw("cut")
		got := stats.NewFlipTestOf([][]float64{shape}, [][]float64{cut}, g, seed(1)).Run(9999)
		statistic := func(c []float64, sign int) int {
			s := 0
			for i, v := range c {
				if sign>>i&1 == 1 {
					s += int(v)
				} else {
					s -= int(v)
				}
			}
			return s * s
		}
		total := 1 << g
		p := func(c []float64, sign int) int { // number of flips as large
			k := 0
			for s := range total {
				if statistic(c, s) >= statistic(c, sign) {
					k++
				}
			}
			return k
		}
		own := total - 1
		least := min(p(shape, own), p(cut, own))
		hits := 0
		for s := range total {
			if min(p(shape, s), p(cut, s)) <= least {
				hits++
			}
		}
		for what, c := range map[string]struct {
			got  float64
			want int
		}{"shape": {got.PShape, p(shape, own)}, "cut": {got.PCut, p(cut, own)}, "combined": {got.P, hits}} {
			if math.Abs(c.got-float64(c.want)/float64(total)) > 1e-12 {
				t.Fatalf("%s: p = %g, want %d of %d", what, c.got, c.want, total)
			}
		}
	})
}

// TestFlipsCarryOn: a longer run begins with the flips of a shorter one, and a
// split run equals a whole one.
func TestFlipsCarryOn(t *testing.T) {
	d := monotone(70)
	d.chance = func(x float64) float64 { return -1.27 + .02*x }
	tab := d.table(rand.New(rand.NewPCG(1, 5)))
	a, b := stats.NewFlipTest(tab, seed(9)), stats.NewFlipTest(tab, seed(9))
	first := a.Run(999)
	long := a.Run(40_000)
	if again := a.Run(999); again != first {
		t.Errorf("the first 999 changed: %+v, %+v", first, again)
	}
	if whole := b.Run(40_000); whole != long {
		t.Errorf("split %+v, whole %+v", long, whole)
	}
	if first.Flips != 999 || long.Flips != 40_000 || first.Exact {
		t.Errorf("%+v %+v", first, long)
	}
	// Monte Carlo error of the estimate: three standard errors.
	if se := math.Sqrt(long.PShape*(1-long.PShape)/999) + 1e-3; math.Abs(first.PShape-long.PShape) > 3*se {
		t.Errorf("p %g of 999, %g of 40,000", first.PShape, long.PShape)
	}
	if other := stats.NewFlipTest(tab, seed(8)).Run(999); other == first {
		t.Error("another seed gave the same flips")
	}
	// 14 clusters: random at first, exact once that is no more work.
	small := smallTable(t)
	f := stats.NewFlipTest(small, seed(1))
	rough, exact := f.Run(9999), f.Run(99_999)
	if rough.Exact || !exact.Exact || math.Abs(rough.P-exact.P) > .01 {
		t.Errorf("random %+v, exact %+v", rough, exact)
	}
	panics(t, "no flips", func() { f.Run(0) })
}

func TestFlipsEdges(t *testing.T) {
	// Every cluster has exactly the pooled rate in every bin: all scores are 0.
	flat := made([]float64{1, 2, 3}, [][]float64{{10, 20}, {30, 10}, {10, 10}}, [][]float64{{3, 6}, {9, 3}, {3, 3}})
	if p := stats.NewFlipTest(flat, seed(1)).Run(999); p.P != 1 || p.PShape != 1 || p.PCut != 1 {
		t.Errorf("no score: %+v", p)
	}
	one := made([]float64{1}, [][]float64{{10, 20}}, [][]float64{{3, 9}})
	if p := stats.NewFlipTest(one, seed(1)).Run(999); p.P != 1 {
		t.Errorf("one bin: %+v", p)
	}
	single := made([]float64{1, 2}, [][]float64{{10}, {10}}, [][]float64{{1}, {9}})
	if p := stats.NewFlipTest(single, seed(1)).Run(999); p.P != 1 || !p.Exact {
		t.Errorf("one cluster: %+v", p)
	}
	for _, c := range []struct {
		tests, want int
	}{{1, 9_999}, {500, 9_999}, {501, 99_999}, {5_000, 99_999}, {5_001, 999_999}, {1_000_000, 999_999}} {
		if got := stats.EnoughFlips(c.tests, .10); got != c.want {
			t.Errorf("%d tests need %d flips, want %d", c.tests, got, c.want)
		}
	}
}

// TestFlipsFindAStrongCellAmongNulls: one strong cell survives Benjamini–Hochberg
// among 5,000 tests only if it is carried on to enough flips.
func TestFlipsFindAStrongCellAmongNulls(t *testing.T) {
	d := monotone(80)
	d.chance = func(x float64) float64 { return -1.2 + .35*x }
	f := stats.NewFlipTest(d.table(rand.New(rand.NewPCG(3, 3))), seed(1))
	p := make([]float64, 5000)
	for i := range p {
		p[i] = (float64(i) + .5) / 5000
	}
	p[0] = f.Run(9_999).P
	if p[0] > .005 {
		t.Fatalf("the strong cell is not strong: %g", p[0])
	}
	if q := stats.BenjaminiHochberg(p)[0]; q <= .10 {
		t.Errorf("9,999 flips were enough: q = %g", q)
	}
	p[0] = f.Run(stats.EnoughFlips(5000, .10)).P
	if q := stats.BenjaminiHochberg(p)[0]; q > .10 {
		t.Errorf("q = %g at %g", q, p[0])
	}
}

// TestFlipSize: p is no smaller than it should be on flat curves, with talent
// that differs between clusters. Bar: size .065 at .05 over ≥ 1,000 sets.
func TestFlipSize(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	d := monotone(60)
	d.chance = func(float64) float64 { return -1.27 }
	r := rand.New(rand.NewPCG(11, 12))
	const sets = 500
	hits := 0
	for range sets {
		if stats.NewFlipTest(d.table(r), seed(r.Uint64())).Run(399).P <= .05 {
			hits++
		}
	}
	// .065 and three binomial standard errors.
	if size := float64(hits) / sets; size > .065+3*math.Sqrt(.05*.95/sets) || size < .02 {
		t.Errorf("size %.3f", size)
	}
}
