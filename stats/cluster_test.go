package stats_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

// deleteOne returns the ratio ΣY/Σn with each cluster left out in turn.
func deleteOne(y, n []float64) []float64 {
	sumY, sumN := 0.0, 0.0
	for p := range y {
		sumY += y[p]
		sumN += n[p]
	}
	out := make([]float64, len(y))
	for p := range y {
		out[p] = (sumY - y[p]) / (sumN - n[p])
	}
	return out
}

// Real schools in clusters, against the R package survey.
func TestRatioVectors(t *testing.T) {
	var v struct {
		Y, N              []float64
		Ratio, Geff       float64
		JK1               float64 `json:"se_survey_JK1"`
		JackAboutMean     float64 `json:"se_formula_jack_about_mean"`
		JackAboutEstimate float64 `json:"se_formula_jack_about_estimate"`
	}
	vector(t, "cluster_ratio_api", &v)
	if len(v.Y) != 15 {
		t.Fatalf("%d clusters, want 15", len(v.Y))
	}
	near(t, "jackknife about the estimate", math.Sqrt(stats.JackknifeRatio(v.Y, v.N)), v.JackAboutEstimate, 1e-13)
	aboutMean := math.Sqrt(stats.JackknifeVariance(deleteOne(v.Y, v.N)))
	near(t, "jackknife about the mean", aboutMean, v.JackAboutMean, 1e-13)
	near(t, "JK1", aboutMean, v.JK1, 1e-13)
	near(t, "effective number", stats.EffectiveNumber(v.N), v.Geff, 1e-13)
}

// Counts in clusters, against the R packages survey and lme4's data.
func TestClusterBinomialVectors(t *testing.T) {
	var v struct {
		X, N     []float64
		JK1      float64                               `json:"se_JK1"`
		ML       struct{ Alpha, Beta, LogLik float64 } `json:"beta_binomial_ml"`
		Shrunken []float64
	}
	vector(t, "cluster_binomial_cbpp", &v)
	near(t, "JK1", math.Sqrt(stats.JackknifeVariance(deleteOne(v.X, v.N))), v.JK1, 1e-13)
	fit, err := stats.FitBetaBinomial(whole(v.X), whole(v.N))
	if err != nil {
		t.Fatal(err)
	}
	// R's optim stops at a relative change of 1e-14 in the likelihood, which
	// leaves the parameters some seven digits.
	near(t, "alpha", fit.Mu*fit.M, v.ML.Alpha, 1e-6)
	near(t, "beta", (1-fit.Mu)*fit.M, v.ML.Beta, 1e-6)
	near(t, "log likelihood", fit.LogLik, v.ML.LogLik, 1e-12)
	for i := range v.X {
		near(t, "shrunk rate", shrunk(fit, v.X[i], v.N[i]), v.Shrunken[i], 1e-7)
	}
}

func whole(x []float64) []int {
	out := make([]int, len(x))
	for i, v := range x {
		out[i] = int(v)
	}
	return out
}

func TestRatioProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.IntRange(2, 30).Draw(rt, "clusters")
		n, y := make([]float64, g), make([]float64, g)
		for p := range n {
			n[p] = float64(rapid.IntRange(0, 300).Draw(rt, "n"))
			y[p] = float64(rapid.IntRange(0, int(n[p])).Draw(rt, "y"))
		}
		n[0], n[1] = n[0]+1, n[1]+1
		ratio := (func() float64 {
			var sy, sn float64
			for p := range n {
				sy, sn = sy+y[p], sn+n[p]
			}
			return sy / sn
		})()
		// The influence is the estimate minus its delete-one value.
		for p, v := range deleteOne(y, n) {
			if got := stats.RatioInfluence(y, n)[p]; math.Abs(got-(ratio-v)) > 1e-12 {
				rt.Fatalf("influence %v, want %v", got, ratio-v)
			}
		}
		// A cluster without events changes nothing.
		yy, nn := append(y[:g:g], 0), append(n[:g:g], 0)
		if stats.JackknifeRatio(yy, nn) != stats.JackknifeRatio(y, n) {
			rt.Fatal("an empty cluster changed a variance")
		}
		if e := stats.EffectiveNumber(n); !(e >= 1-1e-12 && e <= float64(g)+1e-9) {
			rt.Fatalf("effective number %v of %d", e, g)
		}
		// A difference of a thing with itself is 0 without error; against an
		// unrelated side variances add up.
		if d, v := stats.DifferenceOfRatios(y, n, y, n); d != 0 || v != 0 {
			rt.Fatalf("the same on both sides: %v ± %v", d, math.Sqrt(v))
		}
		none := make([]float64, g)
		apartYA, apartNA := append(y[:g:g], none...), append(n[:g:g], none...)
		apartYB, apartNB := append(none[:g:g], y...), append(none[:g:g], n...)
		_, v := stats.DifferenceOfRatios(apartYA, apartNA, apartYB, apartNB)
		live := 0.0
		for p := range n {
			if n[p] > 0 {
				live++
			}
		}
		want := 2 * stats.JackknifeRatio(y, n) / ((live - 1) / live) * ((2*live - 1) / (2 * live))
		if math.Abs(v-want) > 1e-12 {
			rt.Fatalf("separate clusters: %v, want %v", v, want)
		}
	})
}

func TestRatioEdges(t *testing.T) {
	inf := math.Inf(1)
	y, n := []float64{3, 0}, []float64{9, 0}
	if v := stats.JackknifeRatio(y, n); v != inf {
		t.Errorf("one cluster: jackknife %v", v)
	}
	if v := stats.DesignEffect(y, n); v != inf {
		t.Errorf("one cluster: design effect %v", v)
	}
	if _, v := stats.DifferenceOfRatios(y, n, []float64{1, 1}, []float64{4, 4}); v != inf {
		t.Errorf("one cluster on a side: %v", v)
	}
	if v := stats.DesignEffect([]float64{0, 0}, []float64{5, 9}); v != 1 {
		t.Errorf("no success: design effect %v", v)
	}
	if v := stats.EffectiveNumber(nil); v != 0 {
		t.Errorf("nothing seen: %v", v)
	}
	panics(t, "successes without trials", func() { stats.JackknifeRatio([]float64{1, 1}, []float64{0, 2}) })
	panics(t, "lengths", func() { stats.JackknifeRatio([]float64{1}, []float64{1, 2}) })
}

// Equal clusters with rates of 0 and 1: deff is the cluster size times G/(G−1)²
// …computed by hand: r = ½, ψ = ±½·n/(N−n), Σψ² = G/4·(1/(G−1))², over ¼/N.
func TestDesignEffectByHand(t *testing.T) {
	y, n := []float64{10, 0, 10, 0}, []float64{10, 10, 10, 10}
	near(t, "deff", stats.DesignEffect(y, n), 4*40.0/9, 1e-13)
}
