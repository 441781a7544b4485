package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// LogitSD returns the standard deviation of the logits of the clusters' rates,
// √(ψ′(μM) + ψ′((1−μ)M)) with ψ′ the trigamma function: 0 where M is +Inf, NaN
// where there is none (M is 0, or Mu 0 or 1 and M finite).
//
// Source: the logit of a beta variable is the difference of the logarithms of two
// gamma variables, whose variances are ψ′ (Johnson, Kotz & Balakrishnan 1995,
// Continuous Univariate Distributions, volume 2; from memory).
func (b BetaBinomial) LogitSD() float64 {
	if math.IsInf(b.M, 1) {
		return 0
	}
	alpha, beta := b.Mu*b.M, (1-b.Mu)*b.M
	if !(alpha > 0 && beta > 0) {
		return math.NaN()
	}
	return math.Sqrt(mathext.Zeta(2, alpha) + mathext.Zeta(2, beta))
}
