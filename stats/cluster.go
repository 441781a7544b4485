package stats

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// EffectiveNumber returns (Σn)²/Σn², the number of clusters of equal size that
// would weigh like these: len(n) when all are equal, near 1 when one cluster
// holds almost everything, 0 when nothing was seen.
//
// Source: Kish 1965, Survey Sampling (the effective sample size of unequal
// weights), from memory.
func EffectiveNumber(n []float64) float64 {
	sum := 0.0
	for _, v := range n {
		sum += v
	}
	if sum == 0 {
		return 0
	}
	return sum * sum / squares(n)
}

// DeleteOne returns the ratio ΣY/Σn with each cluster left out in turn. The
// value is NaN where that cluster holds every event.
func DeleteOne(y, n []float64) []float64 {
	sumY, sumN := ratioSums(y, n)
	out := make([]float64, len(y))
	for p := range y {
		out[p] = (sumY - y[p]) / (sumN - n[p])
	}
	return out
}

// RatioInfluence returns ψ_p = (Y_p − r·n_p)/(N − n_p) for every cluster, by
// which r = ΣY/Σn exceeds the ratio with cluster p left out. It is 0 for a
// cluster without events and ±Inf or NaN for one that holds them all.
func RatioInfluence(y, n []float64) []float64 {
	sumY, sumN := ratioSums(y, n)
	r := sumY / sumN
	psi := make([]float64, len(y))
	for p := range y {
		if n[p] != 0 {
			psi[p] = (y[p] - float64(r*n[p])) / (sumN - n[p])
		}
	}
	return psi
}

// JackknifeRatio returns the leave-one-cluster-out variance of ΣY/Σn about the
// estimate itself, (G−1)/G·Σψ², with G the clusters that have events. It is
// +Inf for fewer than two: one cluster says nothing about the spread between
// clusters.
//
// Source: Wolter 2007, Introduction to Variance Estimation, section 4.5 (v₂),
// from memory.
func JackknifeRatio(y, n []float64) float64 {
	psi := RatioInfluence(y, n)
	g := float64(withEvents(n))
	if g < 2 {
		return math.Inf(1)
	}
	return (g - 1) / g * squares(psi)
}

// LinearisedRatio returns the linearised (delta method) variance of ΣY/Σn over
// clusters, G/(G−1)·Σ(Y_p − r·n_p)²/N², or +Inf for fewer than two clusters
// with events.
//
// Source: Cochran 1977, Sampling Techniques, section 6.3; the R package survey
// computes the same.
func LinearisedRatio(y, n []float64) float64 {
	sumY, sumN := ratioSums(y, n)
	g := float64(withEvents(n))
	if g < 2 {
		return math.Inf(1)
	}
	r := sumY / sumN
	ss := 0.0
	for p := range y {
		e := y[p] - float64(r*n[p])
		ss += float64(e * e)
	}
	return g / (g - 1) * ss / (sumN * sumN)
}

// DesignEffect returns the leave-one-cluster-out variance Σψ² of a proportion
// divided by the binomial variance r(1−r)/N, never below 1; 1 also where r is 0
// or 1 and the binomial variance vanishes, +Inf for fewer than two clusters with
// events. y counts successes.
func DesignEffect(y, n []float64) float64 {
	sumY, sumN := ratioSums(y, n)
	if withEvents(n) < 2 {
		return math.Inf(1)
	}
	r := sumY / sumN
	if r <= 0 || r >= 1 {
		return 1
	}
	return max(1, squares(RatioInfluence(y, n))/(r*(1-r)/sumN))
}

// DifferenceOfRatios returns r_A − r_B, where r = ΣY/Σn on each side, and its
// leave-one-cluster-out variance (G−1)/G·Σ(ψ_A − ψ_B)². Cluster p is the same
// on both sides, so what the sides share is accounted for; G counts clusters
// with an event on either side. The variance is +Inf where a side has fewer than
// two clusters with events.
func DifferenceOfRatios(yA, nA, yB, nB []float64) (d, variance float64) {
	if len(nA) != len(nB) {
		panic("stats: DifferenceOfRatios needs the same clusters on both sides")
	}
	sumYA, sumNA := ratioSums(yA, nA)
	sumYB, sumNB := ratioSums(yB, nB)
	d = sumYA/sumNA - sumYB/sumNB
	if withEvents(nA) < 2 || withEvents(nB) < 2 {
		return d, math.Inf(1)
	}
	psiA, psiB := RatioInfluence(yA, nA), RatioInfluence(yB, nB)
	g := 0.0
	for p := range psiA {
		e := psiA[p] - psiB[p]
		variance += float64(e * e)
		if nA[p] > 0 || nB[p] > 0 {
			g++
		}
	}
	return d, (g - 1) / g * variance
}

// JackknifeVariance returns (G−1)/G·Σ(v − v̄)², the variance of a statistic
// whose values with each of G clusters left out are v; +Inf for fewer than two.
//
// Source: Tukey 1958; Efron & Tibshirani 1993, An Introduction to the Bootstrap,
// equation 11.5.
func JackknifeVariance(deleteOne []float64) float64 {
	if len(deleteOne) < 2 {
		return math.Inf(1)
	}
	g := float64(len(deleteOne))
	return stat.PopVariance(deleteOne, nil) * (g - 1)
}

// ratioSums checks the counts of clusters and adds them up.
func ratioSums(y, n []float64) (sumY, sumN float64) {
	if len(y) != len(n) {
		panic("stats: a ratio needs as many numerators as denominators")
	}
	for p := range n {
		if !(n[p] >= 0) || n[p] == 0 && y[p] != 0 {
			panic("stats: a cluster of a ratio needs n > 0, or n = 0 and y = 0")
		}
		sumY += y[p]
		sumN += n[p]
	}
	return sumY, sumN
}

// squares adds up v², term by term, so that zeros and the processor's width
// change no digit.
func squares(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += float64(x * x)
	}
	return sum
}

// withEvents counts the clusters that have any event.
func withEvents(n []float64) int {
	g := 0
	for _, v := range n {
		if v > 0 {
			g++
		}
	}
	return g
}

// ErrSingular says that the columns of a regression do not determine its
// coefficients.
var ErrSingular = errors.New("stats: the design of the regression is singular")

// Regression is a least squares fit with a variance that allows any dependence
// inside a cluster.
type Regression struct {
	// Coef holds one coefficient per column of the design.
	Coef []float64
	// Cov is their sandwich covariance without any small-sample factor (HC0).
	Cov *mat.SymDense
	// Rows, Columns and Clusters are the sizes behind the small-sample factor.
	Rows, Columns, Clusters int
}

// ClusterOLS regresses y on the columns of x (give an intercept as a column of
// ones). cluster names each row's cluster by any number. Cov = B·(Σ_c s_c s_c')·B
// with B = (X'X)⁻¹ and s_c the sum of x·residual over cluster c. Panics on
// lengths that differ; the error is ErrSingular.
//
// Source: Liang & Zeger 1986, Biometrika 73:13; Zeileis, Köll & Graham 2020,
// Journal of Statistical Software 95(1).
func ClusterOLS(x mat.Matrix, y []float64, cluster []int) (*Regression, error) {
	rows, cols := x.Dims()
	if len(y) != rows || len(cluster) != rows {
		panic("stats: ClusterOLS needs one y and one cluster per row")
	}
	if rows < cols {
		return nil, ErrSingular
	}
	var qr mat.QR
	qr.Factorize(x)
	if !(qr.Cond() < 1e12) {
		return nil, ErrSingular
	}
	coef := mat.NewVecDense(cols, nil)
	if err := qr.SolveVecTo(coef, false, mat.NewVecDense(rows, y)); err != nil {
		return nil, ErrSingular
	}
	index := map[int]int{}
	for _, c := range cluster {
		if _, seen := index[c]; !seen {
			index[c] = len(index)
		}
	}
	scores := mat.NewDense(len(index), cols, nil)
	for i := range rows {
		residual := y[i]
		for j := range cols {
			residual -= float64(x.At(i, j) * coef.AtVec(j))
		}
		row := scores.RawRowView(index[cluster[i]])
		for j := range cols {
			row[j] += float64(x.At(i, j) * residual)
		}
	}
	// With X = QR, (X'X)⁻¹ = R⁻¹R⁻ᵀ, so Cov = MᵀM for M = scores·R⁻¹R⁻ᵀ.
	var r mat.Dense
	qr.RTo(&r)
	var inverse, bread, half mat.Dense
	if err := inverse.Inverse(r.Slice(0, cols, 0, cols)); err != nil {
		return nil, ErrSingular
	}
	bread.Mul(&inverse, inverse.T())
	half.Mul(scores, &bread)
	cov := mat.NewSymDense(cols, nil)
	cov.SymOuterK(1, half.T())
	return &Regression{
		Coef: coef.RawVector().Data, Cov: cov,
		Rows: rows, Columns: cols, Clusters: len(index),
	}, nil
}

// SmallSample returns G/(G−1)·(N−1)/(N−K), the factor on Cov that software
// calls HC1 with clusters; +Inf for one cluster or as many columns as rows.
func (r *Regression) SmallSample() float64 {
	g, n, k := float64(r.Clusters), float64(r.Rows), float64(r.Columns)
	if g < 2 || n <= k {
		return math.Inf(1)
	}
	return g / (g - 1) * (n - 1) / (n - k)
}

// SE returns the standard error of coefficient j, with SmallSample applied.
func (r *Regression) SE(j int) float64 {
	return math.Sqrt(r.SmallSample() * r.Cov.At(j, j))
}
