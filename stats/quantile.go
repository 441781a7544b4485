package stats

import "math"

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
