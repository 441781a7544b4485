package page

import (
	"math"
	"slices"
	"strconv"

	"sill/pipeline/thresholds"
)

// place is a point of the drawing.
type place struct{ x, y int }

// path gathers the data of an SVG path, in whole units.
type path []byte

func (p *path) num(v int) {
	if n := len(*p); n > 0 && (*p)[n-1] >= '0' && (*p)[n-1] <= '9' && v >= 0 {
		*p = append(*p, ' ')
	}
	*p = strconv.AppendInt(*p, int64(v), 10)
}

func (p *path) op(c byte, vs ...int) {
	*p = append(*p, c)
	for _, v := range vs {
		p.num(v)
	}
}

// box adds a rectangle.
func (p *path) box(x0, y0, x1, y1 int) {
	p.op('M', x0, y0)
	p.op('H', x1)
	p.op('V', y1)
	p.op('H', x0)
	p.op('z')
}

// arrow adds the tip of an arrow that points down (+1) or up (−1) to a place at the
// edge of the field.
func (p *path) arrow(at place, down int) {
	const wide, high = 6, 8
	p.op('M', at.x-wide, at.y-down*high)
	p.op('l', wide, down*high, wide, -down*high)
}

// beyond marks where the band of a curve runs out of the field: each stretch in its
// middle.
func (p *path) beyond(points []thresholds.CurvePoint, x, y axis) {
	side := func(out func(thresholds.CurvePoint) bool, edge, down int) {
		from := -1
		for i := range len(points) + 1 {
			switch clipped := i < len(points) && out(points[i]); {
			case clipped && from < 0:
				from = i
			case !clipped && from >= 0:
				p.arrow(place{x.at((points[from].X + points[i-1].X) / 2), edge}, down)
				from = -1
			}
		}
	}
	side(func(c thresholds.CurvePoint) bool { return c.Hi > y.Hi }, y.at(y.Hi), -1)
	side(func(c thresholds.CurvePoint) bool { return c.Lo < y.Lo }, y.at(y.Lo), 1)
}

// run adds a line through places, closed or not.
func (p *path) run(pts []place, closed bool) {
	if len(pts) == 0 {
		return
	}
	p.op('M', pts[0].x, pts[0].y)
	*p = append(*p, 'l')
	for i, pt := range pts[1:] {
		p.num(pt.x - pts[i].x)
		p.num(pt.y - pts[i].y)
	}
	if len(pts) == 1 {
		*p = append(*p, '0', ' ', '0')
	}
	if closed {
		p.op('z')
	}
}

// steps draws bars that stand on the axis, side by side as one outline.
type steps struct {
	path
	foot      int // the place of the axis
	end, high int // of the last bar
}

func (p *steps) bar(x0, high, x1 int) {
	if p.path == nil || p.end != x0 {
		p.close()
		p.op('M', x0, p.foot)
	}
	if high != p.high {
		p.op('v', p.high-high)
	}
	p.op('h', x1-x0)
	p.end, p.high = x1, high
}

// close brings the outline down to the axis.
func (p *steps) close() string {
	if p.high > 0 {
		p.op('v', p.high)
	}
	p.high = 0
	return string(p.path)
}

// thinned drops the places that lie within some units of a straight line
// between those it keeps (Douglas and Peucker, 1973).
func thinned(pts []place, within float64) []place {
	if len(pts) < 3 {
		return pts
	}
	a, b := pts[0], pts[len(pts)-1]
	dx, dy := float64(b.x-a.x), float64(b.y-a.y)
	length := math.Hypot(dx, dy)
	far, at := .0, 0
	for i, q := range pts[1 : len(pts)-1] {
		d := math.Hypot(float64(q.x-a.x), float64(q.y-a.y))
		if length > 0 {
			d = math.Abs(float64(dx*float64(q.y-a.y))-float64(dy*float64(q.x-a.x))) / length
		}
		if d > far {
			far, at = d, i+1
		}
	}
	if far <= within {
		return []place{a, b}
	}
	head := slices.Clone(thinned(pts[:at+1], within))
	return append(head[:len(head)-1], thinned(pts[at:], within)...)
}
