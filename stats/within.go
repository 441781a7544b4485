package stats

import (
	"errors"
	"math"
)

// ErrNoSpread says that x does not vary where a slope needs it to.
var ErrNoSpread = errors.New("stats: x has no spread to take a slope over")

// Slope is a slope of y on x, in units of y per unit of x, with its
// delete-one-cluster standard error, 95 % interval and two-sided p-value of no
// slope.
type Slope struct {
	Value, SE, Lo, Hi, P float64
}

// Slopes sets the slope inside clusters against the slope between them. The two
// differ when what makes one cluster's x large goes with something else about
// that cluster.
type Slopes struct {
	// Within is the slope on x minus its cluster's mean; Between is the slope of
	// the clusters' means, each weighing its events; Difference is Within −
	// Between.
	Within, Between, Difference Slope
	// DF are the degrees of freedom of intervals and test: the effective number
	// of clusters minus 1, at least 1.
	DF float64
	// Share is the share of the sum of squares of x that lies between clusters.
	Share float64
	// Clusters counts those with any weight.
	Clusters int
}

// WithinBetween takes both slopes over rows of x, y and weight (events; nil
// weighs all rows alike), cluster naming each row's cluster by any number.
// Aggregated rows (mean y at an x, weight its events) give the slopes of the
// events themselves.
//
//	within  = Σ w(x−x̄_c)(y−ȳ_c) / Σ w(x−x̄_c)²
//	between = Σ W_c(x̄_c−x̄)(ȳ_c−ȳ) / Σ W_c(x̄_c−x̄)²
//
// Both standard errors and that of the difference come from leaving out one
// cluster at a time. The error is ErrNoSpread where x does not vary inside or
// between clusters, with all of them or with one left out, which is always so
// with fewer than three clusters. Panics on lengths that differ or a negative
// weight.
//
// Source: Mundlak 1978, Econometrica 46:69 (the two slopes); Efron & Tibshirani
// 1993, equation 11.5 (the jackknife).
func WithinBetween(x, y, weight []float64, cluster []int) (Slopes, error) {
	if len(y) != len(x) || len(cluster) != len(x) || weight != nil && len(weight) != len(x) {
		panic("stats: WithinBetween needs x, y, weight and cluster of one length")
	}
	parts := slopeParts(x, y, weight, cluster)
	g := len(parts)
	if g < 3 {
		return Slopes{}, ErrNoSpread
	}
	within := make([]float64, g)
	between := make([]float64, g)
	difference := make([]float64, g)
	sizes := make([]float64, g)
	w, b, share, ok := slopesWithout(parts, -1)
	for i := range parts {
		var fine bool
		within[i], between[i], _, fine = slopesWithout(parts, i)
		difference[i] = within[i] - between[i]
		sizes[i] = parts[i].w
		ok = ok && fine
	}
	if !ok {
		return Slopes{}, ErrNoSpread
	}
	s := Slopes{DF: max(1, EffectiveNumber(sizes)-1), Share: share, Clusters: g}
	t := student(s.DF)
	crit := t.Quantile(.975)
	slope := func(value float64, deleteOne []float64) Slope {
		se := math.Sqrt(JackknifeVariance(deleteOne))
		s := Slope{Value: value, SE: se, Lo: value - float64(crit*se), Hi: value + float64(crit*se)}
		switch {
		case se > 0:
			s.P = 2 * t.Survival(math.Abs(value)/se)
		case value == 0:
			s.P = 1
		}
		return s
	}
	s.Within = slope(w, within)
	s.Between = slope(b, between)
	s.Difference = slope(w-b, difference)
	return s, nil
}

// slopePart holds one cluster's share of both slopes, about the grand means.
type slopePart struct {
	w, x, y float64 // weight and means
	xx, xy  float64 // sums of squares and products inside the cluster
}

// slopeParts sums rows by cluster, in the clusters' order of appearance.
func slopeParts(x, y, weight []float64, cluster []int) []slopePart {
	index := map[int]int{}
	var parts []slopePart
	at := make([]int, len(x))
	wt := func(i int) float64 {
		if weight == nil {
			return 1
		}
		return weight[i]
	}
	for i := range x {
		w := wt(i)
		if !(w >= 0) {
			panic("stats: WithinBetween needs weights that are not negative")
		}
		if w == 0 {
			continue
		}
		k, seen := index[cluster[i]]
		if !seen {
			k = len(parts)
			index[cluster[i]] = k
			parts = append(parts, slopePart{})
		}
		at[i] = k
		parts[k].w += w
		parts[k].x += float64(w * x[i])
		parts[k].y += float64(w * y[i])
	}
	var sumW, sumX, sumY float64
	for k := range parts {
		p := &parts[k]
		sumW, sumX, sumY = sumW+p.w, sumX+p.x, sumY+p.y
		p.x /= p.w
		p.y /= p.w
	}
	for i := range x {
		w := wt(i)
		if w == 0 {
			continue
		}
		p := &parts[at[i]]
		dx := x[i] - p.x
		p.xx += float64(w * dx * dx)
		p.xy += float64(w * dx * (y[i] - p.y))
	}
	for k := range parts {
		parts[k].x -= sumX / sumW
		parts[k].y -= sumY / sumW
	}
	return parts
}

// slopesWithout takes both slopes with cluster skip left out (-1 for none), and
// the share of x's sum of squares between clusters; ok is false where x has no
// spread beyond rounding.
func slopesWithout(parts []slopePart, skip int) (within, between, share float64, ok bool) {
	var w, x, y, xx, xy, inXX, inXY float64
	for k, p := range parts {
		if k == skip {
			continue
		}
		w += p.w
		x += float64(p.w * p.x)
		y += float64(p.w * p.y)
		xx += float64(p.w * p.x * p.x)
		xy += float64(p.w * p.x * p.y)
		inXX += p.xx
		inXY += p.xy
	}
	betweenXX := xx - float64(x*x)/w
	tiny := 1e-12 * (xx + inXX)
	if !(inXX > tiny && betweenXX > tiny) {
		return 0, 0, 0, false
	}
	return inXY / inXX, (xy - float64(x*y)/w) / betweenXX, betweenXX / (betweenXX + inXX), true
}
