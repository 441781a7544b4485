package stats_test

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"sill/stats"
)

// Real schools in clusters, against the R package survey.
func TestRatioVectors(t *testing.T) {
	var v struct {
		Y, N                []float64
		Ratio, Geff         float64
		Linearised          float64 `json:"se_survey_linearised"`
		JK1                 float64 `json:"se_survey_JK1"`
		JackAboutMean       float64 `json:"se_formula_jack_about_mean"`
		JackAboutEstimate   float64 `json:"se_formula_jack_about_estimate"`
		LinearisedByFormula float64 `json:"se_formula_linearised"`
	}
	vector(t, "cluster_ratio_api", &v)
	if len(v.Y) != 15 {
		t.Fatalf("%d clusters, want 15", len(v.Y))
	}
	near(t, "linearised", math.Sqrt(stats.LinearisedRatio(v.Y, v.N)), v.Linearised, 1e-13)
	near(t, "linearised by formula", math.Sqrt(stats.LinearisedRatio(v.Y, v.N)), v.LinearisedByFormula, 1e-13)
	near(t, "jackknife about the estimate", math.Sqrt(stats.JackknifeRatio(v.Y, v.N)), v.JackAboutEstimate, 1e-13)
	aboutMean := math.Sqrt(stats.JackknifeVariance(stats.DeleteOne(v.Y, v.N)))
	near(t, "jackknife about the mean", aboutMean, v.JackAboutMean, 1e-13)
	near(t, "JK1", aboutMean, v.JK1, 1e-13)
	near(t, "effective number", stats.EffectiveNumber(v.N), v.Geff, 1e-13)
}

// Counts in clusters, against the R packages survey and lme4's data.
func TestClusterBinomialVectors(t *testing.T) {
	var v struct {
		X, N       []float64
		Linearised float64                               `json:"se_linearised"`
		JK1        float64                               `json:"se_JK1"`
		ML         struct{ Alpha, Beta, LogLik float64 } `json:"beta_binomial_ml"`
		Shrunken   []float64
	}
	vector(t, "cluster_binomial_cbpp", &v)
	near(t, "linearised", math.Sqrt(stats.LinearisedRatio(v.X, v.N)), v.Linearised, 1e-13)
	near(t, "JK1", math.Sqrt(stats.JackknifeVariance(stats.DeleteOne(v.X, v.N))), v.JK1, 1e-13)
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
		near(t, "shrunk rate", fit.Shrink(v.X[i], v.N[i]), v.Shrunken[i], 1e-7)
	}
}

func whole(x []float64) []int {
	out := make([]int, len(x))
	for i, v := range x {
		out[i] = int(v)
	}
	return out
}

// The clustered variance of a slope on the rows of sleepstudy, against the R
// package sandwich (HC0, no adjustment for the number of clusters).
func TestClusterOLSVectors(t *testing.T) {
	v := sleepStudy(t)
	means, count := map[int]float64{}, map[int]float64{}
	for i, s := range v.Data.Subject {
		means[s] += v.Data.X[i]
		count[s]++
	}
	x := mat.NewDense(len(v.Data.X), 3, nil)
	for i, s := range v.Data.Subject {
		mean := means[s] / count[s]
		x.SetRow(i, []float64{1, v.Data.X[i] - mean, mean})
	}
	fit, err := stats.ClusterOLS(x, v.Data.Y, v.Data.Subject)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "within", fit.Coef[1], v.Within, 1e-12)
	near(t, "between", fit.Coef[2], v.Between, 1e-12)
	near(t, "se within", math.Sqrt(fit.Cov.At(1, 1)), v.SEWithin, 1e-11)
	near(t, "se between", math.Sqrt(fit.Cov.At(2, 2)), v.SEBetween, 1e-11)
	near(t, "covariance", fit.Cov.At(1, 2), v.Cov, 1e-11)
}

// The data of Petersen 2009 are not in the tree; what is pinned is the ratio of
// the two standard errors R prints for them: 5,000 rows, 500 firms, 2 columns.
func TestSmallSampleFactor(t *testing.T) {
	var v struct {
		HC1 []float64 `json:"se_firm_HC1"`
		HC0 []float64 `json:"se_firm_HC0_cadjustF"`
	}
	vector(t, "cluster_ols_petersen_summary", &v)
	r := stats.Regression{Rows: 5000, Columns: 2, Clusters: 500, Cov: mat.NewSymDense(2, nil)}
	for j := range v.HC0 {
		r.Cov.SetSym(j, j, v.HC0[j]*v.HC0[j])
		near(t, "HC1", r.SE(j), v.HC1[j], 1e-13)
	}
	near(t, "printed in the paper, from memory", r.SE(1), .0506, 5.1e-5)
}

// With clusters of one row each, Cov is White's estimator, computed here by its
// textbook formula for a single regressor (Wooldridge 2010, section 4.2, from
// memory): Σ(x−x̄)²e² / (Σ(x−x̄)²)².
func TestClusterOLSIsWhiteForSingleRows(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(rt, "n")
		xs := rapid.SliceOfN(rapid.Float64Range(-5, 5), n, n).Draw(rt, "x")
		ys := rapid.SliceOfN(rapid.Float64Range(-5, 5), n, n).Draw(rt, "y")
		mean, variance := stat.MeanVariance(xs, nil)
		if variance < .01 {
			rt.Skip()
		}
		design := mat.NewDense(n, 2, nil)
		cluster := make([]int, n)
		for i := range n {
			design.SetRow(i, []float64{1, xs[i]})
			cluster[i] = -i
		}
		fit, err := stats.ClusterOLS(design, ys, cluster)
		if err != nil {
			rt.Fatal(err)
		}
		a, b := stat.LinearRegression(xs, ys, nil, false)
		var meat, ss float64
		for i := range n {
			e := ys[i] - a - b*xs[i]
			d := xs[i] - mean
			meat, ss = meat+d*d*e*e, ss+d*d
		}
		if want := meat / (ss * ss); math.Abs(fit.Cov.At(1, 1)-want) > 1e-8*math.Max(1, want) || math.Abs(fit.Coef[1]-b) > 1e-8 {
			rt.Fatalf("variance %v, want %v; slope %v, want %v", fit.Cov.At(1, 1), want, fit.Coef[1], b)
		}
	})
}

func TestClusterOLSSingular(t *testing.T) {
	x := mat.NewDense(3, 2, []float64{1, 2, 1, 2, 1, 2})
	if _, err := stats.ClusterOLS(x, []float64{1, 2, 3}, []int{1, 2, 3}); !errors.Is(err, stats.ErrSingular) {
		t.Errorf("constant column: %v", err)
	}
	if _, err := stats.ClusterOLS(mat.NewDense(1, 2, []float64{1, 2}), []float64{1}, []int{1}); !errors.Is(err, stats.ErrSingular) {
		t.Errorf("more columns than rows: %v", err)
	}
	one := stats.Regression{Rows: 9, Columns: 2, Clusters: 1}
	if !math.IsInf(one.SmallSample(), 1) {
		t.Errorf("one cluster: factor %v", one.SmallSample())
	}
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
		for p, v := range stats.DeleteOne(y, n) {
			if got := stats.RatioInfluence(y, n)[p]; math.Abs(got-(ratio-v)) > 1e-12 {
				rt.Fatalf("influence %v, want %v", got, ratio-v)
			}
		}
		// A cluster without events changes nothing.
		yy, nn := append(y[:g:g], 0), append(n[:g:g], 0)
		if stats.JackknifeRatio(yy, nn) != stats.JackknifeRatio(y, n) || stats.LinearisedRatio(yy, nn) != stats.LinearisedRatio(y, n) {
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
	if v := stats.LinearisedRatio(y, n); v != inf {
		t.Errorf("one cluster: linearised %v", v)
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
