package stats

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// Quantile returns the q-quantile (0 ≤ q ≤ 1) of values sorted in ascending
// order, linear between order statistics: position (n−1)·q from the first. This
// is type 7 of Hyndman & Fan 1996, The American Statistician 50:361, which
// gonum's stat.Quantile does not offer (its LinInterp is type 4). The caller
// sorts; an unsorted slice gives a meaningless number. Panics on an empty slice
// or a q outside [0, 1].
func Quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		panic("stats: Quantile of no values")
	}
	if !(q >= 0 && q <= 1) {
		panic("stats: Quantile needs 0 <= q <= 1")
	}
	at := float64(len(sorted)-1) * q
	below := int(math.Floor(at))
	share := at - float64(below)
	if share == 0 || sorted[below] == sorted[below+1] {
		return sorted[below]
	}
	return float64((1-share)*sorted[below]) + float64(share*sorted[below+1])
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

// tailOf checks a confidence and returns the share in each tail.
func tailOf(confidence float64) float64 {
	if !(confidence > 0 && confidence < 1) {
		panic("stats: an interval needs a confidence between 0 and 1")
	}
	return (1 - confidence) / 2
}

// percentile is the type 7 quantile of unsorted values, which it reorders; NaN
// for none.
func percentile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	at := float64(len(v)-1) * q
	low := int(at)
	share := at - float64(low)
	pick(v, low)
	if share == 0 {
		return v[low]
	}
	next := v[low+1]
	for _, x := range v[low+2:] {
		next = min(next, x)
	}
	return float64((1-share)*v[low]) + float64(share*next)
}

// pick reorders v so that v[k] is its k-th smallest value, none larger before it
// and none smaller after.
//
// Source: Hoare 1961, Communications of the ACM 4:321 (FIND).
func pick(v []float64, k int) {
	lo, hi := 0, len(v)-1
	for lo < hi {
		a, m, z := v[lo], v[lo+(hi-lo)/2], v[hi]
		pivot := max(min(a, m), min(max(a, m), z))
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// TQuantile returns Student's quantile at p for df degrees of freedom (> 0, not
// necessarily whole). Panics outside 0 < p < 1.
func TQuantile(p, df float64) float64 {
	if !(p > 0 && p < 1 && df > 0) {
		panic("stats: TQuantile needs 0 < p < 1 and df > 0")
	}
	return student(df).Quantile(p)
}

// student is Student's distribution with so many degrees of freedom.
func student(df float64) distuv.StudentsT { return distuv.StudentsT{Sigma: 1, Nu: df} }

// quantiles remembers Student's quantiles: curves and contrasts ask for the same
// few again and again. Safe for concurrent use; the zero value is ready.
type quantiles struct{ known sync.Map }

func (q *quantiles) at(p, df float64) float64 {
	if q == nil {
		return TQuantile(p, df)
	}
	key := [2]float64{p, df}
	if v, ok := q.known.Load(key); ok {
		return v.(float64)
	}
	v := TQuantile(p, df)
	q.known.Store(key, v)
	return v
}

// normal975 is the quantile of the normal distribution that t tends to.
var normal975 = TQuantile(.975, 1e9)

// WeightedMedian returns the median of values sorted ascending, each counted
// weight times: the smallest value at which more than half of the weight is
// reached, or the mean of it and the next where exactly half is. false where
// there is no weight.
func WeightedMedian(sorted []float64, weight []uint8) (float64, bool) {
	if len(sorted) != len(weight) {
		panic("stats: WeightedMedian needs a weight for every value")
	}
	total := 0
	for _, w := range weight {
		total += int(w)
	}
	sum := 0
	for i, w := range weight {
		sum += int(w)
		if 2*sum > total {
			return sorted[i], true
		}
		if w > 0 && 2*sum == total {
			next := i + 1
			for weight[next] == 0 {
				next++
			}
			return (sorted[i] + sorted[next]) / 2, true
		}
	}
	return math.NaN(), false
}
