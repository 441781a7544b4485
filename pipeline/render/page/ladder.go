package page

// ladder is a row of zones: the stretch that the curve covers, where a zone
// that beats the line is possible and certain, what is certainly behind, and
// the breakpoints. It is as wide as its column.
type ladder struct {
	Track, Possible, Certain, Behind []span
	Intervals                        []span  // of the breakpoints, as far as they are pinned
	Open                             []span  // where one has no known end, to the end of the curve
	Beyond                           []share // 0 or 1000, the end of the scale beyond which an interval runs
	Breakpoints                      []share
}

// span is a stretch of a ladder.
type span struct{ X, Wide share }

// To is its right end.
func (s span) To() share { return s.X + s.Wide }

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
		within := [2]float64{b.At, b.At}
		for side, limit := range b.Limits {
			switch {
			case limit.Pinned:
				within[side] = limit.At
			case limit.At != b.At:
				l.Open = append(l.Open, of(min(limit.At, b.At), max(limit.At, b.At)))
			}
			if limit.At != x.Within(limit.At) {
				l.Beyond = append(l.Beyond, share(1000*side))
			}
		}
		if within[0] < within[1] {
			l.Intervals = append(l.Intervals, of(within[0], within[1]))
		}
	}
	return l
}

// Shown tells whether there is anything to draw.
func (l ladder) Shown() bool {
	return l.Track != nil || l.Possible != nil || l.Certain != nil || l.Behind != nil || l.Breakpoints != nil
}
