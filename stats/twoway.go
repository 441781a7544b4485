package stats

import "math"

// SecondWay holds what a second kind of cluster (the other party of every event)
// adds to the variance of a curve. Where events share both a first and a second
// cluster, the two-way variance is
//
//	V(x) = V_first(x) + max(0, V_second(x) − V_event(x)).
//
// The last two come from the scores of f through the fitted linear smoother: with
// L = S(2I − S) at the point λ, r_b the raw rates and row x of L interpolated,
//
//	score of second cluster g: e_g(x) = Σ_b L_xb·(Y_gb − r_b·N_gb)/N_b
//	V_second(x) = G/(G−1)·Σ_g e_g(x)²
//	V_event(x)  = Σ_b L_xb²·Σ(y − r_b)²/(N_b(N_b − 1))
//
// The second clusters' part of the line is neglected.
//
// Where the second cluster of some events is unknown, the three sums run over the
// events whose second cluster is known, with their own N_b and r_b, as if the
// unknown were like the known; a node without any adds nothing. Read only.
//
// Source: Cameron, Gelbach & Miller 2011, JBES 29:238 (the sum; from memory);
// delta method through the smoother at fixed λ.
type SecondWay struct {
	Clusters int     // second clusters with an event
	Geff     float64 // effective second clusters

	curve  *Curve
	table  *Table    // events by second cluster
	nodes  []int     // the curve's node of each of its bins
	score  []float64 // per cluster of the numbering, by node; rows of zeros without an event
	number int       // clusters of the numbering
	l      []float64 // the operator, by rows
	event  []float64 // Σ(y − r_b)²/(N_b(N_b − 1)) by node
	square []float64 // Σ(y − r_b)²/N_b by node
	own    []float64 // V_second − V_event by node
	next   []float64 // the same between node b and b+1
	pooled float64   // V_second − V_event of ΣY/ΣN

	total      []float64 // Y_g − N_g·ΣY/ΣN by second cluster
	all, allYY float64   // ΣN and Σ(y − ΣY/ΣN)²
}

// NewSecondWay takes the curve's own events counted by the second kind of cluster.
// A node is found by its X and may be absent. Panics on a node that is none of
// the curve's, and on more events than the curve has there.
func NewSecondWay(c *Curve, second *Table) *SecondWay {
	second.check()
	b := len(c.X)
	nodes := nodesOf(c.X, second)
	n, y := second.Sums()
	whole := len(n) == b
	sumN, sumY := 0.0, 0.0
	for k, i := range nodes {
		if n[k] > c.N[i] {
			panic("stats: the second clusters count other events")
		}
		whole = whole && n[k] == c.N[i]
		sumN += n[k]
		sumY += y[k]
	}
	pooled := c.Pooled
	if !whole {
		pooled = sumY / sumN
	}
	s := &SecondWay{Clusters: second.Active(), Geff: second.EffectiveClusters(), curve: c, table: second, nodes: nodes,
		number: second.Clusters, score: make([]float64, second.Clusters*b), event: make([]float64, b),
		square: make([]float64, b), own: make([]float64, b), next: make([]float64, max(0, b-1)),
		total: make([]float64, second.Clusters)}
	s.l = c.smoother().Operator(c.Lambda, c.N)
	for k, i := range nodes {
		rate := c.Rate[i]
		if n[k] != c.N[i] {
			rate = y[k] / n[k]
		}
		yy := second.squares(k, y[k])
		if n[k] > 1 {
			s.event[i] = max(0, yy-float64(y[k]*rate)) / (n[k] * (n[k] - 1))
			s.square[i] = float64(s.event[i] * (n[k] - 1))
		}
		s.all += n[k]
		s.allYY += yy - float64(2*pooled*y[k]) + float64(float64(pooled*pooled)*n[k])
		for e := second.Start[k]; e < second.Start[k+1]; e++ {
			g := int(second.Cluster[e])
			v := (second.Y[e] - float64(rate*second.N[e])) / n[k]
			row := s.score[g*b : (g+1)*b]
			for j := range row {
				row[j] += float64(s.l[j*b+i] * v)
			}
			s.total[g] += second.Y[e] - float64(pooled*second.N[e])
		}
	}
	for g := range second.Clusters {
		row := s.score[g*b : (g+1)*b]
		for j, v := range row {
			s.own[j] += float64(v * v)
			if j > 0 {
				s.next[j-1] += float64(row[j-1] * v)
			}
		}
	}
	k := s.inflate()
	for j := range s.own {
		s.own[j] = float64(s.own[j]*k) - s.events(s.l[j*b:(j+1)*b], s.l[j*b:(j+1)*b])
	}
	for j := range s.next {
		s.next[j] = float64(s.next[j]*k) - s.events(s.l[j*b:(j+1)*b], s.l[(j+1)*b:(j+2)*b])
	}
	sum := 0.0
	for _, v := range s.total {
		sum += float64(v * v)
	}
	if s.all > 1 {
		s.pooled = (float64(sum*k) - s.allYY*s.all/(s.all-1)) / (s.all * s.all)
	}
	return s
}

// LineSecond is what second clusters do to a line: to the pooled rate m of its
// events, whose scores stand for those of a median too. Read only.
//
//	score of second cluster g: (Y_g − m·N_g)/ΣN
type LineSecond struct {
	Geff float64 // effective second clusters

	score  []float64
	events float64 // ΣN
	own    float64 // V_second − V_event
}

// NewLineSecond takes the events and values of a line by second cluster, numbered
// as those of the curves are, and the sum of squared values. Nil without at least
// two second clusters.
func NewLineSecond(n, y []float64, yy float64) *LineSecond {
	var sumN, sumY, g float64
	for i := range n {
		sumN += n[i]
		sumY += y[i]
		if n[i] > 0 {
			g++
		}
	}
	if g < 2 {
		return nil
	}
	l := &LineSecond{Geff: EffectiveNumber(n), score: make([]float64, len(n)), events: sumN}
	m, sum := sumY/sumN, 0.0
	for i := range n {
		l.score[i] = (y[i] - float64(m*n[i])) / sumN
		sum += float64(l.score[i] * l.score[i])
	}
	l.own = float64(sum*g/(g-1)) - max(0, yy-float64(m*sumY))/(sumN*(sumN-1))
	return l
}

// Own returns max(0, V_second − V_event) of the line; 0 for nil.
func (l *LineSecond) Own() float64 {
	if l == nil {
		return 0
	}
	return max(0, l.own)
}

// beside returns V_second − V_event of f − m by node and between neighbours. The
// curve's events are among the line's, so the two share events too.
func (s *SecondWay) beside(l *LineSecond) (own, next []float64) {
	if l == nil {
		return s.own, s.next
	}
	if len(l.score) != s.number {
		panic("stats: a line needs second clusters that are numbered as the curve's")
	}
	b := len(s.own)
	with := make([]float64, b) // covariance of f and m
	for g, m := range l.score {
		for j, v := range s.score[g*b : (g+1)*b] {
			with[j] += float64(v * m)
		}
	}
	k := s.inflate()
	own, next = make([]float64, b), make([]float64, len(s.next))
	for j := range with {
		shared := 0.0
		for i, v := range s.square {
			shared += float64(s.l[j*b+i] * v)
		}
		with[j] = float64(with[j]*k) - shared/l.events
		own[j] = s.own[j] - 2*with[j] + l.own
	}
	for j := range next {
		next[j] = s.next[j] - with[j] - with[j+1] + l.own
	}
	return own, next
}

// pooledBeside returns max(0, V_second − V_event) of ΣY/ΣN − m.
func (s *SecondWay) pooledBeside(l *LineSecond) float64 {
	if l == nil || s.all == 0 {
		return s.Pooled()
	}
	with := 0.0
	for g, m := range l.score {
		with += float64(s.total[g] * m)
	}
	with = (float64(with*s.inflate()) - s.allYY/l.events) / s.all
	return max(0, s.pooled-2*with+l.own)
}

// nodesOf returns which node each bin of second is: all of them in order, or those
// at the same X. Panics where there is no such node.
func nodesOf(x []float64, second *Table) []int {
	nodes := make([]int, second.Bins())
	at := 0
	for k := range nodes {
		for len(nodes) < len(x) && at < len(x) && x[at] != second.X[k] {
			at++
		}
		if at == len(x) {
			panic("stats: the second clusters count other bins")
		}
		nodes[k] = at
		at++
	}
	return nodes
}

// inflate returns G/(G−1); for a single cluster +Inf is of no use and it is 1.
func (s *SecondWay) inflate() float64 {
	if s.Clusters < 2 {
		return 1
	}
	return float64(s.Clusters) / float64(s.Clusters-1)
}

// events is V_event between two rows of the operator.
func (s *SecondWay) events(a, b []float64) float64 {
	sum := 0.0
	for i, v := range s.event {
		sum += float64(float64(a[i]*b[i]) * v)
	}
	return sum
}

// along is a variance between two nodes, at least 0.
func along(own, next []float64, b int, share float64) float64 {
	if share == 0 {
		return max(0, own[b])
	}
	return max(0, quadratic(own, next, b, share))
}

// Along returns max(0, V_second − V_event) of Σ a_b·F_b.
func (s *SecondWay) Along(a []float64) float64 {
	b := len(s.curve.X)
	row := make([]float64, b)
	for j, v := range a {
		for i := range row {
			row[i] += float64(v * s.l[j*b+i])
		}
	}
	sum := 0.0
	for g := range s.number {
		e := 0.0
		for j, v := range s.score[g*b : (g+1)*b] {
			e += float64(a[j] * v)
		}
		sum += float64(e * e)
	}
	return max(0, float64(sum*s.inflate())-s.events(row, row))
}

// Pooled returns max(0, V_second − V_event) of ΣY/ΣN.
func (s *SecondWay) Pooled() float64 { return max(0, s.pooled) }

// Difference returns max(0, V_second − V_event) of the curve at x less the other
// curve at x, by the difference's own scores. Both must number their second
// clusters alike and share no event. NaN outside either's nodes.
func (s *SecondWay) Difference(o *SecondWay, x float64) float64 {
	if s.number != o.number {
		panic("stats: Difference needs second clusters that are numbered alike")
	}
	i, p, ok := place(s.curve.X, x)
	j, q, ok2 := place(o.curve.X, x)
	if !ok || !ok2 {
		return math.NaN()
	}
	bs, bo := len(s.curve.X), len(o.curve.X)
	cross := 0.0
	for g := range s.number {
		cross += float64(blend(s.score[g*bs:(g+1)*bs], i, p) * blend(o.score[g*bo:(g+1)*bo], j, q))
	}
	k := math.Sqrt(float64(s.inflate() * o.inflate()))
	return max(0, s.raw(i, p)+o.raw(j, q)-float64(2*cross*k))
}

// raw is V_second − V_event, which may be negative.
func (s *SecondWay) raw(b int, share float64) float64 {
	if share == 0 {
		return s.own[b]
	}
	return quadratic(s.own, s.next, b, share)
}
