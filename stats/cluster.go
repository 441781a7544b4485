package stats

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// EffectiveNumber returns (Σn)²/Σn², the number of clusters of equal size that
// would weigh like these: len(n) when all are equal, near 1 when one cluster
// holds almost everything, 0 when nothing was seen.
//
// Source: Kish 1965, Survey Sampling (the effective sample size of unequal
// weights), from memory.
func EffectiveNumber(n []float64) float64 {
	_, effective, _ := Concentration(n)
	return effective
}

// Concentration returns how many clusters have an event, their effective number and
// the largest one's share.
func Concentration(n []float64) (clusters int, effective, largest float64) {
	var sum, most float64
	for _, v := range n {
		sum += v
		most = max(most, v)
	}
	if sum == 0 {
		return 0, 0, 0
	}
	return withEvents(n), sum * sum / squares(n), most / sum
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

// moments gathers mean and variance in one pass.
//
// Source: Welford 1962, Technometrics 4:419.
type moments struct{ n, mean, sum float64 }

func (m *moments) add(v float64) {
	m.n++
	d := v - m.mean
	m.mean += d / m.n
	m.sum += float64(d * (v - m.mean))
}

// variance returns the sample variance, 0 for fewer than 2 values.
func (m *moments) variance() float64 {
	if m.n < 2 {
		return 0
	}
	return m.sum / (m.n - 1)
}

// MeanVariance returns the mean of v and its sample variance, in two passes.
func MeanVariance(v []float64) (mean, variance float64) {
	mean = total(v) / float64(len(v))
	for _, x := range v {
		variance += float64((x - mean) * (x - mean))
	}
	return mean, variance / float64(len(v)-1)
}
