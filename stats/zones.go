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
	X    float64 // the edge, or where the certain zone ends
	Edge int     // index into Edges.Confirmed; −1 unless Edged
	Gap  bool    // unresolved as the crossing lies in a gap of ≥ 2 empty bins
}

// Zone is a stretch where the advantage has one sign.
type Zone struct {
	Sign                   int // +1 beats the line, −1 falls behind it
	Lower, Upper           Side
	CertainLo, CertainHi   float64 // NaN where no certain zone is left
	PossibleLo, PossibleHi float64 // ∓Inf where it has no known end
	Mass                   float64 // share of events between Lower.X and Upper.X, open ends included
}

// Zones lists the zones of both signs from left to right, one for each run of
// labels of one sign. The certain zone runs from the upper limit of its lower
// edge to the lower limit of its upper edge, the possible zone the other way
// round. On a side with no confirmed edge the certain zone ends at the last grid
// point with |T| > c: open if that is the first or last node, else unresolved.
func (b *Band) Zones(e Edges) []Zone {
	mass := b.Curve.midMass()
	zones := make([]Zone, len(e.lobes))
	for i, l := range e.lobes {
		z := &zones[i]
		z.Sign = int(l.sign)
		z.Lower = Side{X: b.X[l.first], Edge: -1}
		z.Upper = Side{X: b.X[l.last], Edge: -1}
		z.CertainLo, z.CertainHi = z.Lower.X, z.Upper.X
		z.PossibleLo, z.PossibleHi = math.Inf(-1), math.Inf(1)
		switch {
		case i > 0 && e.turns[i-1] >= 0:
			k := e.turns[i-1]
			edge := e.Confirmed[k]
			z.Lower = Side{End: Edged, X: edge.X, Edge: k}
			z.CertainLo, z.PossibleLo = edge.Hi, edge.Lo
		case i > 0:
			z.Lower.Gap = true
			z.PossibleLo = b.X[e.lobes[i-1].last]
		case l.first == 0:
			z.Lower.End = Open
		}
		switch {
		case i < len(e.turns) && e.turns[i] >= 0:
			k := e.turns[i]
			edge := e.Confirmed[k]
			z.Upper = Side{End: Edged, X: edge.X, Edge: k}
			z.CertainHi, z.PossibleHi = edge.Lo, edge.Hi
		case i < len(e.turns):
			z.Upper.Gap = true
			z.PossibleHi = b.X[e.lobes[i+1].first]
		case l.last == len(b.X)-1:
			z.Upper.End = Open
		}
		if !(z.CertainLo <= z.CertainHi) || math.IsInf(z.CertainLo, 0) || math.IsInf(z.CertainHi, 0) {
			z.CertainLo, z.CertainHi = math.NaN(), math.NaN()
		}
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

// Beyond judges the stretch past a zone's lower (upper = false) or upper edge,
// up to the end of the data. Its slope is the least-squares slope of D at the
// nodes of the stretch, weighted by events, so that the line drops out; its
// interval is ± t_.975·se from joint replicates (times √(G/(G−1)), plus the second
// kind of cluster). It keeps rising where the interval lies above 0, falls back
// where below, holds where the interval times the stretch stays within ± margin;
// else nobody can tell, nor with fewer than 2 nodes. Where the zone closes again
// at a confirmed edge the advantage falls back, and no slope is given.
func (b *Band) Beyond(z Zone, upper bool, margin float64) Beyond {
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
	c := b.Curve
	a := make([]float64, len(c.X))
	var n, sum float64
	nodes, end := 0, near.X
	inside := func(x float64) bool { return away*(x-near.X) > 0 && (!far.Gap || away*(far.X-x) >= 0) }
	for i, x := range c.X {
		if inside(x) {
			nodes++
			n += c.N[i]
			sum += float64(c.N[i] * x)
			if away*(x-end) > 0 {
				end = x
			}
		}
	}
	if nodes < 2 {
		return out
	}
	squares := 0.0
	for i, x := range c.X {
		if inside(x) {
			a[i] = c.N[i] * (x - sum/n)
			squares += float64(a[i] * (x - sum/n))
		}
	}
	k := away * b.Sign * float64(z.Sign) / squares
	for i := range a {
		a[i] *= k
	}
	along := func(f []float64) float64 {
		v := 0.0
		for i, w := range a {
			v += float64(w * f[i])
		}
		return v
	}
	var m moments
	for r := range c.Replicates {
		m.add(along(c.RepF[r*len(a) : (r+1)*len(a)]))
	}
	v := m.variance() * c.inflate()
	if b.Second != nil {
		v += b.Second.Along(a)
	}
	half := b.Crit * math.Sqrt(v)
	out.Slope = along(c.F)
	out.Lo, out.Hi = out.Slope-half, out.Slope+half
	length := math.Abs(end - near.X)
	switch {
	case !(half > 0):
	case out.Lo > 0:
		out.Course = KeepsRising
	case out.Hi < 0:
		out.Course = FallsBack
	case out.Lo*length >= -margin && out.Hi*length <= margin:
		out.Course = Holds
	}
	return out
}
