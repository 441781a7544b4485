package stats_test

import (
	"math"
	"testing"

	"sill/stats"
)

// TestLogitSD: ψ′(1) = π²/6 and ψ′(½) = π²/2 (Abramowitz & Stegun 6.4.2, 6.4.4);
// where M is large the delta method's 1/√(μ(1−μ)(M+1)).
func TestLogitSD(t *testing.T) {
	near(t, "uniform", stats.BetaBinomial{Mu: .5, M: 2}.LogitSD(), math.Pi/math.Sqrt(3), 1e-12)
	near(t, "arcsine", stats.BetaBinomial{Mu: .5, M: 1}.LogitSD(), math.Pi, 1e-12)
	relative(t, "narrow", stats.BetaBinomial{Mu: .2, M: 4000}.LogitSD(), 1/math.Sqrt(.16*4001), 1e-3)
	near(t, "none", stats.BetaBinomial{Mu: .2, M: math.Inf(1)}.LogitSD(), 0, 0)
	for _, b := range []stats.BetaBinomial{{Mu: .3}, {Mu: 0, M: 4}, {Mu: 1, M: 4}} {
		if v := b.LogitSD(); !math.IsNaN(v) {
			t.Errorf("%+v: %g", b, v)
		}
	}
}
