package stats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Statistic is computed from how often each cluster was drawn. It must not
// keep or change count.
type Statistic func(count []uint8) float64

// Bootstrap evaluates a statistic on every replicate of w, in their order.
func Bootstrap(w *Weights, statistic Statistic) []float64 {
	out := make([]float64, w.Replicates)
	for r := range out {
		out[r] = statistic(w.Row(r))
	}
	return out
}

// Jackknife evaluates a statistic with each cluster left out in turn and every
// other one drawn once.
func Jackknife(clusters int, statistic Statistic) []float64 {
	count := slices.Repeat([]uint8{1}, clusters)
	out := make([]float64, clusters)
	for p := range out {
		count[p] = 0
		out[p] = statistic(count)
		count[p] = 1
	}
	return out
}

// maxEnumerated bounds Enumerate: 12 clusters have 1,352,078 different resamples.
const maxEnumerated = 12

// Enumerate visits every different resample of so many clusters with its
// probability: the multiplicities (c₁…c_G) that add up to G, C(2G−1, G) of them,
// each with probability G!/(c₁!…c_G!)/G^G. The mean of a statistic over them is
// its bootstrap without Monte Carlo error. count is reused between visits.
// Panics unless 1 ≤ clusters ≤ 12.
//
// Source: Fisher & Hall 1991, Statistics & Probability Letters 12:105, from
// memory.
func Enumerate(clusters int, visit func(count []uint8, probability float64)) {
	if clusters < 1 || clusters > maxEnumerated {
		panic("stats: Enumerate needs 1 to 12 clusters")
	}
	var factorial [maxEnumerated + 1]float64
	factorial[0] = 1
	for i := 1; i <= maxEnumerated; i++ {
		factorial[i] = factorial[i-1] * float64(i)
	}
	all := factorial[clusters] / math.Pow(float64(clusters), float64(clusters))
	count := make([]uint8, clusters)
	var place func(at, left int, ways float64)
	place = func(at, left int, ways float64) {
		if at == clusters-1 {
			count[at] = uint8(left)
			visit(count, ways/factorial[left])
			return
		}
		for c := 0; c <= left; c++ {
			count[at] = uint8(c)
			place(at+1, left-c, ways/factorial[c])
		}
	}
	place(0, clusters, all)
}

// PercentileInterval returns the quantiles (1∓confidence)/2 of the replicates:
// what most people call a bootstrap interval. Type 7 quantiles; the replicates
// need no order.
//
// Source: Efron & Tibshirani 1993, section 13.3.
func PercentileInterval(replicates []float64, confidence float64) (lo, hi float64) {
	sorted := slices.Sorted(slices.Values(replicates))
	tail := tailOf(confidence)
	return Quantile(sorted, tail), Quantile(sorted, 1-tail)
}

// BasicInterval returns the percentile interval turned over about the estimate,
// (2·estimate − upper, 2·estimate − lower): it takes the errors of the
// replicates, not the replicates, as the model.
//
// Source: Davison & Hinkley 1997, Bootstrap Methods and their Application,
// equation 5.6 (with type 7 quantiles).
func BasicInterval(estimate float64, replicates []float64, confidence float64) (lo, hi float64) {
	l, u := PercentileInterval(replicates, confidence)
	return 2*estimate - u, 2*estimate - l
}

// BCaInterval returns the bias-corrected and accelerated interval: the
// replicates' quantiles at
//
//	α' = Φ( z₀ + (z₀+z)/(1 − a(z₀+z)) )
//
// for z = Φ⁻¹((1∓confidence)/2), with z₀ and a from BCaConstants. Where every
// replicate lies on one side of the estimate z₀ is infinite and both limits are
// the extreme replicate; with no variation in the jackknife a is 0. An
// acceleration so strong that the formula turns round (1 − a(z₀+z) ≤ 0) puts
// that limit at the extreme replicate of its side.
//
// Source: Efron 1987, JASA 82:171; Efron & Tibshirani 1993, section 14.3.
func BCaInterval(estimate float64, replicates, deleteOne []float64, confidence float64) (lo, hi float64) {
	tail := tailOf(confidence)
	z0, a := BCaConstants(estimate, replicates, deleteOne)
	sorted := slices.Sorted(slices.Values(replicates))
	limit := func(p float64) float64 {
		if math.IsInf(z0, 0) {
			return Quantile(sorted, distuv.UnitNormal.CDF(z0))
		}
		z := z0 + distuv.UnitNormal.Quantile(p)
		scale := 1 - float64(a*z)
		if scale <= 0 {
			return Quantile(sorted, math.Round(p))
		}
		return Quantile(sorted, distuv.UnitNormal.CDF(z0+z/scale))
	}
	return limit(tail), limit(1 - tail)
}

// BCaConstants returns the bias correction z₀ = Φ⁻¹(share of replicates below
// the estimate) and the acceleration a = Σu³/(6·(Σu²)^1.5), u the mean of the
// leave-one-out values minus each.
func BCaConstants(estimate float64, replicates, deleteOne []float64) (z0, a float64) {
	if len(replicates) == 0 {
		panic("stats: an interval of no replicates")
	}
	below := floats.Count(func(t float64) bool { return t < estimate }, replicates)
	z0 = distuv.UnitNormal.Quantile(float64(below) / float64(len(replicates)))
	mean := stat.Mean(deleteOne, nil)
	var squares, cubes float64
	for _, v := range deleteOne {
		u := mean - v
		squares += float64(u * u)
		cubes += float64(u * u * u)
	}
	if squares > 0 {
		a = cubes / (6 * math.Pow(squares, 1.5))
	}
	return z0, a
}

// tailOf checks a confidence and returns the share in each tail.
func tailOf(confidence float64) float64 {
	if !(confidence > 0 && confidence < 1) {
		panic("stats: an interval needs a confidence between 0 and 1")
	}
	return (1 - confidence) / 2
}
