package stats

import (
	"math"
	"slices"
)

// Table holds the clustered counts of one curve, sparse by bin. Only bins with
// at least one event are nodes. Read only once built.
type Table struct {
	X        []float64 // node of each bin: mean of the variable over its events, ascending
	Gap      []int32   // empty bins between node b and b+1, len Bins()−1; nil: none
	Start    []int32   // entries of bin b are Start[b] … Start[b+1]−1, len Bins()+1
	Cluster  []int32   // per entry, 0 ≤ cluster < Clusters, ascending within a bin
	N, Y     []float64 // per entry: number of events (> 0), sum of their values
	YY       []float64 // per bin: Σy² over events; nil where values are 0 or 1 (then it is ΣY)
	Clusters int       // clusters of the numbering, with an event or not
	Parts    *Parts    // the same events in finer bins; nil: not known
}

// check panics unless the table is well formed.
func (t *Table) check() {
	b := len(t.X)
	ok := len(t.Start) == b+1 && len(t.N) == len(t.Cluster) && len(t.Y) == len(t.Cluster) &&
		(t.YY == nil || len(t.YY) == b) && (t.Gap == nil || len(t.Gap) == max(0, b-1))
	for i := 0; ok && i < b; i++ {
		lo, hi := t.Start[i], t.Start[i+1]
		ok = lo < hi && int(hi) <= len(t.Cluster) && (i == 0 || t.X[i] > t.X[i-1])
		for e := lo; ok && e < hi; e++ {
			g := t.Cluster[e]
			ok = g >= 0 && int(g) < t.Clusters && t.N[e] > 0 && (e == lo || g > t.Cluster[e-1])
		}
	}
	if !ok || b > 0 && int(t.Start[b]) != len(t.Cluster) {
		panic("stats: a table is malformed")
	}
}

// Bins returns the number of nodes.
func (t *Table) Bins() int { return len(t.X) }

// Events returns the events of all bins.
func (t *Table) Events() float64 { return total(t.N) }

// Sums returns events and sum of values by bin.
func (t *Table) Sums() (n, y []float64) {
	n, y = make([]float64, t.Bins()), make([]float64, t.Bins())
	for b := range n {
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			n[b] += t.N[e]
			y[b] += t.Y[e]
		}
	}
	return n, y
}

// ByCluster returns events and sum of values by cluster.
func (t *Table) ByCluster() (n, y []float64) {
	n, y = make([]float64, t.Clusters), make([]float64, t.Clusters)
	for e, g := range t.Cluster {
		n[g] += t.N[e]
		y[g] += t.Y[e]
	}
	return n, y
}

// Active returns the number of clusters with an event.
func (t *Table) Active() int {
	n, _ := t.ByCluster()
	return withEvents(n)
}

// EffectiveClusters returns the effective number of clusters.
func (t *Table) EffectiveClusters() float64 {
	n, _ := t.ByCluster()
	return EffectiveNumber(n)
}

// EndBins finds the open end bins: from each end bins are taken until they hold
// minEvents events and minClusters clusters. Bins 0…first and last…Bins()−1 are
// the two blocks. ok is false where an end never holds enough or the blocks
// meet: the table is then too small to pool.
func (t *Table) EndBins(minEvents float64, minClusters int) (first, last int, ok bool) {
	reach := func(from, step int) int {
		seen := make([]bool, t.Clusters)
		events, clusters := 0.0, 0
		for b := from; b >= 0 && b < t.Bins(); b += step {
			for e := t.Start[b]; e < t.Start[b+1]; e++ {
				events += t.N[e]
				if g := t.Cluster[e]; !seen[g] {
					seen[g] = true
					clusters++
				}
			}
			if events >= minEvents && clusters >= minClusters {
				return b
			}
		}
		return -1
	}
	first, last = reach(0, 1), reach(t.Bins()-1, -1)
	return first, last, first >= 0 && first < last
}

// Merge returns the table with bins 0…first as one and last…Bins()−1 as one,
// nodes at the mean of their events. Panics unless 0 ≤ first < last < Bins().
func (t *Table) Merge(first, last int) *Table {
	if !(0 <= first && first < last && last < t.Bins()) {
		panic("stats: Merge needs two blocks that do not meet")
	}
	out := &Table{Start: []int32{0}, Clusters: t.Clusters, Parts: t.Parts}
	if t.Gap != nil {
		out.Gap = slices.Clone(t.Gap[first:last])
	}
	sums := NewSums(t.Clusters)
	for from := 0; from < t.Bins(); {
		to := from
		switch from {
		case 0:
			to = first
		case last:
			to = t.Bins() - 1
		}
		var n, nx float64
		for b := from; b <= to; b++ {
			for e := t.Start[b]; e < t.Start[b+1]; e++ {
				n += t.N[e]
				nx += float64(t.N[e] * t.X[b])
				sums.Add(t.Cluster[e], t.N[e], t.Y[e], 0)
			}
			if t.YY != nil {
				sums.YY += t.YY[b]
			}
		}
		x := nx / n
		if from == to {
			x = t.X[from]
		}
		sums.Flush(out, x, nil)
		from = to + 1
	}
	if t.YY == nil {
		out.YY = nil
	}
	return out
}

// Kind says what an event's value is.
type Kind int

// The kinds of values.
const (
	Proportion Kind = iota // 0 or 1
	Mean                   // any number
)

// Bin describes one bin of a table.
type Bin struct {
	N, Y, Rate float64
	Clusters   int     // clusters with an event
	Effective  float64 // (Σn)²/Σn² over clusters
	Largest    float64 // share of the largest cluster
	VJ         float64 // Σ[(Y_p − r·n_p)/(n − n_p)]²; NaN with fewer than 2 clusters
	Extra      float64 // max(0, V_second − V_event); 0 without a second kind of cluster
	DEff       float64 // design effect (Proportion); NaN for Mean
	T          float64 // Student quantile used; NaN with fewer than 2 clusters
	Lo, Hi     float64 // 95 % limits; NaN with fewer than 2 clusters
}

// Bin describes bin b and gives its 95 % interval. second holds the same events
// counted by a second kind of cluster, as far as it is known (its bin is found by
// its X where it has fewer), or is nil. G is the smaller number of clusters in the
// bin, t = t_.975(G − 1), V_J the leave-one-cluster-out variance
// about the bin's own rate r:
//
//	V_J = Σ_p [(Y_p − r·n_p)/(n − n_p)]²
//	Proportion: Wilson at n/deff with z := t, deff = max(1, (V_J + extra)/(r(1−r)/n)),
//	            1 where r is 0 or 1
//	Mean:       r ± t·√max(V_J(G−1)/G + extra, s²/n), s² the variance of the events
//	extra     = max(0, V_second − V_event), both in the same leave-one-out form
//
// With fewer than 2 clusters there is no interval (NaN).
//
// Source: Wilson 1927; effective sample size as in Korn & Graubard 1998; the
// two-way sum of Cameron, Gelbach & Miller 2011, JBES 29:238 (from memory).
func (t *Table) Bin(b int, kind Kind, second *Table) Bin {
	o := t.spread(b)
	yy := t.squares(b, o.Y)
	g := o.Clusters
	if second == nil {
		return o.interval(kind, g, yy)
	}
	at := b
	if second.Bins() != t.Bins() {
		at = slices.Index(second.X, t.X[b])
	}
	if at < 0 {
		return o.interval(kind, g, yy) // no second cluster is known here
	}
	s := second.spread(at)
	if s.N > o.N {
		panic("stats: the second clusters count other events")
	}
	known, squares := o, yy
	if s.N != o.N {
		if s.Clusters < 2 {
			return o.interval(kind, g, yy)
		}
		known, squares = s, second.squares(at, s.Y)
	}
	g = min(g, s.Clusters)
	if g >= 2 {
		events := max(0, squares-float64(known.Y*known.Rate)) / ((s.N - 1) * (s.N - 1))
		o.Extra = max(0, s.VJ-events)
		if kind == Mean {
			k := float64(s.Clusters)
			o.Extra = max(0, s.VJ*(k-1)/k-events*(s.N-1)/s.N)
		}
	}
	return o.interval(kind, g, yy)
}

// squares returns Σy² over the events of a bin.
func (t *Table) squares(b int, y float64) float64 {
	if t.YY == nil {
		return y
	}
	return t.YY[b]
}

// residuals sums what is left of each cluster's values beside a fit, weighted by node:
// score Σ w·(Y − fit·N) and events by cluster, and over events Σ w·(y − fit)² and
// Σ w²·(y − fit)². nodes says which node each bin is; at is not ok for one to leave out.
func (t *Table) residuals(nodes []int, at func(node int) (weight, fit float64, ok bool)) (score, count []float64, single, square float64) {
	score, count = make([]float64, t.Clusters), make([]float64, t.Clusters)
	for k, node := range nodes {
		w, fit, ok := at(node)
		if !ok {
			continue
		}
		var binN, binY float64
		for e := t.Start[k]; e < t.Start[k+1]; e++ {
			score[t.Cluster[e]] += float64(w * (t.Y[e] - float64(fit*t.N[e])))
			count[t.Cluster[e]] += t.N[e]
			binN += t.N[e]
			binY += t.Y[e]
		}
		s := max(0, t.squares(k, binY)-float64(2*fit*binY)+float64(float64(fit*fit)*binN))
		single += float64(w * s)
		square += float64(float64(w*w) * s)
	}
	return score, count, single, square
}

// spread fills all but the interval.
func (t *Table) spread(b int) Bin {
	n, y := t.N[t.Start[b]:t.Start[b+1]], t.Y[t.Start[b]:t.Start[b+1]]
	o := Bin{}
	for e := range n {
		o.N += n[e]
		o.Y += y[e]
	}
	o.Clusters, o.Effective, o.Largest = Concentration(n)
	o.Rate = o.Y / o.N
	o.VJ = math.NaN()
	if o.Clusters >= 2 {
		o.VJ = 0
		for e := range n {
			d := (y[e] - float64(o.Rate*n[e])) / (o.N - n[e])
			o.VJ += float64(d * d)
		}
	}
	return o
}

// interval adds design effect, quantile and limits for g clusters.
func (o Bin) interval(kind Kind, g int, yy float64) Bin {
	nan := math.NaN()
	o.DEff, o.T, o.Lo, o.Hi = nan, nan, nan, nan
	if g < 2 {
		return o
	}
	o.T = TQuantile(.975, float64(g-1))
	if kind == Mean {
		c := float64(o.Clusters)
		events := max(0, yy-float64(o.Y*o.Rate)) / (o.N - 1) / o.N
		half := o.T * math.Sqrt(max(o.VJ*(c-1)/c+o.Extra, events))
		o.Lo, o.Hi = o.Rate-half, o.Rate+half
		return o
	}
	o.DEff = 1
	if o.Y > 0 && o.Y < o.N {
		o.DEff = max(1, (o.VJ+o.Extra)/(o.Rate*(1-o.Rate)/o.N))
	}
	o.Lo, o.Hi = WilsonDesign(o.Y, o.N, o.DEff, o.T)
	return o
}
