package stats

import "math"

// Substeps is the number of grid steps from one node to the next.
const Substeps = 8

// Band is the advantage of a curve over a line on a fine grid: every node and
// the points between two. Positive is better. Read only.
type Band struct {
	X, D, SE, T []float64 // point, advantage, its standard error, D/SE
	DF          float64   // degrees of freedom, at least 1
	Crit        float64   // t_.975(DF)
	Sign        float64   // +1 where more is better, −1 where less is
	Line        Line
	Curve       *Curve
	Second      *SecondWay // nil where there is one kind of cluster
}

// RepAt returns the replicates of D at x; all NaN outside the nodes.
func (b *Band) RepAt(x float64) []float64 {
	out := b.Curve.RepAt(x)
	for r := range out {
		out[r] = b.Sign * (out[r] - b.Line.at(r))
	}
	return out
}

// Edge is a confirmed crossing of the line.
type Edge struct {
	X      float64
	Lo, Hi float64 // 95 % limits; −Inf or +Inf where it is not pinned on that side
	Up     bool    // the advantage rises through 0
	Power  float64 // estimated chance that such an edge is confirmed
	Weak   bool    // Power is below .15: the interval may cover less than it says
}

// Edges are what separates stretches of opposite sign, from left to right.
type Edges struct {
	Confirmed []Edge
	InGap     []float64 // crossings in a gap of ≥ 2 empty bins, which are not confirmed

	runs  []run
	turns []int // after run i: index into Confirmed, or −1 where it is in a gap
}

// run is a run of grid points, those beyond the critical value all of one sign.
type run struct {
	sign        float64
	first, last int     // first and last grid point beyond the critical value
	peak        float64 // largest |T|
}

const weakPower = .15

// Edges finds the confirmed edges. A grid point is labelled + where T > c and −
// where T < −c, c = t_.975(DF). Between consecutive opposite labels stands one
// confirmed edge, at the middle crossing of D. A crossing in a gap of ≥ 2 empty
// bins is not confirmed. Limits come from the raw rates (see limits); those of a curve
// without (FitRates) are where |T| falls to c, as in EdgesAt.
//
// Power is the product over both sides of the chance that the side's |T| passes
// c, at the mean that makes the peak seen most likely given that it passed.
//
// Source: the mean given selection as in Zhong & Prentice 2008, Biostatistics
// 9:621 (from memory).
func (b *Band) Edges() Edges {
	e := b.EdgesAt(b.Crit)
	for i, k := range e.turns {
		if k >= 0 {
			edge := &e.Confirmed[k]
			edge.Power = powerGiven(e.runs[i].peak, b.Crit) * powerGiven(e.runs[i+1].peak, b.Crit)
			edge.Weak = edge.Power < weakPower
		}
	}
	if b.Curve.table != nil {
		b.limits(e.Confirmed)
	}
	return e
}

// EdgesAt is Edges at a stated critical value for the labels. Its limits are where
// |T| falls to that value on either side, linear in T: the set of x at which D = 0
// is not rejected, which holds the edge of a smooth curve. Power and Weak are not
// set.
//
// Source: inversion of a test as in Fieller 1954, JRSSB 16:175.
func (b *Band) EdgesAt(crit float64) Edges {
	var e Edges
	for g, t := range b.T {
		sign := 0.0
		switch {
		case t > crit:
			sign = 1
		case t < -crit:
			sign = -1
		default:
			continue
		}
		n := len(e.runs)
		if n == 0 || e.runs[n-1].sign != sign {
			if n > 0 {
				e.turn(b, e.runs[n-1].last, g, sign, crit)
			}
			e.runs = append(e.runs, run{sign: sign, first: g})
			n++
		}
		l := &e.runs[n-1]
		l.last = g
		l.peak = max(l.peak, math.Abs(t))
	}
	return e
}

// turn adds the crossing between grid points from and to, which carry opposite
// labels, the later one sign.
func (e *Edges) turn(b *Band, from, to int, sign, crit float64) {
	var at []int
	for g := from; g < to; g++ {
		if (b.D[g] > 0) != (b.D[g+1] > 0) {
			at = append(at, g)
		}
	}
	g := at[len(at)/2]
	x := b.X[g] + float64((b.X[g+1]-b.X[g])*(-b.D[g]))/(b.D[g+1]-b.D[g])
	if gap := b.Curve.Gap; gap != nil && gap[g/Substeps] >= 2 {
		e.InGap = append(e.InGap, x)
		e.turns = append(e.turns, -1)
		return
	}
	e.turns = append(e.turns, len(e.Confirmed))
	e.Confirmed = append(e.Confirmed, Edge{X: x, Up: sign > 0,
		Lo: b.falls(from, from+1, -sign, crit), Hi: b.falls(to, to-1, sign, crit)})
}

// falls returns where sign·T, above crit at grid point g, falls to crit on the
// way to its neighbour.
func (b *Band) falls(g, neighbour int, sign, crit float64) float64 {
	from, to := sign*b.T[g], sign*b.T[neighbour]
	return b.X[g] + float64((b.X[neighbour]-b.X[g])*(from-crit))/(from-to)
}

// powerGiven returns the chance that a normal variable of unit variance passes
// c, at the mean θ that is most likely given that it passed c and was t:
// t = θ + φ(c−θ)/(1−Φ(c−θ)).
func powerGiven(t, c float64) float64 {
	beyond := func(a float64) float64 { return math.Erfc(a/math.Sqrt2) / 2 }
	lo, hi := t-30, t
	for range 80 {
		mid := (lo + hi) / 2
		a := c - mid
		if mid+math.Exp(-a*a/2)/math.Sqrt(2*math.Pi)/beyond(a) < t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return beyond(c - lo)
}

// EdgeShifted returns where confirmed edge i stands against the line plus delta:
// the nearest crossing of D − sign·delta in the same direction between the
// neighbouring confirmed edges; NaN where there is none.
func (b *Band) EdgeShifted(e Edges, i int, delta float64) float64 {
	edge := e.Confirmed[i]
	lo, hi := neighbours(e.Confirmed, i)
	shifted := func(g int) float64 { return b.D[g] - b.Sign*delta }
	return nearestCrossing(b.X, shifted, edge.Up, edge.X, lo, hi)
}

// neighbours returns the edges beside edge k, infinite where there is none.
func neighbours(edges []Edge, k int) (before, after float64) {
	before, after = math.Inf(-1), math.Inf(1)
	if k > 0 {
		before = edges[k-1].X
	}
	if k+1 < len(edges) {
		after = edges[k+1].X
	}
	return before, after
}

// nearestCrossing returns where d, linear between points of x, passes 0 in the
// direction given between lo and hi, the nearest to at; NaN where it nowhere does.
func nearestCrossing(x []float64, d func(i int) float64, up bool, at, lo, hi float64) float64 {
	best := math.NaN()
	for i := range len(x) - 1 {
		p, q := d(i), d(i+1)
		if (p > 0) == (q > 0) || (q > 0) != up {
			continue
		}
		zero := x[i] + float64((x[i+1]-x[i])*(-p))/(q-p)
		if zero >= lo && zero <= hi && !(math.Abs(zero-at) >= math.Abs(best-at)) {
			best = zero
		}
	}
	return best
}

// What Throughout looks at: stretches that hold a tenth of the events, of which the
// outermost may leave out a fortieth at either end.
const (
	stretchShare = .1
	endShare     = .025
)

// Throughout tells whether the advantage is beyond 0 over the central 90 % of events,
// but for stretches that hold less than a tenth of them: +1 where every stretch of
// neighbouring parts that holds a tenth of the events, all of which touch the central
// 95 %, has a raw rate whose T is above t_.975(DF), −1 where each is below −t_.975,
// else 0. everywhere says the same of all stretches out to the ends and of the curve
// at every node.
//
// A curve that is on the other side over a tenth of the events has a stretch without
// an advantage, so that it passes with a chance of at most .025 (an
// intersection–union test: Berger 1982, Technometrics 24:295, from memory). A smooth
// curve would round such a place off.
func (b *Band) Throughout() (sign int, everywhere bool) {
	sign = b.stretches(endShare)
	everywhere = sign != 0 && b.stretches(0) == sign
	for i := range b.Curve.X {
		everywhere = everywhere && float64(sign)*b.T[i*Substeps] > b.Crit
	}
	return sign, everywhere
}

// stretches returns the sign that all stretches of Throughout share, of parts that
// touch what is left without so large a share of the events at either end; 0 for none.
//
//	T = (rate − line)/√(σ²·deff/n + V_line)
//
// with σ²·deff as in effect over the stretch; the curve's own part of the line is not
// allowed for, which widens.
func (b *Band) stretches(end float64) int {
	parts := b.Curve.table.parts()
	below := make([]float64, len(parts.N)+1) // events below a part
	values := make([]float64, len(parts.N)+1)
	for i, n := range parts.N {
		below[i+1], values[i+1] = below[i]+n, values[i]+parts.Y[i]
	}
	all := below[len(parts.N)]
	line := b.Line.variance()*b.Curve.inflate() + b.Line.Second.Own()
	type stretch struct{ from, to int } // parts from, …, to − 1
	var list []stretch
	to := 0
	for from := range parts.N {
		for to < len(parts.N) && below[to]-below[from] < stretchShare*all {
			to++
		}
		if below[to]-below[from] < stretchShare*all || below[to-1] >= (1-end)*all {
			break
		}
		if below[from+1] > end*all {
			list = append(list, stretch{from, to})
		}
	}
	if len(list) == 0 {
		return 0
	}
	// The sign of all, where none has an advantage within its events' own error.
	rate := values[len(parts.N)] / all
	sign := 1.0
	if b.Sign*(rate-b.Line.Value) < 0 {
		sign = -1
	}
	beyond := func(s stretch, variance float64) bool {
		n := below[s.to] - below[s.from]
		d := sign * b.Sign * ((values[s.to]-values[s.from])/n - b.Line.Value)
		return d > b.Crit*math.Sqrt(variance/n+line)
	}
	for _, s := range list {
		if !beyond(s, 0) {
			return 0
		}
	}
	for _, s := range list {
		lo, hi := parts.X[s.from], parts.X[s.to-1]
		if !beyond(s, b.effect((lo+hi)/2, (hi-lo)/2)) {
			return 0
		}
	}
	return int(sign)
}

// Central returns the first and the last node of the central 90 % of events, NaN where
// there is none.
func (b *Band) Central() (lo, hi float64) {
	first, last, ok := b.central()
	if !ok {
		return math.NaN(), math.NaN()
	}
	return b.X[first*Substeps], b.X[last*Substeps]
}

// central returns the first and the last node of the central 90 % of events.
func (b *Band) central() (first, last int, ok bool) {
	for i, m := range b.Curve.midMass() {
		if m >= .05 && m <= .95 {
			if !ok {
				first, ok = i, true
			}
			last = i
		}
	}
	return first, last, ok
}

// midMass returns, by node, the share of events below it counting half its own.
func (c *Curve) midMass() []float64 {
	out := make([]float64, len(c.N))
	sum := 0.0
	for i, n := range c.N {
		out[i] = sum + n/2
		sum += n
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}
