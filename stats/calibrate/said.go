package calibrate

import (
	"math"

	"sill/stats"
)

// said is what a band says beside its edges, held against the truth.
type said struct {
	stretches []stretch
	courses   []course
}

// stretch is a stretch of x that is said to lie on one side of the line for
// certain.
type stretch struct {
	wrong         bool    // a place of it lies on the other side
	events, amiss float64 // on it, and at places of it that lie on the other side
}

// course is what is said of the advantage past an edge, away from the line.
type course struct {
	keeps bool // it goes on
	rises bool // and does
}

// sure is a stretch of which a band says for certain that it lies above the line
// (sign +1) or below it (−1).
type sure struct {
	lo, hi float64
	sign   int
}

// certain lists the stretches of which a band is certain.
func certain(b *stats.Band, e stats.Edges) []sure {
	var out []sure
	for _, z := range b.Zones(e) {
		for _, c := range z.Certain {
			out = append(out, sure{c.Lo, c.Hi, z.Sign})
		}
	}
	return out
}

// beyondMargin is the change below which the course past an edge is said to hold.
const beyondMargin = .020

// say gathers what a band says of its stretches and courses, for the advantage
// that is true.
func say(b *stats.Band, e stats.Edges, truth []TrueEdge, advantage func(x float64) float64) said {
	var out said
	for _, c := range certain(b, e) {
		out.stretches = append(out.stretches, hold(b.Curve, c.lo, c.hi, c.sign, advantage))
	}
	first, last := b.X[0], b.X[len(b.X)-1]
	for _, z := range b.Zones(e) {
		for _, upper := range []bool{false, true} {
			near, far := z.Lower, z.Upper
			from, to := 0.0, last
			if upper {
				near, far = z.Upper, z.Lower
				to = first
			}
			if near.End != stats.Edged || far.End == stats.Edged {
				continue // nothing to go on to
			}
			// The stretch that is spoken of begins at the limit on the zone's side,
			// and not before the true edge.
			edge := e.Confirmed[near.Edge]
			from = edge.Hi
			if upper {
				from = edge.Lo
			}
			if math.IsInf(from, 0) {
				from = edge.X
			}
			for _, t := range truth {
				if t.Up == edge.Up && math.Abs(t.X-edge.X) < 2*b.Curve.Width {
					if upper {
						from = min(from, t.X)
					} else {
						from = max(from, t.X)
					}
				}
			}
			slope := slopeOver(b.Curve, from, to, advantage) * float64(z.Sign)
			if upper {
				slope = -slope
			}
			out.courses = append(out.courses, course{keeps: b.Beyond(z, e, upper, beyondMargin).Course == stats.KeepsRising, rises: slope > 1e-6})
		}
	}
	return out
}

// hold looks at 100 places of a stretch; the events at them are those of the bins
// that they lie in, spread evenly from node to node.
func hold(c *stats.Curve, lo, hi float64, sign int, advantage func(x float64) float64) stretch {
	const steps = 100
	var s stretch
	for i := range steps + 1 {
		x := lo + (hi-lo)*float64(i)/steps
		n := density(c, x) * (hi - lo) / (steps + 1)
		s.events += n
		if float64(sign)*advantage(x) < -1e-9 {
			s.wrong = true
			s.amiss += n
		}
	}
	return s
}

// density is events per unit of x, from those of the two nodes about it.
func density(c *stats.Curve, x float64) float64 {
	for i := 1; i < len(c.X); i++ {
		if x <= c.X[i] {
			return (c.N[i-1] + c.N[i]) / 2 / (c.X[i] - c.X[i-1])
		}
	}
	return 0
}

// slopeOver is the least-squares slope of the true advantage over the places
// between two points, weighted by events; 0 where they are not apart.
func slopeOver(c *stats.Curve, from, to float64, advantage func(x float64) float64) float64 {
	const steps = 60
	var n, sx, sy float64
	at := func(i int) (x, w float64) {
		x = from + (to-from)*(float64(i)+.5)/steps
		return x, density(c, x)
	}
	for i := range steps {
		x, w := at(i)
		n += w
		sx += w * x
		sy += w * advantage(x)
	}
	var xx, xy float64
	for i := range steps {
		x, w := at(i)
		xx += w * (x - sx/n) * (x - sx/n)
		xy += w * (x - sx/n) * (advantage(x) - sy/n)
	}
	if !(xx > 1e-12) {
		return 0
	}
	return xy / xx
}
