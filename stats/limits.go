package stats

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Parts are the events of a table in finer bins, over all clusters: where along x
// a curve passes a line can be told more finely than clusters can be resampled.
// Only parts with an event are listed. Read only.
type Parts struct {
	X    []float64 // mean of the variable over the events of the part, ascending
	N, Y []float64 // events (> 0) and sum of their values
}

// parts returns the table's parts, or its bins where it has none.
func (t *Table) parts() *Parts {
	if t.Parts != nil {
		return t.Parts
	}
	n, y := t.Sums()
	return &Parts{X: t.X, N: n, Y: y}
}

const (
	// monotoneQuantile is the .95 quantile of the limit of the likelihood ratio of
	// a value of a monotone curve.
	//
	// Source: Banerjee & Wellner 2001, Annals of Statistics 29:1699, table 2.
	monotoneQuantile = 2.28
	// effectReach is the share of the stretch between two limits over which the
	// design effect is taken, set by simulation (make calibrate).
	effectReach = .7
	// effectRounds is how often limits and design effect are worked out in turn;
	// they seldom change after the second.
	effectRounds = 4
	// fewEvents over the cube root of the events between the neighbouring edges is
	// what their small number adds to the limit, the rate at which a monotone fit
	// settles; set by simulation (demo seasons of 120,000 pitches).
	fewEvents = .9
)

// limits sets the 95 % limits of the confirmed edges by inverting a likelihood ratio
// that asks no more of the curve than that it be monotone between the neighbouring
// edges: a smooth curve rounds off a kink and misses where a flat one begins to rise.
//
// Of m parts between the neighbouring edges, with y the advantage of a part's raw
// rate (turned so that it rises through the edge) and w its events, split j says
// that the curve is at most 0 in the first j parts and at least 0 in the others:
//
//	LR(j) = min Σ w(y − f)² over non-decreasing f ≤ 0 left of j and ≥ 0 right of it
//	        − min Σ w(y − f)² over non-decreasing f
//	accepted where LR(j) ≤ 2.28·σ²·deff·line·(1 + .9/∛Σw)·(t_.975(DF)/z_.975)²
//
// σ²·deff is that of effect, line that of lineShare. The limits are the part before the first accepted split
// and the part after the last, infinite where there is none; of an open end bin they
// may lie beyond its node.
//
// Source: Banerjee & Wellner 2001, Annals of Statistics 29:1699 (the ratio and its
// limit), here of a place in place of a value; the variance of a cluster sample for
// that of events as in Rao & Scott 1984, Annals of Statistics 12:46 (from memory).
func (b *Band) limits(edges []Edge) {
	parts := b.Curve.table.parts()
	for k := range edges {
		e := &edges[k]
		from, to := neighbours(edges, k)
		sign := b.Sign
		if !e.Up {
			sign = -sign
		}
		var x, y, w []float64
		for i, at := range parts.X {
			if at > from && at < to {
				x, w = append(x, at), append(w, parts.N[i])
				y = append(y, sign*(parts.Y[i]/parts.N[i]-b.Line.Value))
			}
		}
		ratio := monotoneRatio(y, w)
		first, last := b.Curve.X[0], b.Curve.X[len(b.Curve.X)-1]
		small := b.Crit / normal975
		widen := b.lineShare(e.X) * (1 + fewEvents/math.Cbrt(floats.Sum(w))) * small * small
		reach := 0.0
		for range effectRounds {
			e.Lo, e.Hi = accepted(x, ratio, monotoneQuantile*b.effect(e.X, reach)*widen)
			e.Lo, e.Hi = min(e.X, e.Lo), max(e.X, e.Hi)
			reach = effectReach * (min(last, e.Hi) - max(first, e.Lo)) / 2
		}
	}
}

// lineShare is how many times the variance of the curve at x that of the advantage
// is, at least 1: the line's own error moves every part at once.
func (b *Band) lineShare(x float64) float64 {
	c := b.Curve
	i, share, ok := place(c.X, x)
	if !ok || len(c.variance) == 0 {
		return 1
	}
	own := quadratic(c.variance, c.next, i, share) * c.inflate()
	if b.Second != nil {
		own += along(b.Second.own, b.Second.next, i, share)
	}
	if !(own > 0) {
		return 1
	}
	se := b.SE[i*Substeps+int(math.Round(share*Substeps))]
	return max(1, float64(se*se)/own)
}

// accepted returns the part before the first split whose ratio is at most the
// limit, and the part after the last; infinite where there is none. Some split has
// a ratio of 0 where the curve may well pass the line; where none is accepted the
// smallest is.
func accepted(x, ratio []float64, limit float64) (lo, hi float64) {
	limit = max(limit, slices.Min(ratio))
	first := slices.IndexFunc(ratio, func(v float64) bool { return v <= limit })
	last := len(ratio) - 1
	for ratio[last] > limit {
		last--
	}
	lo, hi = math.Inf(-1), math.Inf(1)
	if first > 0 {
		lo = x[first-1]
	}
	if last < len(x) {
		hi = x[last]
	}
	return lo, hi
}

// effect returns the variance σ²·deff of an event's value about the rate near x:
// over events within reach of it, or within half a bin where reach is less. A
// node's events are spread evenly between the middles to its neighbours, and the
// share of them within reach, ω_b, is a random part of them:
//
//	r = Σ ω_b·Y_b/Σ ω_b·N_b,  e_gb = Y_gb − r·N_gb,  S_b = Σ(y − r)² over events
//	σ² = Σ ω_b·S_b/Σ ω_b·N_b
//	deff = 1 + Σ over both kinds of clusters max(0, Σ_g(Σ_b ω_b·e_gb)²·G/(G−1) − Σ ω_b²·S_b)/Σ ω_b·S_b
func (b *Band) effect(x, reach float64) float64 {
	c := b.Curve
	last := len(c.X) - 1
	at, _, _ := place(c.X, x)
	reach = max(reach, (c.X[min(at+1, last)]-c.X[at])/2)
	share := make([]float64, last+1)
	var n, y float64
	sumN, sumY := c.N, make([]float64, last+1)
	for i := range share {
		low, high := c.X[i]-c.Width/2, c.X[i]+c.Width/2
		if i > 0 {
			low = (c.X[i-1] + c.X[i]) / 2
		}
		if i < last {
			high = (c.X[i] + c.X[i+1]) / 2
		}
		share[i] = max(0, min(high, x+reach)-max(low, x-reach)) / (high - low)
		sumY[i] = c.Rate[i] * c.N[i]
		n += float64(share[i] * sumN[i])
		y += float64(share[i] * sumY[i])
	}
	r := y / n
	excess := func(t *Table, nodes []int) (events, more float64) {
		score, _, events, own := t.residuals(nodes, func(node int) (weight, fit float64, ok bool) {
			return share[node], r, share[node] != 0
		})
		var g float64
		for _, v := range score {
			if v != 0 {
				g++
				more += float64(v * v)
			}
		}
		if g < 2 {
			return events, 0
		}
		return events, max(0, float64(more*g/(g-1))-own)
	}
	events, more := excess(c.table, c.nodes())
	if b.Second != nil {
		_, also := excess(b.Second.table, b.Second.nodes)
		more += also
	}
	return (events + more) / n
}

// monotoneRatio returns LR(0) … LR(m) of limits: what the best fit under each split
// explains less than the best non-decreasing one. Both come from pooling adjacent
// violators (see Isotonic) once from either side, as the fit of a first part of the
// data, cut at 0, is what the split asks for.
func monotoneRatio(y, w []float64) []float64 {
	m := len(y)
	// explained returns, for each number of values taken in order, Σ W·mean² over
	// the blocks of their monotone fit, and over those that lie on the side given.
	explained := func(y, w func(i int) float64) (whole, below []float64) {
		type block struct{ mean, weight, whole, below float64 }
		blocks := []block{{}}
		whole, below = make([]float64, m+1), make([]float64, m+1)
		for i := range m {
			b := block{mean: y(i), weight: w(i)}
			for len(blocks) > 1 && blocks[len(blocks)-1].mean > b.mean {
				last := blocks[len(blocks)-1]
				blocks = blocks[:len(blocks)-1]
				weight := last.weight + b.weight
				b.mean = (float64(last.weight*last.mean) + float64(b.weight*b.mean)) / weight
				b.weight = weight
			}
			before, gain := blocks[len(blocks)-1], float64(b.weight*float64(b.mean*b.mean))
			b.whole, b.below = before.whole+gain, before.below
			if b.mean < 0 {
				b.below += gain
			}
			blocks = append(blocks, b)
			whole[i+1], below[i+1] = b.whole, b.below
		}
		return whole, below
	}
	whole, left := explained(func(i int) float64 { return y[i] }, func(i int) float64 { return w[i] })
	_, right := explained(func(i int) float64 { return -y[m-1-i] }, func(i int) float64 { return w[m-1-i] })
	out := make([]float64, m+1)
	for j := range out {
		out[j] = max(0, whole[m]-left[j]-right[m-j])
	}
	return out
}
