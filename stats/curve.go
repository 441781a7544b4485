package stats

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// Curve is a smooth curve through the bins of a table and its joint replicates.
// Read only.
type Curve struct {
	X, N, Rate, F  []float64 // node, events, raw rate and smooth rate by bin
	Gap            []int32   // empty bins between nodes b and b+1, len B−1; nil: none
	Width          float64   // bin width, in units of x
	Lambda         float64   // smoothing parameter chosen by REML
	Pooled         float64   // ΣY/ΣN
	G              int       // clusters with an event
	Drawn          int       // clusters that are drawn, with an event or without
	Geff           float64   // effective clusters
	Replicates     int
	RepF           []float64 // smooth rates, Replicates × B, one row per replicate
	RepLambda      []float64 // by replicate
	RepPooled      []float64 // ΣY/ΣN by replicate
	BootLo, BootHi []float64 // percentile cluster-bootstrap 95 % limits of the raw rate by bin

	table     *Table // nil where rates were made elsewhere (FitRates)
	quantiles *quantiles
	grid      []float64
	variance  []float64 // of F* over replicates, by node
	next      []float64 // covariance of F* at node b and b+1
	mean      []float64 // of F* over replicates
}

// FitCurve fits the table and every replicate of the weights, whose clusters
// are the table's: in each, rates, λ (anew) and twicing. Where fewer than 4
// nodes have weight in a replicate it takes the point λ, where fewer than 2 have
// it takes the point curve; the pooled rate of a replicate without an event is
// the point's. The percentile limits are type 7 quantiles over the replicates in
// which the bin has an event. Panics on a table without an event.
//
// Source: Davison & Hinkley 1997, section 3.8 (resampling whole clusters).
func FitCurve(t *Table, width float64, w *Weights, grid []float64) *Curve {
	c := newCurve(t, width, w, grid)
	b := t.Bins()
	c.RepPooled, c.BootLo, c.BootHi = make([]float64, w.Replicates), make([]float64, b), make([]float64, b)
	c.table, c.quantiles = t, &quantiles{}
	n, y := t.Sums()
	c.N = n
	sumN, sumY := 0.0, 0.0
	for i := range n {
		c.Rate[i] = y[i] / n[i]
		sumN += n[i]
		sumY += y[i]
	}
	c.Pooled = sumY / sumN
	s := c.smoother()
	c.Lambda = s.Fit(c.Rate, n, c.F, grid[0])
	c.replicate(t, w, s)
	c.spread()
	return c
}

// newCurve returns a curve that is not fitted.
func newCurve(t *Table, width float64, w *Weights, grid []float64) *Curve {
	t.check()
	if t.Bins() == 0 || !(width > 0) || t.Clusters != w.Clusters {
		panic("stats: a curve needs an event, a width, and weights for the table's clusters")
	}
	b := t.Bins()
	return &Curve{X: t.X, Gap: t.Gap, Width: width, G: t.Active(), Drawn: w.Clusters, Geff: t.EffectiveClusters(),
		Replicates: w.Replicates, N: make([]float64, b), Rate: make([]float64, b), F: make([]float64, b),
		RepF: make([]float64, w.Replicates*b), RepLambda: make([]float64, w.Replicates), grid: grid}
}

// nodes numbers the nodes, as the bins of the curve's own table.
func (c *Curve) nodes() []int {
	out := make([]int, len(c.X))
	for i := range out {
		out[i] = i
	}
	return out
}

func (c *Curve) smoother() *Smoother {
	x := make([]float64, len(c.X))
	for i, v := range c.X {
		x[i] = v / c.Width
	}
	return NewSmoother(x, c.grid)
}

// replicate sums and fits every replicate.
func (c *Curve) replicate(t *Table, w *Weights, s *Smoother) {
	b := len(c.X)
	sumN, sumY := make([]float64, b*wide), make([]float64, b*wide)
	n, y := make([]float64, b), make([]float64, b)
	raw, seen := make([]float64, b*w.Replicates), make([]int, b) // raw rates by bin
	for first := 0; first < w.Replicates; first += wide {
		weigh(t, w.blocks[first*w.Clusters:], sumN, sumY)
		for k := range min(wide, w.Replicates-first) {
			r := first + k
			allN, allY, positive := 0.0, 0.0, 0
			for i := range b {
				n[i] = sumN[i*wide+k]
				y[i] = c.F[i]
				if n[i] > 0 {
					y[i] = sumY[i*wide+k] / n[i]
					raw[i*w.Replicates+seen[i]] = y[i]
					seen[i]++
					positive++
				}
				allN += n[i]
				allY += sumY[i*wide+k]
			}
			c.RepPooled[r] = c.Pooled
			if allN > 0 {
				c.RepPooled[r] = allY / allN
			}
			c.fitReplicate(s, r, positive, y, n)
		}
	}
	for i := range b {
		v := raw[i*w.Replicates : i*w.Replicates+seen[i]]
		c.BootLo[i], c.BootHi[i] = percentile(v, .025), percentile(v, .975)
	}
}

// fitReplicate fits replicate r, in which so many nodes have events.
func (c *Curve) fitReplicate(s *Smoother, r, positive int, y, n []float64) {
	b := len(c.X)
	row := c.RepF[r*b : (r+1)*b]
	c.RepLambda[r] = c.Lambda
	if positive < min(2, b) {
		copy(row, c.F)
		return
	}
	c.RepLambda[r] = s.Fit(y, n, row, c.Lambda)
}

// FitRates is FitCurve for rates that are not sums over sums: rates writes events and
// rates by node where each cluster of the table is drawn count times; a node without
// an event has no say. Pooled rates and percentile limits are not filled. It returns
// nil where fewer than two nodes have events, or the only one has none.
func FitRates(t *Table, width float64, w *Weights, grid []float64, rates func(count []uint8, n, rate []float64)) *Curve {
	c := newCurve(t, width, w, grid)
	b := t.Bins()
	n, y := make([]float64, b), make([]float64, b)
	fill := func(count []uint8, n, y []float64) (positive int) {
		rates(count, n, y)
		for i := range n {
			if n[i] > 0 {
				positive++
			} else {
				y[i] = c.F[i]
			}
		}
		return positive
	}
	if fill(slices.Repeat([]uint8{1}, w.Clusters), c.N, c.Rate) < min(2, b) {
		return nil
	}
	s := c.smoother()
	c.Lambda = s.Fit(c.Rate, c.N, c.F, grid[0])
	for r := range w.Replicates {
		c.fitReplicate(s, r, fill(w.Row(r), n, y), y, n)
	}
	c.spread()
	return c
}

// weigh sums multiplicity × events and × values by bin for a block of
// replicates: the sparse product of weights and table, one entry at a time.
func weigh(t *Table, block, sumN, sumY []float64) {
	clear(sumN)
	clear(sumY)
	for b := range t.X {
		n, y := sumN[b*wide:(b+1)*wide], sumY[b*wide:(b+1)*wide]
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			g := int(t.Cluster[e])
			w := block[g*wide : (g+1)*wide]
			floats.AddScaled(n, t.N[e], w)
			if t.Y[e] != 0 {
				floats.AddScaled(y, t.Y[e], w)
			}
		}
	}
}

// spread gathers mean, variance and neighbour covariance of F* over replicates.
func (c *Curve) spread() {
	b := len(c.X)
	c.mean, c.variance, c.next = make([]float64, b), make([]float64, b), make([]float64, max(0, b-1))
	if c.Replicates < 2 {
		return
	}
	for r := range c.Replicates {
		for i, v := range c.RepF[r*b : (r+1)*b] {
			c.mean[i] += v
		}
	}
	for i := range c.mean {
		c.mean[i] /= float64(c.Replicates)
	}
	for r := range c.Replicates {
		row := c.RepF[r*b : (r+1)*b]
		before := 0.0
		for i, v := range row {
			d := v - c.mean[i]
			c.variance[i] += float64(d * d)
			if i > 0 {
				c.next[i-1] += float64(before * d)
			}
			before = d
		}
	}
	for i := range c.variance {
		c.variance[i] /= float64(c.Replicates - 1)
	}
	for i := range c.next {
		c.next[i] /= float64(c.Replicates - 1)
	}
}

// inflate returns G/(G−1), which a variance over replicates falls short by, G being
// the clusters that are drawn, with or without an event in the table: where few of
// many have one, their number varies by replicate, which makes up for the rest.
// +Inf for a single cluster with an event.
func (c *Curve) inflate() float64 {
	if c.G < 2 {
		return math.Inf(1)
	}
	return float64(c.Drawn) / float64(c.Drawn-1)
}

// DF returns the degrees of freedom: effective clusters (the fewer of both kinds
// where there are two) less 1, at least 1.
func (c *Curve) DF(second *SecondWay) float64 {
	g := c.Geff
	if second != nil {
		g = min(g, second.Geff)
	}
	return max(1, g-1)
}

// place returns the node left of x and the share of the way to the next; false
// outside the nodes.
func place(nodes []float64, x float64) (b int, share float64, ok bool) {
	last := len(nodes) - 1
	if last < 0 || !(x >= nodes[0] && x <= nodes[last]) {
		return 0, 0, false
	}
	b = sort.SearchFloat64s(nodes, x)
	if nodes[b] == x {
		if b == last && last > 0 {
			return last - 1, 1, true
		}
		return b, 0, true
	}
	b--
	return b, (x - nodes[b]) / (nodes[b+1] - nodes[b]), true
}

// blend interpolates between v[b] and v[b+1]; exactly either at its end.
func blend(v []float64, b int, share float64) float64 {
	if share == 0 {
		return v[b]
	}
	return float64((1-share)*v[b]) + float64(share*v[b+1])
}

// At returns the curve at x, linear between nodes; NaN outside them.
func (c *Curve) At(x float64) float64 {
	b, share, ok := place(c.X, x)
	if !ok {
		return math.NaN()
	}
	return blend(c.F, b, share)
}

// RepAt returns the replicates of the curve at x; all NaN outside the nodes.
func (c *Curve) RepAt(x float64) []float64 {
	at, share, ok := place(c.X, x)
	if !ok {
		return slices.Repeat([]float64{math.NaN()}, c.Replicates)
	}
	out, b := make([]float64, c.Replicates), len(c.X)
	for r := range out {
		out[r] = blend(c.RepF[r*b:(r+1)*b], at, share)
	}
	return out
}

// Line is a value that curves are compared with.
type Line struct {
	Value float64
	Rep   []float64 // by replicate, drawn jointly with the curve's; nil: without error
	// Second is what second clusters do to the line; nil neglects it.
	Second *LineSecond
}

// at returns the line in replicate r.
func (l Line) at(r int) float64 {
	if l.Rep == nil {
		return l.Value
	}
	return l.Rep[r]
}

// variance is that of the line over its replicates, 0 of a fixed one.
func (l Line) variance() float64 {
	if len(l.Rep) < 2 {
		return 0
	}
	return stat.Variance(l.Rep, nil)
}

// check panics unless the line has a replicate for each of the curve's.
func (c *Curve) check(l Line) {
	if l.Rep != nil && len(l.Rep) != c.Replicates {
		panic("stats: a line needs a replicate for each of the curve's")
	}
}

// Against returns the advantage D = sign·(F − line) on the fine grid: nodes and
// 8 substeps per gap, D linear, variance from the covariance over replicates of
// D* at the two nodes, times G/(G−1), plus what the second kind of cluster adds
// (nil: one kind). T = D/se, and 0 where se is 0 or infinite (no spread shows
// nothing). Panics unless sign is +1 or −1.
func (c *Curve) Against(l Line, sign float64, second *SecondWay) *Band {
	c.check(l)
	if sign != 1 && sign != -1 {
		panic("stats: Against needs a sign of +1 or -1")
	}
	b := len(c.X)
	variance, next := c.against(l)
	size := Substeps*(b-1) + 1
	out := &Band{X: make([]float64, size), D: make([]float64, size), SE: make([]float64, size),
		T: make([]float64, size), DF: c.DF(second), Sign: sign, Line: l, Curve: c, Second: second}
	out.Crit = c.quantiles.at(.975, out.DF)
	d := make([]float64, b)
	for i, f := range c.F {
		d[i] = sign * (f - l.Value)
	}
	var own, between []float64
	if second != nil {
		own, between = second.beside(l.Second)
	}
	for g := range out.X {
		i, share := g/Substeps, float64(g%Substeps)/Substeps
		out.X[g], out.D[g] = c.X[i], d[i]
		v := variance[i]
		if share > 0 {
			out.X[g] = c.X[i] + float64(share*(c.X[i+1]-c.X[i]))
			out.D[g] = blend(d, i, share)
			v = quadratic(variance, next, i, share)
		}
		if second != nil {
			v += along(own, between, i, share)
		}
		out.SE[g] = math.Sqrt(max(0, v))
		if out.SE[g] > 0 {
			out.T[g] = out.D[g] / out.SE[g]
		}
	}
	return out
}

// quadratic is the variance of a linear blend of two neighbours.
func quadratic(variance, next []float64, i int, t float64) float64 {
	s := 1 - t
	return float64(float64(s*s)*variance[i]) + float64(float64(t*t)*variance[i+1]) + float64(float64(2*t*s)*next[i])
}

// against returns variance and neighbour covariance of D* = F* − line*, times
// G/(G−1).
func (c *Curve) against(l Line) (variance, next []float64) {
	b := len(c.X)
	with := make([]float64, b) // covariance of F* and line*
	var own float64            // variance of line*
	if l.Rep != nil && c.Replicates >= 2 {
		var mean float64
		for _, v := range l.Rep {
			mean += v
		}
		mean /= float64(c.Replicates)
		for r, v := range l.Rep {
			d := v - mean
			own += float64(d * d)
			row := c.RepF[r*b : (r+1)*b]
			for i := range with {
				with[i] += float64(d * (row[i] - c.mean[i]))
			}
		}
		for i := range with {
			with[i] /= float64(c.Replicates - 1)
		}
		own /= float64(c.Replicates - 1)
	}
	k := c.inflate()
	variance, next = make([]float64, b), make([]float64, len(c.next))
	for i := range variance {
		variance[i] = (c.variance[i] - 2*with[i] + own) * k
	}
	for i := range next {
		next[i] = (c.next[i] - with[i] - with[i+1] + own) * k
	}
	return variance, next
}
