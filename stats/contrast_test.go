package stats_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

func TestMover(t *testing.T) {
	a, b := stats.Interval{Estimate: 93, Lo: 92, Hi: 95}, stats.Interval{Estimate: 90, Lo: 89.5, Hi: 90.3}
	d := stats.Mover(a, b, 0)
	near(t, "estimate", d.Estimate, 3, 0)
	near(t, "lo", d.Lo, 3-math.Hypot(1, .3), 1e-14)
	near(t, "hi", d.Hi, 3+math.Hypot(2, .5), 1e-14)
	d = stats.Mover(a, b, .5)
	near(t, "lo", d.Lo, 3-math.Sqrt(1-.3+.09), 1e-14)
	near(t, "hi", d.Hi, 3+math.Sqrt(4-1+.25), 1e-14)
	// Equal intervals that move together: no uncertainty is left.
	d = stats.Mover(a, a, 1)
	near(t, "lo", d.Lo, -1, 1e-7) // (e−l) against (u−e)
	near(t, "hi", d.Hi, 1, 1e-7)
	// Normal intervals give the normal one.
	a, b = stats.Interval{Estimate: 5, Lo: 5 - 1.96*3, Hi: 5 + 1.96*3}, stats.Interval{Estimate: 1, Lo: 1 - 1.96*4, Hi: 1 + 1.96*4}
	d = stats.Mover(a, b, 0)
	near(t, "hi", d.Hi, 4+1.96*5, 1e-12)
	a.Lo = math.Inf(-1)
	if d := stats.Mover(a, b, .3); !math.IsInf(d.Lo, -1) || math.IsInf(d.Hi, 0) {
		t.Errorf("an open limit: %+v", d)
	}
}

// jointly gives two bands three replicates each: of a moved by shifts, of b by as
// many.
func jointly(a, b *stats.Band, sa, sb [3]float64) {
	for i, x := range []*stats.Band{a, b} {
		x.Curve.Replicates, x.Curve.RepF = 3, nil
		for _, shift := range [][3]float64{sa, sb}[i] {
			for _, f := range x.Curve.F {
				x.Curve.RepF = append(x.Curve.RepF, f+shift)
			}
		}
	}
}

func TestEdgeContrast(t *testing.T) {
	a, b := band(.2, -3, -2, -1, 0, 1, 2, 3), band(.1, 6, 4, 2, 0, -2, -4, -6)
	jointly(a, b, [3]float64{.1, -.1, .3}, [3]float64{.1, -.2, .1})
	ea, eb := a.Edges().Confirmed[0], b.Edges().Confirmed[0]
	d, rho := stats.EdgeContrast(a, b, ea, eb)
	near(t, "one rises, one falls", rho, -stats.Correlation([]float64{.1, -.1, .3}, []float64{.1, -.2, .1}), 1e-12)
	want := stats.Mover(stats.Interval{Estimate: ea.X, Lo: ea.Lo, Hi: ea.Hi}, stats.Interval{Estimate: eb.X, Lo: eb.Lo, Hi: eb.Hi}, rho)
	near(t, "estimate", d.Estimate, 0, 1e-12)
	near(t, "lo", d.Lo, want.Lo, 1e-4)
	near(t, "hi", d.Hi, want.Hi, 1e-4)

	// An open limit.
	ea.Hi = math.Inf(1)
	if d, _ := stats.EdgeContrast(a, b, ea, eb); !math.IsInf(d.Hi, 1) || math.IsInf(d.Lo, 0) {
		t.Errorf("an open limit: %+v", d)
	}
}

func pair(r *rand.Rand, shift float64, replicates int) (a, b *stats.Curve) {
	d := monotone(60)
	d.chance = func(x float64) float64 { return -1.27 + .1*x }
	ta := d.table(r)
	d.chance = func(x float64) float64 { return -1.27 + shift + .1*x }
	tb := d.table(r)
	grid := stats.LambdaGrid(1)
	return stats.FitCurve(ta, 1, stats.DrawMultinomial(seed(r.Uint64()), 60, replicates), grid),
		stats.FitCurve(tb, 1, stats.DrawMultinomial(seed(r.Uint64()), 60, replicates), grid)
}

// overlap returns the points at which two curves are compared: the ends of the
// range that both cover and every node of either inside it, ascending; nil where
// they do not overlap.
func overlap(a, b *stats.Curve) []float64 {
	lo, hi := max(a.X[0], b.X[0]), min(a.X[len(a.X)-1], b.X[len(b.X)-1])
	if !(lo <= hi) {
		return nil
	}
	x := []float64{lo, hi}
	for _, nodes := range [][]float64{a.X, b.X} {
		for _, v := range nodes {
			if v > lo && v < hi {
				x = append(x, v)
			}
		}
	}
	slices.Sort(x)
	return slices.Compact(x)
}

func TestContrastLevels(t *testing.T) {
	a, b := pair(rand.New(rand.NewPCG(1, 1)), .6, 400)
	x := overlap(a, b)
	for i := range x {
		if i > 0 && !(x[i] > x[i-1]) || x[i] < max(a.X[0], b.X[0]) {
			t.Fatalf("overlap %v", x)
		}
	}
	c := stats.ContrastLevels(a, b, x, -1, nil, nil)
	for i, at := range x {
		near(t, "D", c.D[i], b.At(at)-a.At(at), 1e-15)
		ra, rb := a.RepAt(at), b.RepAt(at)
		for r := range ra {
			ra[r] -= rb[r]
		}
		relative(t, "se", c.SE[i], math.Sqrt(stat.Variance(ra, nil)*60/59), 1e-9)
		near(t, "hi", c.Hi[i], c.D[i]+stats.TQuantile(.975, c.DF)*c.SE[i], 1e-12)
		if c.Lo[i] < -c.Within-1e-12 || c.Hi[i] > c.Within+1e-12 {
			t.Errorf("interval %g to %g is not within %g", c.Lo[i], c.Hi[i], c.Within)
		}
	}
	if c.P > .05 {
		t.Errorf("a shift of .6 logits: p = %g", c.P)
	}
	if same := stats.ContrastLevels(a, a, x, 1, nil, nil); same.P != 1 || same.MaxAbs != 0 {
		t.Errorf("a curve less itself: %+v", same)
	}
	if overlap(&stats.Curve{X: []float64{1, 2}}, &stats.Curve{X: []float64{3, 4}}) != nil {
		t.Error("curves apart overlap")
	}
	if got := overlap(&stats.Curve{X: []float64{1, 2}}, &stats.Curve{X: []float64{2, 4}}); len(got) != 1 {
		t.Errorf("curves that touch: %v", got)
	}
}

// TestContrastSize: the max-|t| p of equal curves is no smaller than it should
// be, and the pointwise limits hold the difference. Bars: .925–.98 pointwise.
func TestContrastSize(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	r := rand.New(rand.NewPCG(8, 8))
	const sets = 250
	hits, inside, points := 0, 0, 0
	for range sets {
		a, b := pair(r, 0, 150)
		lo, hi := max(a.X[0], b.X[0])+1, min(a.X[len(a.X)-1], b.X[len(b.X)-1])-1
		x := []float64{lo, (lo + hi) / 2, hi}
		c := stats.ContrastLevels(a, b, overlap(a, b), 1, nil, nil)
		if c.P <= .05 {
			hits++
		}
		c = stats.ContrastLevels(a, b, x, 1, nil, nil)
		for i := range x {
			points++
			if c.Lo[i] <= 0 && 0 <= c.Hi[i] {
				inside++
			}
		}
	}
	size, cover := float64(hits)/sets, float64(inside)/float64(points)
	t.Logf("size %.3f, pointwise coverage %.3f", size, cover)
	slack := 3 * math.Sqrt(.05*.95/sets)
	if size > .06+slack || cover < .925-slack || cover > .98+slack {
		t.Errorf("size %.3f, pointwise coverage %.3f", size, cover)
	}
}

// TestIntervalP: p is .05 where the interval ends at 0, whatever the other side,
// and grows as the interval takes 0 in.
func TestIntervalP(t *testing.T) {
	for _, c := range []struct {
		i    stats.Interval
		df   float64
		want float64
	}{
		{stats.Interval{Estimate: 2, Lo: 0, Hi: 9}, 7, .05},
		{stats.Interval{Estimate: -2, Lo: -3, Hi: 0}, 30, .05},
		{stats.Interval{Estimate: 2, Lo: 0, Hi: math.Inf(1)}, 7, .05},
		{stats.Interval{Estimate: 0, Lo: -1, Hi: 1}, 7, 1},
		{stats.Interval{Estimate: 2, Lo: math.Inf(-1), Hi: 3}, 7, math.NaN()},
		// 2·(1 − Φ(1.959964 / 2)), R's pnorm (from memory of the normal table: .3271)
		{stats.Interval{Estimate: 1, Lo: -1, Hi: 3}, 1e9, .3271},
	} {
		got := c.i.P(c.df)
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 5e-5 {
			t.Errorf("p of %+v is %g, want %g", c.i, got, c.want)
		}
	}
}
