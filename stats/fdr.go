package stats

import (
	"sort"
)

// BenjaminiHochberg returns the adjusted p-values (q-values), in the order of p:
// rejecting every q ≤ α keeps the expected share of false rejections among all
// rejections at or below α for independent or positively dependent tests.
//
//	q₍ᵢ₎ = min over j ≥ i of min(1, m·p₍ⱼ₎/j)
//
// Tied p-values get the same q. Panics on a p outside [0, 1]; no test in, none
// out.
//
// Source: Benjamini & Hochberg 1995, JRSSB 57:289.
func BenjaminiHochberg(p []float64) []float64 {
	return stepUp(p, 1)
}

// BenjaminiYekutieli is BenjaminiHochberg with m replaced by m·(1 + 1/2 + … +
// 1/m), which holds under any dependence and is the more cautious for it.
//
// Source: Benjamini & Yekutieli 2001, Annals of Statistics 29:1165.
func BenjaminiYekutieli(p []float64) []float64 {
	harmonic := 0.0
	for i := range p {
		harmonic += 1 / float64(i+1)
	}
	return stepUp(p, harmonic)
}

// stepUp adjusts from the largest p down, with the number of tests times scale.
func stepUp(p []float64, scale float64) []float64 {
	order := ranked(p)
	q := make([]float64, len(p))
	m := float64(len(p)) * scale
	low := 1.0
	for i := len(order) - 1; i >= 0; i-- {
		low = min(low, m/float64(i+1)*p[order[i]])
		q[order[i]] = low
	}
	return q
}

// Holm returns p-values adjusted for the chance of even one false rejection in
// the family, under any dependence, in the order of p.
//
//	p̃₍ᵢ₎ = max over j ≤ i of min(1, (m−j+1)·p₍ⱼ₎)
//
// Panics on a p outside [0, 1].
//
// Source: Holm 1979, Scandinavian Journal of Statistics 6:65.
func Holm(p []float64) []float64 {
	order := ranked(p)
	adjusted := make([]float64, len(p))
	high := 0.0
	for i, at := range order {
		high = max(high, min(1, float64(len(p)-i)*p[at]))
		adjusted[at] = high
	}
	return adjusted
}

// ranked lists the indexes of p from the smallest p to the largest, ties in
// their order of appearance.
func ranked(p []float64) []int {
	order := make([]int, len(p))
	for i, v := range p {
		if !(v >= 0 && v <= 1) {
			panic("stats: a p-value lies outside [0, 1]")
		}
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return p[order[a]] < p[order[b]] })
	return order
}
