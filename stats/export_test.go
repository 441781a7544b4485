package stats

import "math"

// NewFlipTestOf makes a test from columns of scores by cluster.
var NewFlipTestOf = newFlipTest

// PowerGiven is powerGiven.
var PowerGiven = powerGiven

// Percentile is percentile.
var Percentile = percentile

// MonotoneRatio is monotoneRatio.
var MonotoneRatio = monotoneRatio

// SetTable gives a made-up curve the table it would have come from.
func (c *Curve) SetTable(t *Table) { c.table = t }

// Table is the table of the curve.
func (c *Curve) Table() *Table { return c.table }

// Effect is effect.
func (b *Band) Effect(x, reach float64) float64 { return b.effect(x, reach) }

// LineShare is lineShare.
func (b *Band) LineShare(x float64) float64 { return b.lineShare(x) }

// Spread returns the variance of F* − line* by node and its covariance between
// neighbours, times G/(G−1).
func (c *Curve) Spread(l Line) (variance, next []float64) { return c.against(l) }

// At returns max(0, V_second − V_event) of the curve at x; NaN outside the nodes.
func (s *SecondWay) At(x float64) float64 {
	b, share, ok := place(s.curve.X, x)
	if !ok {
		return math.NaN()
	}
	return along(s.own, s.next, b, share)
}

// Smooth writes the plain fit Sy at λ to dst. Panics as Fit does.
func (s *Smoother) Smooth(lambda float64, y, w, dst []float64) {
	s.positive(w)
	s.f.primal(s, lambda, w)
	for b := range dst {
		dst[b] = float64(w[b] * y[b])
	}
	s.f.solve(dst)
}

// Criterion returns the REML criterion at λ (smaller is better), NaN where fewer
// than 3 nodes have weight.
func (s *Smoother) Criterion(lambda float64, y, w []float64) float64 {
	positive := s.positive(w)
	if positive < 3 {
		return math.NaN()
	}
	s.level(y, w)
	return s.gappy(lambda, w, positive)
}
