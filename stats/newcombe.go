package stats

import "math"

// Newcombe returns the difference of two independent proportions, x1/n1 − x2/n2,
// and its score interval: each side's Wilson limits, combined in squares.
//
//	lo = d − √((p̂1−l1)² + (u2−p̂2)²),  hi = d + √((u1−p̂1)² + (p̂2−l2)²)
//
// Panics where a side has no trial. For sides that share clusters use
// DifferenceOfRatios instead: this one takes the two as independent.
//
// Source: Newcombe 1998, Stat Med 17:873, method 10.
func Newcombe(x1, n1, x2, n2, z float64) (d, lo, hi float64) {
	return NewcombeDesign(x1, n1, 1, x2, n2, 1, z)
}

// NewcombeDesign is Newcombe for two independent clustered samples: the Wilson
// limits of each side are taken at its effective sample size n/deff (see
// WilsonDesign), with z a Student quantile where the clusters are few.
func NewcombeDesign(x1, n1, deff1, x2, n2, deff2, z float64) (d, lo, hi float64) {
	if !(n1 > 0 && n2 > 0) {
		panic("stats: Newcombe needs trials on both sides")
	}
	l1, u1 := WilsonDesign(x1, n1, deff1, z)
	l2, u2 := WilsonDesign(x2, n2, deff2, z)
	p1, p2 := x1/n1, x2/n2
	d = p1 - p2
	return d, d - math.Hypot(p1-l1, u2-p2), d + math.Hypot(u1-p1, p2-l2)
}
