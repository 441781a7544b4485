package stacked

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/outcome"
	"sill/stats"
)

// slope is the gain for each further quality in its good zone.
type slope struct {
	gain, lo, hi, p float64 // p is one-sided: of no gain
}

// slope fits one straight line through all events of a cell by least squares, the
// value of an event on how many qualities lie in their good zones,
//
//	b = Σ(k − k̄)(y − ȳ)/S,  S = Σ(k − k̄)²
//
// over events, with its error from pitchers and, where known, batters: with
// e_p = Σ(k − k̄)(y − ȳ − b(k − k̄)) over the events of a pitcher,
//
//	V = G/(G−1)·Σe_p²/S² + max(0, the same by batter − by event)
//
// and df = the smaller effective number of either − 1. ok is false where there is
// nothing to fit, or too few pitchers.
//
// Source: Liang & Zeger 1986, Biometrika 73:13; Cameron, Gelbach & Miller 2011,
// JBES 29:238 (from memory).
func (s *split) slope() (out slope, ok bool) {
	groups := make([]*group, len(s.used)+1)
	var n, y, nk, nkk, nky float64
	for k := range groups {
		g := s.count(k, k)
		groups[k] = g
		x := float64(k)
		for p, m := range g.pitchers.n {
			n += m
			y += g.pitchers.y[p]
			nk += float64(x * m)
			nkk += float64(float64(x*x) * m)
			nky += float64(x * g.pitchers.y[p])
		}
	}
	mean, level := nk/n, y/n
	spread := nkk - float64(nk*mean)
	if !(spread > 0) {
		return out, false
	}
	b := (nky - float64(nk*level)) / spread
	// residual returns Σ(k − k̄)(y − ȳ − b(k − k̄)) of some events of a group.
	residual := func(k int, n, y float64) float64 {
		x := float64(k) - mean
		return float64(x * (y - float64(n*(level+float64(b*x)))))
	}
	variance := func(of func(g *group) *clusters) (v, effective float64) {
		score, size := make([]float64, len(of(groups[0]).n)), make([]float64, len(of(groups[0]).n))
		for k, g := range groups {
			c := of(g)
			for i, m := range c.n {
				score[i] += residual(k, m, c.y[i])
				size[i] += m
			}
		}
		active, sum := 0.0, 0.0
		for i, e := range score {
			sum += float64(e * e)
			if size[i] > 0 {
				active++
			}
		}
		if active < 2 {
			return nan, 0
		}
		return active / (active - 1) * sum / (spread * spread), stats.EffectiveNumber(size)
	}
	v, effective := variance(func(g *group) *clusters { return &g.pitchers })
	if math.IsNaN(v) || effective < minEffective {
		return out, false
	}
	if s.batters {
		second, g := variance(func(g *group) *clusters { return &g.batters })
		single := 0.0
		for k, g := range groups {
			x := float64(k) - mean
			fit := level + float64(b*x)
			c := &g.batters
			sum, m := 0.0, 0.0
			for i := range c.n {
				sum, m = sum+c.y[i], m+c.n[i]
			}
			single += float64(x * x * (c.yy - float64(2*fit*sum) + float64(fit*fit*m)))
		}
		if extra := second - single/(spread*spread); extra > 0 {
			v += extra
		}
		if g > 0 {
			effective = min(effective, g)
		}
	}
	sign := float64(outcome.Metrics[s.metric].Sign)
	df := max(1, effective-1)
	se := math.Sqrt(v)
	if !(se > 0) {
		return out, false
	}
	half := float64(stats.TQuantile(.975, df) * se)
	out.gain = sign * b
	out.lo, out.hi = out.gain-half, out.gain+half
	out.p = distuv.StudentsT{Sigma: 1, Nu: df}.Survival(out.gain / se)
	return out, true
}
