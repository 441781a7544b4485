package stats_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"sill/stats"
)

// shrunk is the mean of a cluster's rate given k successes of n, (k + μM)/(n + M).
func shrunk(b stats.BetaBinomial, k, n float64) float64 {
	if math.IsInf(b.M, 1) || n+b.M == 0 {
		return b.Mu
	}
	return (k + b.Mu*b.M) / (n + b.M)
}

// shrunkLimits are the 95 % limits of a cluster's rate given k successes of n, Mu
// and M being known.
func shrunkLimits(b stats.BetaBinomial, k, n float64) (lo, hi float64) {
	alpha, beta := k+b.Mu*b.M, n-k+(1-b.Mu)*b.M
	if math.IsInf(b.M, 1) || !(alpha > 0 && beta > 0) {
		at := shrunk(b, k, n)
		return at, at
	}
	posterior := distuv.Beta{Alpha: alpha, Beta: beta}
	return posterior.Quantile(.025), posterior.Quantile(.975)
}

func TestBetaBinomialVectors(t *testing.T) {
	var v struct {
		Y, N   []float64
		Groups int `json:"n_groups"`
		ML     struct{ Alpha, Beta, LogLik, Mu, M float64 }
		Mean   float64 `json:"posterior_mean_4_of_14_ml"`
		Crude  float64 `json:"posterior_mean_4_of_14_crude"`
		AlphaC float64 `json:"alpha_crude"`
		BetaC  float64 `json:"beta_crude"`
	}
	vector(t, "beta_binomial_rats", &v)
	if len(v.Y) != v.Groups {
		t.Fatalf("%d groups, want %d", len(v.Y), v.Groups)
	}
	fit, err := stats.FitBetaBinomial(whole(v.Y), whole(v.N))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", fit.Mu, v.ML.Mu, 1e-7)
	near(t, "M", fit.M, v.ML.M, 1e-6)
	near(t, "alpha", fit.Mu*fit.M, v.ML.Alpha, 1e-6)
	near(t, "beta", (1-fit.Mu)*fit.M, v.ML.Beta, 1e-6)
	near(t, "log likelihood", fit.LogLik, v.ML.LogLik, 1e-12)
	near(t, "4 of 14", shrunk(fit, 4, 14), v.Mean, 1e-7)
	crude := stats.BetaBinomial{Mu: v.AlphaC / (v.AlphaC + v.BetaC), M: v.AlphaC + v.BetaC}
	near(t, "4 of 14, crude", shrunk(crude, 4, 14), v.Crude, 1e-13)
}

// betaBinomialLogLik is the likelihood in its usual form.
func betaBinomialLogLik(k, n []int, mu, m float64) float64 {
	a, b := mu*m, (1-mu)*m
	ll := 0.0
	for i := range k {
		ll += mathext.Lbeta(float64(k[i])+a, float64(n[i]-k[i])+b) - mathext.Lbeta(a, b)
	}
	return ll
}

// No point of a grid may be likelier than the one found, which must be as likely
// as it says.
func TestBetaBinomialIsTheMaximum(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.IntRange(2, 25).Draw(rt, "clusters")
		k, n := make([]int, g), make([]int, g)
		for i := range k {
			n[i] = rapid.IntRange(0, 60).Draw(rt, "n")
			k[i] = rapid.IntRange(0, n[i]).Draw(rt, "k")
		}
		n[0]++
		fit, err := stats.FitBetaBinomial(k, n)
		if err != nil {
			rt.Fatal(err)
		}
		if fit.M > 0 && fit.M < 1e5 {
			if ll := betaBinomialLogLik(k, n, fit.Mu, fit.M); math.Abs(ll-fit.LogLik) > 1e-7*math.Abs(ll)+1e-9 {
				rt.Fatalf("log likelihood %v, want %v", fit.LogLik, ll)
			}
		}
		for mu := .05; mu < 1; mu += .05 {
			for m := .05; m < 1e4; m *= 1.5 {
				if ll := betaBinomialLogLik(k, n, mu, m); ll > fit.LogLik+1e-6 {
					rt.Fatalf("mu %v, M %v: log likelihood %v above %v at mu %v, M %v", mu, m, ll, fit.LogLik, fit.Mu, fit.M)
				}
			}
		}
		for i := range k {
			x, size := float64(k[i]), float64(n[i])
			rate := shrunk(fit, x, size)
			if size > 0 && (rate < min(fit.Mu, x/size)-1e-12 || rate > max(fit.Mu, x/size)+1e-12) {
				rt.Fatalf("%v of %v shrinks to %v, not between it and %v", x, size, rate, fit.Mu)
			}
			if lo, hi := shrunkLimits(fit, x, size); !(0 <= lo && lo <= hi && hi <= 1) {
				rt.Fatalf("interval [%v, %v]", lo, hi)
			}
		}
	})
}

// Intervals of the shrunk rates must cover the true rates, over all clusters, as
// often as they say; sizes as in a season.
func TestBetaBinomialCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	rng := rand.New(rand.NewPCG(11, 3))
	const sets, clusters = 200, 120
	covered, all := 0.0, 0.0
	for range sets {
		k, n := make([]int, clusters), make([]int, clusters)
		truth := make([]float64, clusters)
		law := distuv.Beta{Alpha: 12, Beta: 36, Src: rng}
		for i := range k {
			n[i] = int(math.Min(1500, math.Max(10, math.Exp(math.Log(150)+1.1*rng.NormFloat64()))))
			truth[i] = law.Rand()
			k[i] = int(distuv.Binomial{N: float64(n[i]), P: truth[i], Src: rng}.Rand())
		}
		fit, err := stats.FitBetaBinomial(k, n)
		if err != nil {
			t.Fatal(err)
		}
		for i := range k {
			all++
			if lo, hi := shrunkLimits(fit, float64(k[i]), float64(n[i])); lo <= truth[i] && truth[i] <= hi {
				covered++
			}
		}
	}
	t.Logf("coverage %.4f", covered/all)
	if c := covered / all; c < .94 || c > .96 {
		t.Errorf("coverage %.4f, want .95", c)
	}
}

func TestBetaBinomialEdges(t *testing.T) {
	for what, c := range map[string]struct {
		k, n  []int
		mu, m float64
	}{
		"no success":     {[]int{0, 0}, []int{5, 9}, 0, math.Inf(1)},
		"no failure":     {[]int{5, 9}, []int{5, 9}, 1, math.Inf(1)},
		"one trial each": {[]int{1, 0, 0, 1}, []int{1, 1, 1, 1}, .5, math.Inf(1)},
		"all alike":      {[]int{3, 3, 3}, []int{10, 10, 10}, .3, math.Inf(1)},
		"all or nothing": {[]int{8, 0, 0, 0}, []int{8, 9, 8, 9}, .25, 0},
		// Pooled, both look less spread than chance: the likelihood falls from
		// M = +Inf at first. Values by a fine grid over the usual form.
		"size goes with rate": {[]int{8, 3}, []int{20, 3}, .6227, 3.935},
		"one without trial":   {[]int{3, 3, 0}, []int{10, 10, 0}, .3, math.Inf(1)},
	} {
		fit, err := stats.FitBetaBinomial(c.k, c.n)
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		tol := 1e-12
		if what == "size goes with rate" {
			tol = 2e-4
		}
		near(t, what+" mu", fit.Mu, c.mu, tol)
		if fit.M != c.m && !(math.Abs(fit.M-c.m) <= tol*c.m) {
			t.Errorf("%s: M %v, want %v", what, fit.M, c.m)
		}
	}
	if _, err := stats.FitBetaBinomial([]int{0}, []int{0}); !errors.Is(err, stats.ErrNoConvergence) {
		t.Errorf("no trial: %v", err)
	}
	panics(t, "more successes than trials", func() { _, _ = stats.FitBetaBinomial([]int{2}, []int{1}) })
}

// With equal variances restricted likelihood has a closed form: τ² = s² − v, or
// 0, s² the sample variance (Searle, Casella & McCulloch 1992, Variance
// Components, section 3.8, from memory).
func TestNormalNormalClosedForm(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-3, 3), 4, 40).Draw(rt, "y")
		v := rapid.Float64Range(.05, 4).Draw(rt, "v")
		var mean, ss float64
		for _, x := range y {
			mean += x / float64(len(y))
		}
		variances := make([]float64, len(y))
		for i, x := range y {
			ss += (x - mean) * (x - mean)
			variances[i] = v
		}
		fit, err := stats.FitNormalNormal(y, variances)
		if err != nil {
			rt.Fatal(err)
		}
		want := max(0, ss/float64(len(y)-1)-v)
		if math.Abs(fit.Tau2-want) > 1e-9 || math.Abs(fit.Mu-mean) > 1e-9 {
			rt.Fatalf("tau² %v, want %v; mu %v, want %v", fit.Tau2, want, fit.Mu, mean)
		}
		got, se := fit.Shrink(y[0], v)
		if got < min(y[0], fit.Mu)-1e-9 || got > max(y[0], fit.Mu)+1e-9 || !(se > 0) {
			rt.Fatalf("%v shrinks to %v ± %v", y[0], got, se)
		}
	})
}

// With equal variances v the factor B = v/(v+τ²) has a gamma posterior cut off at
// 1, of shape (k−3)/2 and rate S/2v with S = Σ(y−ȳ)² (Morris 1983, JASA 78:47,
// from memory), so its moments are ratios of incomplete gamma functions.
func TestNormalNormalPosterior(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(-3, 3), 6, 60).Draw(rt, "y")
		v := rapid.Float64Range(.05, 4).Draw(rt, "v")
		k := float64(len(y))
		mean, variance := stat.PopMeanVariance(y, nil)
		shape, rate := (k-3)/2, k*variance/(2*v)
		if rate < .01 {
			rt.Skip()
		}
		below := mathext.GammaIncReg(shape, rate)
		b := shape / rate * mathext.GammaIncReg(shape+1, rate) / below
		b2 := shape * (shape + 1) / (rate * rate) * mathext.GammaIncReg(shape+2, rate) / below
		variances := slices.Repeat([]float64{v}, len(y))
		fit, err := stats.FitNormalNormal(y, variances)
		if err != nil {
			rt.Fatal(err)
		}
		got, sd := fit.Shrink(y[0], v)
		d := y[0] - mean
		want := y[0] - b*d
		wantSD := math.Sqrt((1-b)*v + b*v/k + (b2-b*b)*d*d)
		if math.Abs(got-want) > 1e-4 || math.Abs(sd-wantSD) > 1e-3*wantSD {
			rt.Fatalf("%v ± %v, want %v ± %v", got, sd, want, wantSD)
		}
	})
}

// Unequal variances: the restricted likelihood itself must be highest at the
// value found.
func TestNormalNormalIsTheMaximum(t *testing.T) {
	likelihood := func(y, v []float64, tau2 float64) float64 {
		var w, wy, ll float64
		for i := range y {
			w, wy = w+1/(v[i]+tau2), wy+y[i]/(v[i]+tau2)
		}
		for i := range y {
			e := y[i] - wy/w
			ll -= .5 * (math.Log(v[i]+tau2) + e*e/(v[i]+tau2))
		}
		return ll - .5*math.Log(w)
	}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 30).Draw(rt, "n")
		v := rapid.SliceOfN(rapid.Float64Range(.2, 1), n, n).Draw(rt, "v")
		y := rapid.SliceOfN(rapid.Float64Range(-5, 5), n, n).Draw(rt, "y")
		fit, err := stats.FitNormalNormal(y, v)
		if err != nil {
			rt.Fatal(err)
		}
		best := likelihood(y, v, fit.Tau2)
		for _, step := range []float64{-.02, -.001, .001, .02} {
			if tau2 := fit.Tau2 + step; tau2 >= 0 && likelihood(y, v, tau2) > best+1e-12 {
				rt.Fatalf("tau² %v is likelier than %v", tau2, fit.Tau2)
			}
		}
	})
}

// The simulation on which intervals for shrunk run values rest: per-event values
// far from normal (mostly 0, some .9, few 2), clusters of the sizes of a season,
// pooled event variance. Mean ± t·se must cover the truth.
func TestNormalNormalCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	for _, clusters := range []int{15, 40, 120} {
		for _, tau := range []float64{0, .015, .04} {
			rng := rand.New(rand.NewPCG(uint64(clusters), uint64(tau*1000)))
			covered, all := 0.0, 0.0
			for all < 30000 {
				y, n, truth := make([]float64, clusters), make([]float64, clusters), make([]float64, clusters)
				var sum, squares, events float64
				for i := range y {
					n[i] = math.Floor(math.Min(300, math.Max(15, math.Exp(math.Log(60)+.8*rng.NormFloat64()))))
					shift := tau * rng.NormFloat64()
					truth[i] = .32 + shift
					for range int(n[i]) {
						// .9 with probability .28 + shift/.9, else 2 with .034, else 0.
						value := 0.0
						switch u := rng.Float64(); {
						case u < .28+shift/.9:
							value = .9
						case u > 1-.034:
							value = 2
						}
						y[i] += value / n[i]
						sum, squares, events = sum+value, squares+value*value, events+1
					}
				}
				s2 := squares/events - sum/events*sum/events
				variances := make([]float64, clusters)
				for i := range variances {
					variances[i] = s2 / n[i]
				}
				fit, err := stats.FitNormalNormal(y, variances)
				if err != nil {
					t.Fatal(err)
				}
				for i := range y {
					mean, se := fit.Shrink(y[i], variances[i])
					all++
					if math.Abs(mean-truth[i]) <= z95*se {
						covered++
					}
				}
			}
			c := covered / all
			t.Logf("%d clusters, tau %.3f: coverage %.4f", clusters, tau, c)
			// Too wide only where there is no spread at all to estimate.
			if c < .93 || tau > .02 && c > .98 {
				t.Errorf("%d clusters, tau %.3f: coverage %.4f", clusters, tau, c)
			}
		}
	}
}

func TestNormalNormalEdges(t *testing.T) {
	if _, err := stats.FitNormalNormal([]float64{1, 2, 3}, []float64{1, 1, 1}); !errors.Is(err, stats.ErrNoConvergence) {
		t.Errorf("three clusters: %v", err)
	}
	panics(t, "a variance of 0", func() { _, _ = stats.FitNormalNormal([]float64{1, 2}, []float64{0, 1}) })
}
