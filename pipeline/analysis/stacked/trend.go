package stacked

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/stats"
)

// slope is the gain for each further quality in its good zone.
type slope struct {
	answer.Estimate
	p float64 // one-sided: of no gain
}

// moments are the sums behind a straight line of values y on k, how many qualities
// lie in their good zones, over events.
type moments struct{ n, y, k, kk, ky float64 }

func (m *moments) add(k int, n, y float64) {
	x := float64(k)
	m.n += n
	m.y += y
	m.k += float64(x * n)
	m.kk += float64(float64(x*x) * n)
	m.ky += float64(x * y)
}

func (m moments) less(o moments) moments {
	return moments{m.n - o.n, m.y - o.y, m.k - o.k, m.kk - o.kk, m.ky - o.ky}
}

// spread is Σ(k − k̄)², slope Σ(k − k̄)(y − ȳ)/Σ(k − k̄)².
func (m moments) spread() float64 { return m.kk - float64(m.k*m.k)/m.n }
func (m moments) slope() float64  { return (m.ky - float64(m.k*m.y)/m.n) / m.spread() }

// slope fits one straight line through all events of a cell by least squares. Its
// error is that of leaving out one pitcher at a time; where batters are known it is
//
//	V = V_pitcher + max(0, V_batter − V_event)
//
// with V_event that of independent events. The degrees of freedom are the smaller
// effective number of either, by what each adds to Σ(k − k̄)², less 1. ok is false
// where there is nothing to fit, or too few pitchers.
//
// Source: Efron & Tibshirani 1993, equation 11.5; Cameron, Gelbach & Miller 2011,
// JBES 29:238 (from memory).
func (s *split) slope() (out slope, ok bool) {
	groups := make([]*answer.Group, len(s.used)+1)
	all := moments{}
	for k := range groups {
		groups[k] = s.count(k, k)
		for p, n := range groups[k].Pitchers.N {
			all.add(k, n, groups[k].Pitchers.Y[p])
		}
	}
	if !(all.n > 0 && all.spread() > 0) {
		return out, false
	}
	b := all.slope()
	v, effective := leaveOneOut(groups, func(g *answer.Group) *stats.Sums { return &g.Pitchers })
	if effective < answer.MinEffective {
		return out, false
	}
	if s.batters {
		second, g := leaveOneOut(groups, func(g *answer.Group) *stats.Sums { return &g.Batters })
		if extra := second - eventVariance(groups); extra > 0 {
			v += extra
		}
		if g > 0 {
			effective = min(effective, g)
		}
	}
	se := math.Sqrt(v)
	if !(se > 0) || math.IsInf(se, 1) {
		return out, false
	}
	df := max(1, effective-1)
	out.Estimate = answer.Student(float64(outcome.Metrics[s.metric].Sign)*b, se, df)
	out.p = distuv.StudentsT{Sigma: 1, Nu: df}.Survival(out.X / se)
	return out, true
}

// leaveOneOut returns the variance of the slope from leaving out one cluster at a
// time, and the effective number of clusters.
func leaveOneOut(groups []*answer.Group, of func(*answer.Group) *stats.Sums) (variance, effective float64) {
	own := make([]moments, len(of(groups[0]).N))
	all := moments{}
	for k, g := range groups {
		c := of(g)
		for i, n := range c.N {
			own[i].add(k, n, c.Y[i])
			all.add(k, n, c.Y[i])
		}
	}
	if !(all.n > 0) {
		return math.NaN(), 0
	}
	mean := all.k / all.n
	var without, part []float64
	for _, m := range own {
		if m.n == 0 {
			continue
		}
		rest := all.less(m)
		if !(rest.n > 0 && rest.spread() > 0) {
			return math.Inf(1), 0
		}
		without = append(without, rest.slope())
		part = append(part, m.kk-float64(2*mean*m.k)+float64(mean*mean*m.n))
	}
	return stats.JackknifeVariance(without), stats.EffectiveNumber(part)
}

// eventVariance is the variance of the slope were the events of known batters
// independent.
func eventVariance(groups []*answer.Group) float64 {
	all := moments{}
	sum := make([]moments, len(groups))
	for k, g := range groups {
		for i, n := range g.Batters.N {
			sum[k].add(k, n, g.Batters.Y[i])
		}
		all.add(k, sum[k].n, sum[k].y)
	}
	b, mean, level := all.slope(), all.k/all.n, all.y/all.n
	total := 0.0
	for k, g := range groups {
		x := float64(k) - mean
		fit := level + float64(b*x)
		total += float64(x * x * (g.Batters.YY - float64(2*fit*sum[k].y) + float64(fit*fit*sum[k].n)))
	}
	return total / (all.spread() * all.spread())
}
