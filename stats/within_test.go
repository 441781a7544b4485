package stats_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

type sleep struct {
	BalancedWithin float64 `json:"balanced_within"`
	Data           struct {
		Subject []int
		X, Y    []float64
	}
	Within, Between float64
	SEWithin        float64 `json:"se_within_cluster_HC0"`
	SEBetween       float64 `json:"se_between_cluster_HC0"`
	Cov             float64 `json:"cov_wb_HC0"`
}

func sleepStudy(t testing.TB) sleep {
	var v sleep
	vector(t, "within_between_sleepstudy", &v)
	if len(v.Data.Y) != 172 {
		t.Fatalf("%d rows, want 172", len(v.Data.Y))
	}
	return v
}

func TestWithinBetweenVectors(t *testing.T) {
	v := sleepStudy(t)
	s, err := stats.WithinBetween(v.Data.X, v.Data.Y, nil, v.Data.Subject)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "within", s.Within.Value, v.Within, 1e-12)
	near(t, "between", s.Between.Value, v.Between, 1e-12)
	near(t, "difference", s.Difference.Value, v.Within-v.Between, 1e-12)
	// The jackknife is another estimator than the sandwich, always the wider,
	// close where no cluster has leverage: all clusters share the spread of x
	// within, while three of them make up that of the means.
	if r := s.Within.SE / v.SEWithin; !(r > 1 && r < 1.1) {
		t.Errorf("jackknife over sandwich, within: %v", r)
	}
	if r := s.Between.SE / v.SEBetween; !(r > 1 && r < 3) {
		t.Errorf("jackknife over sandwich, between: %v", r)
	}
}

// Every delete-one slope must be the slope of the rows that remain, and rows put
// together must not change a thing.
func TestWithinBetweenJackknifeByRefitting(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.IntRange(4, 8).Draw(rt, "clusters")
		var x, y, w []float64
		var cluster []int
		for c := range g {
			for k := range rapid.IntRange(2, 5).Draw(rt, "rows") {
				x = append(x, float64(3*c%7)+float64(k)+rapid.Float64Range(0, .5).Draw(rt, "x"))
				y = append(y, rapid.Float64Range(-2, 2).Draw(rt, "y"))
				w = append(w, float64(rapid.IntRange(1, 9).Draw(rt, "w")))
				cluster = append(cluster, 100-c)
			}
		}
		s, err := stats.WithinBetween(x, y, w, cluster)
		if err != nil {
			rt.Fatal(err)
		}
		var withins, betweens, differences []float64
		for leave := range g {
			var lx, ly, lw []float64
			var lc []int
			for i, c := range cluster {
				if c != 100-leave {
					for range int(w[i]) { // one row per event
						lx, ly, lc, lw = append(lx, x[i]), append(ly, y[i]), append(lc, c), append(lw, 1)
					}
				}
			}
			part, err := stats.WithinBetween(lx, ly, lw, lc)
			if err != nil {
				rt.Skip() // three clusters left, and one of them needed
			}
			withins = append(withins, part.Within.Value)
			betweens = append(betweens, part.Between.Value)
			differences = append(differences, part.Difference.Value)
		}
		for _, c := range []struct {
			what      string
			got       stats.Slope
			deleteOne []float64
		}{{"within", s.Within, withins}, {"between", s.Between, betweens}, {"difference", s.Difference, differences}} {
			if want := math.Sqrt(stats.JackknifeVariance(c.deleteOne)); math.Abs(c.got.SE-want) > 1e-6*math.Max(1, want) {
				rt.Fatalf("%s: %v, want %v", c.what, c.got.SE, want)
			}
		}
	})
}

// Where within and between truly agree the test must reject at its level, and
// where they do not it must see that.
func TestWithinBetweenSizeAndPower(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	const sets, clusters = 1500, 40
	rejected := func(between float64, seed uint64) float64 {
		rng := rand.New(rand.NewPCG(seed, 7))
		count := 0.0
		for range sets {
			var x, y []float64
			var cluster []int
			for c := range clusters {
				mean, luck := rng.NormFloat64(), .3*rng.NormFloat64()
				for range 5 + rng.IntN(20) {
					d := rng.NormFloat64()
					x = append(x, mean+d)
					y = append(y, between*mean+.5*d+luck+rng.NormFloat64())
					cluster = append(cluster, c)
				}
			}
			s, err := stats.WithinBetween(x, y, nil, cluster)
			if err != nil {
				t.Fatal(err)
			}
			if s.Difference.P < .05 {
				count++
			}
		}
		return count / sets
	}
	size, power := rejected(.5, 1), rejected(.8, 2)
	t.Logf("size %.3f, power %.3f", size, power)
	// Monte Carlo error of the size: √(.05·.95/1500) = .0056.
	if size < .025 || size > .07 {
		t.Errorf("size %.3f at level .05", size)
	}
	if power < .7 {
		t.Errorf("power %.3f against a difference of .3", power)
	}
}

func TestWithinBetweenEdges(t *testing.T) {
	for what, c := range map[string]struct {
		x       []float64
		cluster []int
	}{
		"nothing":                    {},
		"two clusters":               {[]float64{1, 2, 3, 5}, []int{1, 1, 2, 2}},
		"no spread inside":           {[]float64{1, 1, 2, 2, 4, 4}, []int{1, 1, 2, 2, 3, 3}},
		"no spread between":          {[]float64{1, 2, 1, 2, 1, 2}, []int{1, 1, 2, 2, 3, 3}},
		"one cluster has all spread": {[]float64{1, 2, 5, 5, 7, 7}, []int{1, 1, 2, 2, 3, 3}},
	} {
		if _, err := stats.WithinBetween(c.x, make([]float64, len(c.x)), nil, c.cluster); !errors.Is(err, stats.ErrNoSpread) {
			t.Errorf("%s: %v", what, err)
		}
	}
	// Three clusters alike: two degrees of freedom, t = 4.303 in any table.
	x := []float64{1, 2, 3, 5, 2, 7}
	three, err := stats.WithinBetween(x, []float64{2, 1, 4, 4, 5, 9}, nil, []int{1, 1, 2, 2, 3, 3})
	if err != nil || math.Abs(three.DF-2) > 1e-12 || math.Abs((three.Within.Hi-three.Within.Value)/three.Within.SE-4.303) > 5e-4 {
		t.Errorf("three clusters alike: %+v, %v", three, err)
	}
	s, err := stats.WithinBetween(x, x, nil, []int{1, 1, 2, 2, 3, 3})
	if err != nil || s.Difference.P < .99 || math.Abs(s.Within.Value-1) > 1e-14 {
		t.Errorf("y = x: %+v, %v", s, err)
	}
	panics(t, "a negative weight", func() {
		_, _ = stats.WithinBetween([]float64{1}, []float64{1}, []float64{-1}, []int{1})
	})
}
