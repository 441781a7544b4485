package stats

import "math"

// End says how a zone ends on one side.
type End int

// The ends of a zone.
const (
	Unresolved End = iota // evidence fades before an edge is confirmed
	Open                  // reaches the first or last node; nothing is known beyond
	Edged                 // a confirmed edge
)

// Side is one end of a zone.
type Side struct {
	End  End
	X    float64 // the edge, or where |T| fades to its critical value
	Edge int     // index into Edges.Confirmed; −1 unless Edged
	Gap  bool    // unresolved as the crossing lies in a gap of ≥ 2 empty bins
}

// Zone is a stretch where the advantage has one sign.
type Zone struct {
	Sign                   int // +1 beats the line, −1 falls behind it
	Lower, Upper           Side
	Certain                []Stretch // where the sign is certain, from left to right
	PossibleLo, PossibleHi float64   // ∓Inf where it has no known end
	Mass                   float64   // share of events between Lower.X and Upper.X, open ends included
}

// Stretch is a part of a zone in which the advantage certainly has the zone's sign.
type Stretch struct{ Lo, Hi float64 }

// certainLevel is the quantile that |T| passes at every node of a certain stretch:
// with t_.975 up to a tenth of the stretches beside a flat curve near the line hold
// a place on the other side (make calibrate).
const certainLevel = .995

// certain lists the runs of at least two neighbouring nodes with sign·T >
// t_.995(DF) that lie outside the limits of every confirmed edge. A place between
// two such nodes is certain too, and no other.
func (b *Band) certain(sign float64, e Edges, from, to int) []Stretch {
	level := b.Curve.quantiles.at(certainLevel, b.DF)
	nodes := b.Curve.X
	var out []Stretch
	start := -1
	for i := from; i <= to+1; i++ {
		if i <= to && sign*b.T[i*Substeps] > level && !e.within(nodes[i]) {
			if start < 0 {
				start = i
			}
			continue
		}
		if start >= 0 && i-start >= 2 {
			out = append(out, Stretch{nodes[start], nodes[i-1]})
		}
		start = -1
	}
	return out
}

// within tells whether x lies between the limits of a confirmed edge, which reach
// no further than the edges beside it.
func (e Edges) within(x float64) bool {
	for k, edge := range e.Confirmed {
		before, after := neighbours(e.Confirmed, k)
		if x > max(edge.Lo, before) && x < min(edge.Hi, after) {
			return true
		}
	}
	return false
}

// Zones lists the zones of both signs from left to right, one for each run of
// labels of one sign. The possible zone runs from the lower limit of its lower edge
// to the upper limit of its upper edge. A side with no confirmed edge ends at the
// last grid point with |T| > c: open if that is the first or last node, else
// unresolved.
func (b *Band) Zones(e Edges) []Zone {
	mass := b.Curve.midMass()
	zones := make([]Zone, len(e.runs))
	for i, l := range e.runs {
		z := &zones[i]
		z.Sign = int(l.sign)
		z.Lower = Side{X: b.X[l.first], Edge: -1}
		z.Upper = Side{X: b.X[l.last], Edge: -1}
		z.PossibleLo, z.PossibleHi = math.Inf(-1), math.Inf(1)
		switch {
		case i > 0 && e.turns[i-1] >= 0:
			k := e.turns[i-1]
			edge := e.Confirmed[k]
			z.Lower = Side{End: Edged, X: edge.X, Edge: k}
			z.PossibleLo = edge.Lo
		case i > 0:
			z.Lower.Gap = true
			z.PossibleLo = b.X[e.runs[i-1].last]
		case l.first == 0:
			z.Lower.End = Open
		}
		switch {
		case i < len(e.turns) && e.turns[i] >= 0:
			k := e.turns[i]
			edge := e.Confirmed[k]
			z.Upper = Side{End: Edged, X: edge.X, Edge: k}
			z.PossibleHi = edge.Hi
		case i < len(e.turns):
			z.Upper.Gap = true
			z.PossibleHi = b.X[e.runs[i+1].first]
		case l.last == len(b.X)-1:
			z.Upper.End = Open
		}
		z.Certain = b.certain(l.sign, e, (l.first+Substeps-1)/Substeps, l.last/Substeps)
		lo, hi := b.span(*z, mass)
		z.Mass = hi - lo
	}
	return zones
}

// span returns the zone's ends as shares of the events below them.
func (b *Band) span(z Zone, mass []float64) (lo, hi float64) {
	at := func(s Side, open float64) float64 {
		if s.End == Open {
			return open
		}
		i, share, _ := place(b.Curve.X, s.X)
		return blend(mass, i, share)
	}
	return at(z.Lower, 0), at(z.Upper, 1)
}

// Support returns the share of replicates that hold a zone of the same sign whose
// mass-Jaccard with the zone (events in both over events in either) is at least
// .5. Display only: it is no evidence, since the replicates of a flat curve have
// zones too.
func (b *Band) Support(z Zone) float64 {
	c := b.Curve
	n := len(c.X)
	if c.Replicates == 0 {
		return math.NaN()
	}
	mass := c.midMass()
	lo, hi := b.span(z, mass)
	s := b.Sign * float64(z.Sign)
	similar := func(from, to float64) bool {
		both := min(to, hi) - max(from, lo)
		return both > 0 && both >= .5*(max(to, hi)-min(from, lo))
	}
	hits := 0
	for r := range c.Replicates {
		row, line := c.RepF[r*n:(r+1)*n], b.Line.at(r)
		from, inside, hit := 0.0, s*(row[0]-line) > 0, false
		for i := 1; i < n; i++ {
			d0, d1 := s*(row[i-1]-line), s*(row[i]-line)
			if (d0 > 0) == (d1 > 0) {
				continue
			}
			x := blend(mass, i-1, d0/(d0-d1))
			if inside {
				hit = hit || similar(from, x)
			}
			from, inside = x, !inside
		}
		if hit || inside && similar(from, 1) {
			hits++
		}
	}
	return float64(hits) / float64(c.Replicates)
}

// Course says how the advantage goes on past an edge.
type Course int

// The courses.
const (
	CannotTell  Course = iota
	KeepsRising        // further from the line
	Holds              // changes by no more than the margin
	FallsBack          // back towards the line
)

// Beyond is the course of the advantage from an edge into its zone.
type Beyond struct {
	Course Course
	Slope  float64 // change of |D| per unit of x, away from the edge; NaN where not estimated
	Lo, Hi float64 // 95 % limits
}

// minBeyond is the fewest nodes from which the course past an edge is told.
const minBeyond = 3

// Beyond judges the stretch past a zone's lower (upper = false) or upper edge, from the
// edge's limit on the zone's side to the end of the data (or to a crossing in a gap).
// Its slope is that of the least-squares line through the events of the raw bins, so
// that the reference line drops out and smoothing carries nothing across the edge:
//
//	ψ_g = Σ_b (x_b − x̄)·(Y_gb − f_b·N_gb)/Sxx, f_b the fitted line at the node
//	V   = Σψ_g²·G/(G−1), plus what the second kind of cluster adds
//
// with an interval of ± t_.975·√V on the effective clusters of the stretch less 1. The
// advantage keeps rising where the interval lies above 0, falls back where it lies
// below (or the zone closes at a confirmed edge, with no slope given), holds where the
// interval times the stretch stays within ± margin; else nobody can tell, nor with
// fewer than 3 nodes or an infinite limit.
//
// Source: the sandwich for clusters, Liang & Zeger 1986, Biometrika 73:13.
func (b *Band) Beyond(z Zone, e Edges, upper bool, margin float64) Beyond {
	near, far, away := z.Lower, z.Upper, 1.0
	if upper {
		near, far, away = z.Upper, z.Lower, -1
	}
	nan := math.NaN()
	out := Beyond{Slope: nan, Lo: nan, Hi: nan}
	if near.End != Edged {
		return out
	}
	if far.End == Edged {
		out.Course = FallsBack
		return out
	}
	from := e.Confirmed[near.Edge].Hi
	if upper {
		from = e.Confirmed[near.Edge].Lo
	}
	s := b.slopeOver(func(x float64) bool {
		return away*(x-from) >= 0 && (!far.Gap || away*(far.X-x) >= 0)
	})
	if s == nil {
		return out
	}
	k := away * b.Sign * float64(z.Sign)
	half := TQuantile(.975, s.df) * math.Sqrt(s.variance)
	out.Slope = k * s.slope
	out.Lo, out.Hi = out.Slope-half, out.Slope+half
	switch {
	case !(half > 0):
	case out.Lo > 0:
		out.Course = KeepsRising
	case out.Hi < 0:
		out.Course = FallsBack
	case out.Lo*s.length >= -margin && out.Hi*s.length <= margin:
		out.Course = Holds
	}
	return out
}

// slopeResult is a least-squares slope over some nodes.
type slopeResult struct {
	slope, variance, df, length float64 // length of the stretch
}

// slopeOver fits a line through the events of the nodes inside; nil with fewer than 3
// or a single cluster.
func (b *Band) slopeOver(inside func(x float64) bool) *slopeResult {
	c := b.Curve
	var n, sx, sy float64
	first, last, nodes := -1, -1, 0
	for i, x := range c.X {
		if inside(x) {
			if first < 0 {
				first = i
			}
			last = i
			nodes++
			n += c.N[i]
			sx += float64(c.N[i] * x)
			sy += float64(c.N[i] * c.Rate[i])
		}
	}
	if nodes < minBeyond {
		return nil
	}
	mx, my := sx/n, sy/n
	var xx, xy float64
	for i, x := range c.X {
		if inside(x) {
			d := float64(c.N[i] * (x - mx))
			xx += float64(d * (x - mx))
			xy += float64(d * (c.Rate[i] - my))
		}
	}
	out := &slopeResult{slope: xy / xx, length: c.X[last] - c.X[first]}
	// sum returns Σψ² over clusters, their number, Σψ² over events and the effective
	// number of clusters.
	sum := func(t *Table, nodes []int) (squares, clusters, events, effective float64) {
		score, count, _, events := t.residuals(nodes, func(node int) (lever, fit float64, ok bool) {
			d := c.X[node] - mx
			return d / xx, my + float64(out.slope*d), inside(c.X[node])
		})
		for g, v := range score {
			if count[g] > 0 {
				clusters++
				squares += float64(v * v)
			}
		}
		return squares, clusters, events, EffectiveNumber(count)
	}
	squares, g, _, effective := sum(c.table, c.nodes())
	if g < 2 {
		return nil
	}
	out.variance = squares * g / (g - 1)
	if s := b.Second; s != nil {
		if squares, g, events, other := sum(s.table, s.nodes); g >= 2 {
			out.variance += max(0, float64(squares*g/(g-1))-events)
			effective = min(effective, other)
		}
	}
	out.df = max(1, effective-1)
	return out
}
