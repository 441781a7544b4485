package page

import (
	"math"
	"slices"
	"strconv"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// The places of a panel, in half pixels of its usual size: the field, the row
// of zones under it, the counts of pitches, the numbers of the axis.
const (
	panelHigh, foldedHigh = 436, 326 // the latter without zones and counts
	fieldLeft, fieldRight = 72, 604
	fieldTop, fieldFoot   = 14, 280
	railAt, railHalf      = 308, 7
	countTop, countFoot   = 332, 392
	axisText              = 30
	ladderWide, ladderAt  = 240, 12

	fine, coarse = 1.5, 2.5 // how far curves and the edges of their bands may be off
)

// axis is a scale whose places are whole units, and which holds what lies beyond at
// its ends.
type axis struct{ curve.Scale[float64] }

func (a axis) at(x float64) int { return int(math.Round(a.Inside(x))) }

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

// steps draws bars that stand on the axis, side by side as one outline.
type steps struct {
	path
	end, high int // of the last bar
}

func (p *steps) bar(x0, high, x1 int) {
	if p.path == nil || p.end != x0 {
		p.close()
		p.op('M', x0, countFoot)
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

// label is a text of a drawing.
type label struct {
	X, Y int
	Text string
}

// frame is what the panels of a figure share: the axes, and the line with its
// interval, its value and the side that beats it.
type frame struct {
	High                 int
	Grid, LineBand, Line string
	XText, YText         []label
	LineText, Side       label
}

// drawing is a panel as the template draws it: path data by mark.
type drawing struct {
	Good, Bad, Band, Whiskers, Points, Curve string
	Rail                                     ladder
	Drops, Bars, Hollow                      string
	Edges                                    []label
}

// ladder is a row of zones: the stretch that the curve covers, where a zone
// that beats the line is possible and certain, what is certainly behind, and
// the breakpoints.
type ladder struct{ Track, Possible, Certain, Behind, Limits, Dots, Diamonds string }

// draw draws one panel; where nothing was shown in any, without the intervals
// of bins and the counts, which their table has.
func (p *panel) draw(q curve.Quality, o words.Outcome, x, y axis, most float64, whole bool) drawing {
	var d drawing
	d.fields(p, x, y)
	d.curve(p, x, y)
	if !whole {
		d.Whiskers = ""
		return d
	}
	d.Rail = p.ladder(x, railAt, railHalf)
	d.Rail.Track = "" // the curve above shows it
	d.edges(p, q, o, x, y)
	d.counts(p, q, x, most)
	return d
}

// frame draws what the panels share.
func (f *figure) frame(q curve.Quality, o words.Outcome, x, y axis) frame {
	d := frame{High: panelHigh}
	foot := countFoot
	if !f.shown() {
		d.High, foot = foldedHigh, fieldFoot
	}
	var grid path
	for _, v := range y.Ticks(4) {
		grid.op('M', fieldLeft, y.at(v))
		grid.op('H', fieldRight)
		d.YText = append(d.YText, label{fieldLeft - 8, y.at(v) + 7, words.Rate(v)})
	}
	xs := x.Ticks(5)
	for i, text := range curve.Labels(xs, q.Decimals) {
		grid.op('M', x.at(xs[i]), fieldTop)
		grid.op('V', foot)
		d.XText = append(d.XText, label{x.at(xs[i]), foot + axisText, text})
	}
	d.Grid = string(grid)
	for i := range f.panels {
		if m, ok := f.panels[i].Line(); ok {
			d.line(f.panels[i].Verdict, m, o, y)
			break
		}
	}
	return d
}

// line draws the line, its interval, its value and the side that beats it.
func (d *frame) line(v *thresholds.Verdict, m float64, o words.Outcome, y axis) {
	var line, band path
	line.op('M', fieldLeft, y.at(m))
	line.op('H', fieldRight)
	if v.LineLo != nil && v.LineHi != nil {
		band.box(fieldLeft, y.at(*v.LineHi), fieldRight, y.at(*v.LineLo))
	}
	d.Line, d.LineBand = string(line), string(band)
	d.LineText = label{fieldRight + 8, y.at(m) + 8, words.Rate(m)}
	d.Side = label{fieldRight + 8, y.at(m) - 18, "beats ↑"}
	if o.Sign < 0 {
		d.Side = label{fieldRight + 8, y.at(m) + 34, "beats ↓"}
	}
}

// fields fills what lies between the curve and the line where it is certain.
func (d *drawing) fields(p *panel, x, y axis) {
	m, ok := p.Line()
	if !ok || len(p.Points) < 2 {
		return
	}
	var good, bad path
	for _, c := range p.Certain() {
		var pts []place
		for _, corner := range p.Field(c, m) {
			pts = append(pts, place{x.at(corner.X), y.at(corner.Y)})
		}
		last := len(pts) - 1
		pts = append(thinned(pts[:last], fine), pts[last])
		if c.Good {
			good.run(pts, true)
		} else {
			bad.run(pts, true)
		}
	}
	d.Good, d.Bad = string(good), string(bad)
}

// curve draws the smooth rate with its band, and the bins with their intervals.
func (d *drawing) curve(p *panel, x, y axis) {
	along := func(column func(thresholds.CurvePoint) float64, within float64) []place {
		var pts []place
		for _, c := range p.Points {
			pts = append(pts, place{x.at(c.X), y.at(column(c))})
		}
		return thinned(pts, within)
	}
	var curve, band, whiskers, points path
	curve.run(along(func(c thresholds.CurvePoint) float64 { return c.Rate }, fine), false)
	outline := along(func(c thresholds.CurvePoint) float64 { return c.Lo }, coarse)
	upper := along(func(c thresholds.CurvePoint) float64 { return c.Hi }, coarse)
	slices.Reverse(upper)
	band.run(append(outline, upper...), true)
	var at []place
	var end place
	for _, b := range p.Marks(x.Range) {
		at = append(at, place{x.at(*b.Mean), y.at(*b.Rate)})
		if b.Lo != nil && b.Hi != nil {
			from, to := place{x.at(*b.Mean), y.at(*b.Lo)}, y.at(*b.Hi)
			whiskers.op('m', from.x-end.x, from.y-end.y) // the first from the corner
			whiskers.op('v', to-from.y)
			end = place{from.x, to}
		}
	}
	points.run(at, false)
	d.Curve, d.Band, d.Whiskers, d.Points = string(curve), string(band), string(whiskers), string(points)
}

// edges drops each breakpoint from the line to the row of zones and names it.
func (d *drawing) edges(p *panel, q curve.Quality, o words.Outcome, x, y axis) {
	m, ok := p.Line()
	if !ok {
		return
	}
	var drops path
	for _, b := range p.Breakpoints() {
		drops.op('M', x.at(b.At), y.at(m))
		drops.op('V', railAt)
		d.Rail.mark(b, x, y.at(m), 8)
		l := label{x.at(b.At) + 12, y.at(m) + 30, q.Number(b.At)} // the quarter that the curve leaves free
		if !b.Above {
			l.X = x.at(b.At) - 12 - 13*len(l.Text)
		}
		if o.Sign < 0 {
			l.Y = y.at(m) - 16
		}
		d.Edges = append(d.Edges, l)
	}
	d.Drops = string(drops)
}

// counts draws how many pitches lie at each place; thin bins are hollow.
func (d *drawing) counts(p *panel, q curve.Quality, x axis, most float64) {
	var bars, hollow steps
	for _, b := range p.Bins {
		lo, hi, ok := curve.Reach(b, q.Width)
		if !ok || b.Pitches == 0 || most == 0 || x.at(lo) >= x.at(hi) {
			continue
		}
		high := int(math.Ceil((countFoot - countTop) * curve.Density(b, q.Width) / most))
		if b.Thin {
			hollow.bar(x.at(lo), high, x.at(hi))
		} else {
			bars.bar(x.at(lo), high, x.at(hi))
		}
	}
	d.Bars, d.Hollow = bars.close(), hollow.close()
}

// ladder draws the row of zones at a height.
func (p *panel) ladder(x axis, at, half int) ladder {
	var l ladder
	if len(p.Points) == 0 {
		return l
	}
	var track, possible, certain, behind path
	track.op('M', x.at(p.Points[0].X), at)
	track.op('H', x.at(p.Points[len(p.Points)-1].X))
	for _, s := range p.Possible() {
		possible.box(x.at(s.Lo), at-half, x.at(s.Hi), at+half)
	}
	for _, s := range p.Certain() {
		if s.Good {
			certain.box(x.at(s.Lo), at-half, x.at(s.Hi), at+half)
		} else {
			behind.box(x.at(s.Lo), at-half, x.at(s.Hi), at+half)
		}
	}
	l.Track, l.Possible, l.Certain, l.Behind = string(track), string(possible), string(certain), string(behind)
	for _, b := range p.Breakpoints() {
		l.mark(b, x, at, 6)
	}
	return l
}

// mark adds a breakpoint with its interval. A limit that is not pinned runs
// dotted to the end of the curve.
func (l *ladder) mark(b curve.Breakpoint, x axis, at, size int) {
	var limits, dots, diamond path
	for _, limit := range b.Limits {
		line := &limits
		if !limit.Pinned {
			line = &dots
		}
		line.op('M', x.at(b.At), at)
		line.op('H', x.at(limit.At))
		if limit.Pinned {
			line.op('m', 0, -size)
			line.op('v', 2*size)
		}
	}
	diamond.op('M', x.at(b.At)-size, at)
	diamond.op('l', size, -size, size, size, -size, size)
	diamond.op('z')
	l.Limits += string(limits)
	l.Dots += string(dots)
	l.Diamonds += string(diamond)
}
