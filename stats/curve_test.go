package stats_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"sill/stats"
)

// TestFitCurveReplicates redoes every replicate one cluster at a time, in a table
// TestFitRates: rates that are sums over sums give the curve and replicates that
// FitCurve gives, and a node without an event has no say.
func TestFitRates(t *testing.T) {
	const bins, g = 8, 12
	r := rand.New(rand.NewPCG(6, 1))
	x, n, y := make([]float64, bins), make([][]float64, bins), make([][]float64, bins)
	for b := range n {
		x[b], n[b], y[b] = float64(b)+.5*r.Float64(), make([]float64, g), make([]float64, g)
		for p := range g {
			n[b][p] = float64(r.IntN(3) * r.IntN(20))
			y[b][p] = math.Floor(n[b][p] * r.Float64())
		}
		n[b][b]++
	}
	rates := func(skip int) func(count []uint8, events, rate []float64) {
		return func(count []uint8, events, rate []float64) {
			for b := range n {
				events[b], rate[b] = 0, 0
				for p, m := range count {
					if b != skip {
						events[b] += float64(m) * n[b][p]
						rate[b] += float64(m) * y[b][p]
					}
				}
				rate[b] /= max(1, events[b])
			}
		}
	}
	w, grid := stats.DrawMultinomial(seed(9), g, 200), stats.LambdaGrid(2)
	tab := made(x, n, y)
	want, got := stats.FitCurve(tab, 1, w, grid), stats.FitRates(tab, 1, w, grid, rates(-1))
	if got.Lambda != want.Lambda || !slices.Equal(got.RepLambda, want.RepLambda) {
		t.Errorf("λ %v, want %v", got.Lambda, want.Lambda)
	}
	line := stats.Line{Value: .4}
	for _, pair := range [][2][]float64{{got.F, want.F}, {got.N, want.N}, {got.Rate, want.Rate}, {got.RepF, want.RepF}, {got.Against(line, 1, nil).T, want.Against(line, 1, nil).T}} {
		for i := range pair[1] {
			near(t, "as FitCurve", pair[0][i], pair[1][i], 1e-9)
		}
	}
	// the same where node 3 has no event in the curve and is not there at all
	less := stats.FitRates(tab, 1, w, grid, rates(3))
	y[3] = make([]float64, g)
	again := stats.FitRates(made(x, n, y), 1, w, grid, rates(3))
	for i := range less.F {
		if math.IsNaN(less.F[i]) || less.F[i] != again.F[i] {
			t.Errorf("node %d: %v, %v", i, less.F[i], again.F[i])
		}
	}
	if stats.FitRates(tab, 1, w, grid, func(_ []uint8, events, rate []float64) { clear(events); clear(rate); events[2] = 5 }) != nil {
		t.Error("a curve through one node of eight")
	}
}

// with bins that only one or two clusters hold.
func TestFitCurveReplicates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bins, g := rapid.IntRange(1, 9).Draw(t, "bins"), rapid.IntRange(2, 8).Draw(t, "clusters")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		n, y := make([][]float64, bins), make([][]float64, bins)
		x := make([]float64, bins)
		for b := range n {
			n[b], y[b] = make([]float64, g), make([]float64, g)
			x[b] = float64(b) + .8*r.Float64()
			for p := range g {
				if r.IntN(3) == 0 {
					n[b][p] = float64(1 + r.IntN(40))
					y[b][p] = .1 * math.Floor(n[b][p]*10*r.Float64()) // not whole
				}
			}
			n[b][r.IntN(g)]++
		}
		tab := made(x, n, y)
		w := stats.DrawMultinomial(seed(r.Uint64()), g, 300)
		grid := stats.LambdaGrid(2)
		c := stats.FitCurve(tab, 1, w, grid)
		s := stats.NewSmoother(x, grid)
		f, rate, weight := make([]float64, bins), make([]float64, bins), make([]float64, bins)
		raw := make([][]float64, bins)
		for k := range w.Replicates {
			positive, all, sum := 0, 0.0, 0.0
			for b := range bins {
				weight[b], rate[b] = 0, 0
				total := 0.0
				for p, m := range w.Row(k) {
					weight[b] += float64(m) * n[b][p]
					if n[b][p] > 0 {
						total += float64(m) * y[b][p]
					}
				}
				all += weight[b]
				sum += total
				if weight[b] > 0 {
					positive++
					rate[b] = total / weight[b]
					raw[b] = append(raw[b], rate[b])
				}
			}
			lambda, pooled := c.Lambda, c.Pooled
			copy(f, c.F)
			if all > 0 {
				pooled = sum / all
			}
			if positive >= min(2, bins) {
				lambda = s.Fit(rate, weight, f, c.Lambda)
			}
			if math.Abs(pooled-c.RepPooled[k]) > 1e-12 {
				t.Fatalf("replicate %d: pooled %g, want %g", k, c.RepPooled[k], pooled)
			}
			if lambda != c.RepLambda[k] {
				// Sums in another order may turn a tie.
				if d := s.Criterion(lambda, rate, weight) - s.Criterion(c.RepLambda[k], rate, weight); math.Abs(d) > 1e-6 {
					t.Fatalf("replicate %d: λ %g, want %g", k, c.RepLambda[k], lambda)
				}
				continue
			}
			for b := range bins {
				if math.Abs(f[b]-c.RepF[k*bins+b]) > 1e-8 {
					t.Fatalf("replicate %d bin %d: %g, want %g", k, b, c.RepF[k*bins+b], f[b])
				}
			}
		}
		for b := range bins {
			slices.Sort(raw[b])
			if len(raw[b]) == 0 {
				continue
			}
			lo, hi := stats.Quantile(raw[b], .025), stats.Quantile(raw[b], .975)
			if math.Abs(lo-c.BootLo[b]) > 1e-12 || math.Abs(hi-c.BootHi[b]) > 1e-12 {
				t.Fatalf("bin %d: percentile limits %g, %g; want %g, %g", b, c.BootLo[b], c.BootHi[b], lo, hi)
			}
		}
	})
}

func TestPercentile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(0, 3), 1, 60).Draw(t, "v")
		if rapid.Bool().Draw(t, "ties") {
			for i := range v {
				v[i] = math.Floor(v[i])
			}
		}
		q := rapid.Float64Range(0, 1).Draw(t, "q")
		sorted := slices.Clone(v)
		slices.Sort(sorted)
		if got, want := stats.Percentile(v, q), stats.Quantile(sorted, q); math.Abs(got-want) > 1e-12 {
			t.Fatalf("got %g, want %g", got, want)
		}
	})
}

// TestAgainst compares the band's variance with that of the replicates of D at
// the same points, and its points with the curve's.
func TestAgainst(t *testing.T) {
	d := monotone(60)
	tab := d.table(rand.New(rand.NewPCG(7, 8)))
	w := stats.DrawMultinomial(seed(2), 60, 500)
	c := stats.FitCurve(tab, 1, w, stats.LambdaGrid(2))
	line := stats.Line{Value: .2, Rep: make([]float64, 500)}
	for r := range line.Rep {
		line.Rep[r] = .2 + .5*(c.RepPooled[r]-c.Pooled) + .001*math.Sin(float64(r))
	}
	for _, l := range []stats.Line{line, {Value: .2}} {
		for _, sign := range []float64{1, -1} {
			b := c.Against(l, sign, nil)
			if len(b.X) != stats.Substeps*(tab.Bins()-1)+1 || b.DF != c.Geff-1 {
				t.Fatalf("%d points, %g degrees of freedom", len(b.X), b.DF)
			}
			for i := 0; i < len(b.X); i += 3 {
				near(t, "D", b.D[i], sign*(c.At(b.X[i])-.2), 1e-12)
				k := float64(c.Drawn) / float64(c.Drawn-1)
				relative(t, "se", b.SE[i], math.Sqrt(stat.Variance(b.RepAt(b.X[i]), nil)*k), 1e-9)
				near(t, "T", b.T[i], b.D[i]/b.SE[i], 1e-12)
			}
		}
	}
	if !math.IsNaN(c.At(c.X[0]-1)) || !math.IsNaN(c.RepAt(c.X[0] - 1)[0]) {
		t.Error("the curve is known outside its nodes")
	}
	near(t, "last node", c.At(c.X[len(c.X)-1]), c.F[len(c.F)-1], 0)
	panics(t, "another sign", func() { c.Against(line, 2, nil) })
	panics(t, "a line of other replicates", func() { c.Against(stats.Line{Rep: []float64{1}}, 1, nil) })

	level := c.Level(line, -1, nil)
	v := make([]float64, 500)
	for r := range v {
		v[r] = c.RepPooled[r] - line.Rep[r]
	}
	near(t, "level", level.D, .2-c.Pooled, 1e-15)
	relative(t, "level se", level.SE, math.Sqrt(stat.Variance(v, nil)*60/59), 1e-9)
	relative(t, "level limits", (level.Hi-level.Lo)/2/level.SE, stats.TQuantile(.975, c.Geff-1), 1e-9)
}

// TestOneCluster: a single cluster says nothing about the spread.
func TestOneCluster(t *testing.T) {
	tab := made([]float64{1, 2, 3, 4, 5}, [][]float64{{9}, {9}, {9}, {9}, {9}}, [][]float64{{9}, {8}, {5}, {1}, {0}})
	c := stats.FitCurve(tab, 1, stats.DrawMultinomial(seed(1), 1, 50), stats.LambdaGrid(2))
	b := c.Against(stats.Line{Value: .5}, 1, nil)
	for i := range b.T {
		if b.T[i] != 0 && !math.IsNaN(b.T[i]) {
			t.Fatalf("T = %g from one cluster", b.T[i])
		}
	}
	if e := b.Edges(); len(e.Confirmed) != 0 || len(b.Zones(e)) != 0 {
		t.Error("one cluster confirms an edge")
	}
	if l := c.Level(stats.Line{Value: .1}, 1, nil); l.Verdict != 0 {
		t.Error("one cluster lies above the line")
	}
	if s, _ := b.Throughout(); s != 0 {
		t.Error("one cluster always beats the line")
	}
}
