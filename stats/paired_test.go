package stats_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"sill/stats"
)

// TestPairedByHand: with very many clusters the variances are known, and the
// posterior of one cluster is that of a normal regression, here by matrices.
func TestPairedByHand(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	const stays, fresh = 4., .5
	var y, v [][2]float64
	for range 4000 {
		own := 2 * rng.NormFloat64()
		vi := [2]float64{.1 + rng.Float64(), .1 + rng.Float64()}
		y = append(y, [2]float64{
			10 + own + math.Sqrt(fresh)*rng.NormFloat64() + math.Sqrt(vi[0])*rng.NormFloat64(),
			11 + own + math.Sqrt(fresh)*rng.NormFloat64() + math.Sqrt(vi[1])*rng.NormFloat64()})
		v = append(v, vi)
	}
	m, err := stats.FitPaired(y, v)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean before", m.Before, 10, .12)
	near(t, "shift", m.Shift.Mean, 1, .06)
	near(t, "variance that stays", m.Stays, stays, .3)
	near(t, "variance that is new", m.New, fresh, .06)
	for _, c := range []struct{ y, v [2]float64 }{
		{[2]float64{14, 13}, [2]float64{.2, .2}}, {[2]float64{16, 12}, [2]float64{3, .01}}, {[2]float64{8, 11}, [2]float64{.01, 3}},
	} {
		got := m.Shrink(c.y, c.v)
		prior := mat.NewDense(2, 2, []float64{stays + fresh, stays, stays, stays + fresh})
		var total, gain, left mat.Dense
		total.Add(prior, mat.NewDense(2, 2, []float64{c.v[0], 0, 0, c.v[1]}))
		if err := total.Inverse(&total); err != nil {
			t.Fatal(err)
		}
		gain.Mul(prior, &total)
		left.Mul(&gain, prior)
		left.Sub(prior, &left)
		var post mat.VecDense
		post.MulVec(&gain, mat.NewVecDense(2, []float64{c.y[0] - 10, c.y[1] - 11}))
		near(t, "before", got.Before.Mean, 10+post.AtVec(0), .05)
		near(t, "after", got.After.Mean, 11+post.AtVec(1), .05)
		near(t, "change", got.Change.Mean, got.After.Mean-got.Before.Mean, 1e-9)
		near(t, "own", got.Own.Mean, post.AtVec(1)-post.AtVec(0), .06)
		near(t, "SD before", got.Before.SD, math.Sqrt(left.At(0, 0)), .03)
		near(t, "SD of change", got.Change.SD, math.Sqrt(left.At(0, 0)+left.At(1, 1)-2*left.At(0, 1)), .03)
		near(t, "SD of own", got.Own.SD, got.Change.SD, .02)
	}
}

// TestPairedRegression: where nothing changes, clusters picked because they did
// well before fall back after, by luck alone. The shrunk change of those picked is
// near 0 on average; the plain difference is not.
func TestPairedRegression(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	var plain, shrunk, covered, count float64
	for range 40 {
		var y, v, truth [][2]float64
		for range 150 {
			own := .05 * rng.NormFloat64()
			vi := [2]float64{.16 / (20 + 180*rng.Float64()), .16 / (20 + 180*rng.Float64())}
			y = append(y, [2]float64{own + math.Sqrt(vi[0])*rng.NormFloat64(), own + math.Sqrt(vi[1])*rng.NormFloat64()})
			v, truth = append(v, vi), append(truth, [2]float64{own, own})
		}
		m, err := stats.FitPaired(y, v)
		if err != nil {
			t.Fatal(err)
		}
		for i := range y {
			if y[i][0] < .06 {
				continue
			}
			s := m.Shrink(y[i], v[i])
			lo, hi := s.Change.Limits()
			if want := truth[i][1] - truth[i][0]; lo <= want && want <= hi {
				covered++
			}
			plain += y[i][1] - y[i][0]
			shrunk += s.Change.Mean
			count++
		}
	}
	t.Logf("%v picked: plain change %.4f, shrunk %.4f, coverage %.3f", count, plain/count, shrunk/count, covered/count)
	if plain/count > -.02 {
		t.Errorf("the plain change of those picked is %.4f: nothing to remove", plain/count)
	}
	if math.Abs(shrunk/count) > .006 {
		t.Errorf("the shrunk change of those picked is %.4f", shrunk/count)
	}
	if covered/count < .92 {
		t.Errorf("coverage %.3f among those picked", covered/count)
	}
}

func TestPairedEdges(t *testing.T) {
	if _, err := stats.FitPaired(make([][2]float64, 3), [][2]float64{{1, 1}, {1, 1}, {1, 1}}); !errors.Is(err, stats.ErrNoConvergence) {
		t.Errorf("three clusters: %v", err)
	}
	panics(t, "a variance of 0", func() { _, _ = stats.FitPaired(make([][2]float64, 1), [][2]float64{{0, 1}}) })
	panics(t, "lengths that differ", func() { _, _ = stats.FitPaired(make([][2]float64, 1), nil) })
	// all alike: nothing to tell them by, but no interval of no width
	same := [][2]float64{{1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}}
	m, err := stats.FitPaired(same, [][2]float64{{1, 1}, {1, 1}, {1, 1}, {1, 1}, {1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	if s := m.Shrink([2]float64{1, 1}, [2]float64{1, 1}); math.Abs(s.Change.Mean) > 1e-9 || !(s.Change.SD > .3) {
		t.Errorf("all alike: %+v", s)
	}
}
