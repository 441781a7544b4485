package page

import "sill/pipeline/render/curve"

// ladder is a row of zones: the stretch that the curve covers, where a zone
// that beats the line is possible and certain, what is certainly behind, and
// the breakpoints. It is as wide as its column.
type ladder struct {
	Track, Possible, Certain, Behind []span
	Limits                           []limits
	Breakpoints                      []share
}

// span is a stretch of a ladder.
type span struct{ X, Wide share }

// limits is the interval of a breakpoint on one side of it, From left To right.
type limits struct {
	From, To share
	Open     bool // whether it is not pinned on that side: it goes on to the end of the curve
	Beyond   int  // −1 or +1 where it runs out of the scale at its left or right end
}

// ladder draws the row of zones on a scale in thousandths.
func (p *panel) ladder(x axis) ladder {
	var l ladder
	if len(p.Points) == 0 {
		return l
	}
	of := func(lo, hi float64) span { return span{share(x.at(lo)), share(x.at(hi) - x.at(lo))} }
	l.Track = []span{of(p.Points[0].X, p.Points[len(p.Points)-1].X)}
	for _, s := range p.Possible() {
		l.Possible = append(l.Possible, of(s.Lo, s.Hi))
	}
	for _, s := range p.Certain() {
		if s.Good {
			l.Certain = append(l.Certain, of(s.Lo, s.Hi))
		} else {
			l.Behind = append(l.Behind, of(s.Lo, s.Hi))
		}
	}
	for _, b := range p.Breakpoints() {
		l.Breakpoints = append(l.Breakpoints, share(x.at(b.At)))
		l.Limits = append(l.Limits, x.limits(b.Limits[0], b.At, -1), x.limits(b.Limits[1], b.At, 1))
	}
	return l
}

// limits draws the interval of a breakpoint on one side.
func (a axis) limits(l curve.Limit, at float64, side int) limits {
	out := limits{From: share(a.at(min(l.At, at))), To: share(a.at(max(l.At, at))), Open: !l.Pinned}
	if !a.Holds(l.At) {
		out.Beyond = side
	}
	return out
}

// Shown tells whether there is anything to draw.
func (l ladder) Shown() bool {
	return l.Track != nil || l.Possible != nil || l.Certain != nil || l.Behind != nil || l.Breakpoints != nil
}
