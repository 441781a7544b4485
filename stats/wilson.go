package stats

import (
	"math"
)

// Wilson returns the score interval of a proportion: every p at which the
// test of successes/n against p has |z| no larger than the z given (1.96 for
// 95 %; a Student quantile for a clustered sample).
//
//	( p̂ + z²/2n ± z·√(p̂(1−p̂)/n + z²/4n²) ) / (1 + z²/n)
//
// Neither count has to be whole, so an effective sample size may be given. The
// limits are exactly 0 without a success and exactly 1 without a failure. Where
// n is 0 nothing is known and the interval is (0, 1). Panics unless
// 0 ≤ successes ≤ n < ∞ and 0 ≤ z < ∞.
//
// Source: Wilson 1927, JASA 22:209; Newcombe 1998, Stat Med 17:857, method 3.
func Wilson(successes, n, z float64) (lo, hi float64) {
	if !(successes >= 0 && successes <= n && !math.IsInf(n, 1)) {
		panic("stats: Wilson needs 0 <= successes <= n")
	}
	if !(z >= 0 && !math.IsInf(z, 1)) {
		panic("stats: Wilson needs a finite z >= 0")
	}
	if n == 0 {
		return 0, 1
	}
	p := successes / n
	z2 := float64(z*z) / n
	mid := p + z2/2
	half := float64(z * math.Sqrt(float64(p*(1-p))/n+z2/(4*n)))
	lo, hi = (mid-half)/(1+z2), (mid+half)/(1+z2)
	if successes == 0 {
		lo = 0
	}
	if successes == n {
		hi = 1
	}
	return max(lo, 0), min(hi, 1)
}

// WilsonDesign is Wilson at the effective sample size n/deff, where deff is the
// design effect: the variance of the proportion over clusters divided by the
// variance of a simple random sample of n. A deff below 1 counts as 1, since
// clustering never makes a sample larger than it is.
//
// Source: Kish 1965, Survey Sampling, section 8.2 (effective sample size);
// Korn & Graubard 1998, Survey Methodology 24:193 (intervals on it). Both from
// memory.
func WilsonDesign(successes, n, deff, z float64) (lo, hi float64) {
	if math.IsNaN(deff) || math.IsInf(deff, 1) {
		panic("stats: WilsonDesign needs a finite design effect")
	}
	deff = max(1, deff)
	return Wilson(successes/deff, n/deff, z)
}
