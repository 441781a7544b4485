package page

import (
	"math"
	"slices"
	"strconv"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// The places of a drawing. It is as wide as its column and has a fixed height in
// pixels; what is stretched with the width is drawn in fivehundredths of it and in
// half pixels, and texts, which are not, stand at shares of it.
const (
	fullWide            = 500
	plotTop, plotFoot   = 20, 150 // the field of the curve, in pixels
	firstText, textHigh = 15, 13  // the breakpoints' numbers under it, a row each
	railHalf, countHigh = 6, 28   // the ladder, and the counts of pitches
	axisText, axisTitle = 13, 28  // the numbers of the axis and its title, under the last of them

	fine, coarse = 1.5, 4 // how far curves and the edges of their bands may be off
)

// axis is a scale whose places are whole units, and which holds what lies beyond at
// its ends.
type axis struct{ curve.Scale[float64] }

func (a axis) at(x float64) int { return int(math.Round(a.Inside(x))) }

// share is a place or a width in thousandths of what is drawn on.
type share int

func (s share) String() string {
	if s%10 == 0 {
		return strconv.Itoa(int(s)/10) + "%"
	}
	return strconv.FormatFloat(float64(s)/10, 'f', 1, 64) + "%"
}

// mark is a text at a place across, Y pixels from the top.
type mark struct {
	X    share
	Y    int
	Text string
}

// The narrowest columns that are drawn on, and the widest letter of the numbers in
// them, in pixels: a ladder's, and a drawing's.
const (
	narrowLadder, ladderLetter = 55, 7.5
	narrowDrawing, edgeLetter  = 210, 8.5
)

// Anchor is the class of a number of a ladder's scale: it stands in the middle of its
// place, but for one that would reach beyond an end of a narrow ladder, into the next
// column, and begins or ends there.
func (m mark) Anchor() string {
	half := m.wide(ladderLetter) / 2
	switch at := m.at(narrowLadder); {
	case at < half:
		return "s"
	case at > narrowLadder-half:
		return "y"
	}
	return "x"
}

func (m mark) wide(letter float64) float64 { return letter * float64(len([]rune(m.Text))) }

func (m mark) at(column float64) float64 { return float64(m.X) / 1000 * column }

// crowds tells whether a number comes nearer than half a letter to the next one of a
// narrow ladder.
func (m mark) crowds(next mark) bool {
	from := map[string]float64{"s": 1, "x": .5, "y": 0}[m.Anchor()] // how much of it lies right of its place
	to := map[string]float64{"s": 0, "x": .5, "y": 1}[next.Anchor()]
	apart := next.at(narrowLadder) - m.at(narrowLadder)
	return apart < from*m.wide(ladderLetter)+to*next.wide(ladderLetter)+ladderLetter/2
}

// marks are the numbers of a small scale: its ticks, of which the first and the last
// are named, and those between where a narrow column has room for all.
func (a axis) marks(q curve.Quality) []mark {
	var out []mark
	for n := 2; n < 12; n++ {
		out = nil
		ticks := a.Ticks(n)
		for i, text := range curve.Labels(ticks, q.Decimals) {
			out = append(out, mark{X: share(a.at(ticks[i])), Text: text})
		}
		if last := len(out) - 1; last > 0 && !out[0].crowds(out[last]) {
			break
		}
	}
	for i := 1; i < len(out)-1; i++ {
		if out[i-1].crowds(out[i]) || out[i].crowds(out[i+1]) {
			for k := range out[1 : len(out)-1] {
				out[k+1].Text = ""
			}
			break
		}
	}
	return out
}

// frame is what the panels of a figure share: the axes, and the line with its
// interval.
type frame struct {
	High, Double         int // of all of it, in pixels and in half pixels
	Rail                 int // the top of the ladder, 0 without one
	Grid, LineBand, Line string
	XAt, TitleAt         int // the heights of the numbers and of the title across
	YText                []label
	XText                []mark
	LineText             label
	XTitle, YTitle       string

	rows, foot int // of breakpoints' numbers; where the counts end
}

// label is a text at one side of a drawing.
type label struct {
	Y    int
	Text string
}

// drawing is a panel as the template draws it: path data by mark.
type drawing struct {
	Good, Bad, Band, Whiskers, Points, Curve string
	Rail                                     ladder
	Drops, Bars, Thin, Clipped               string
	Edges                                    []mark
}

// draw draws one panel; where nothing was shown in any, without the intervals
// of bins and the counts, which their table has.
func (p *panel) draw(q curve.Quality, f *frame, x, y axis, most float64, whole bool) drawing {
	var d drawing
	d.fields(p, x, y)
	d.curve(p, x, y, whole)
	if !whole {
		return d
	}
	thousand := x
	thousand.To = 1000
	d.Rail = p.ladder(thousand)
	d.Rail.Track = nil // the curve above shows it
	d.edges(p, q, f, x, y)
	d.counts(p, q, f, x, most)
	return d
}

// frame draws what the panels share.
func (f *figure) frame(q curve.Quality, o words.Outcome, x, y axis) frame {
	d := frame{foot: plotFoot}
	if f.shown() {
		for i := range f.panels {
			for _, e := range f.panels[i].edgeMarks(q, x) {
				d.rows = max(d.rows, e.Y+1)
			}
		}
		d.Rail = plotFoot + firstText + max(0, d.rows-1)*textHigh
		if d.rows == 0 {
			d.Rail = plotFoot + 3
		}
		d.foot = d.Rail + 2*railHalf + 2 + countHigh
	}
	d.High = d.foot + axisTitle + 5
	d.Double = 2 * d.High
	var grid path
	for _, v := range y.Ticks(4) {
		grid.op('M', 0, y.at(v))
		grid.op('H', fullWide)
		d.YText = append(d.YText, label{y.at(v)/2 + 4, words.Rate(v)})
	}
	xs := x.Ticks(4)
	for i, text := range curve.Labels(xs, q.Decimals) {
		grid.op('M', x.at(xs[i]), 2*plotTop)
		grid.op('V', 2*d.foot)
		d.XText = append(d.XText, mark{X: share(2 * x.at(xs[i])), Text: text})
	}
	d.Grid = string(grid)
	d.YTitle = cut(o.Title, 24)
	if o.Per != "" {
		d.YTitle += ", " + way(o)
	}
	d.XTitle, d.XAt, d.TitleAt = cut(q.Axis(), 40), d.foot+axisText, d.foot+axisTitle
	for i := range f.panels {
		if m, ok := f.panels[i].Line(); ok {
			d.line(f.panels[i].Verdict, m, y)
			break
		}
	}
	return d
}

// line draws the line, its interval and its value.
func (d *frame) line(v *thresholds.Verdict, m float64, y axis) {
	var line, band path
	line.op('M', 0, y.at(m))
	line.op('H', fullWide)
	if v.LineLo != nil && v.LineHi != nil {
		band.box(0, y.at(*v.LineHi), fullWide, y.at(*v.LineLo))
	}
	d.Line, d.LineBand = string(line), string(band)
	d.LineText = label{y.at(m)/2 + 4, words.Rate(m)}
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

// curve draws the smooth rate with its band, and the bins, whole with their
// intervals. Where one of these runs out of the field, it is marked.
func (d *drawing) curve(p *panel, x, y axis, whole bool) {
	along := func(column func(thresholds.CurvePoint) float64, within float64) []place {
		var pts []place
		for _, c := range p.Points {
			pts = append(pts, place{x.at(c.X), y.at(column(c))})
		}
		return thinned(pts, within)
	}
	var curve, band, whiskers, points, clipped path
	curve.run(along(func(c thresholds.CurvePoint) float64 { return c.Rate }, fine), false)
	outline := along(func(c thresholds.CurvePoint) float64 { return c.Lo }, coarse)
	upper := along(func(c thresholds.CurvePoint) float64 { return c.Hi }, coarse)
	slices.Reverse(upper)
	band.run(append(outline, upper...), true)
	clipped.beyond(p.Points, x, y)
	var dot, end place
	for _, b := range p.Marks(x.Range) {
		at := place{x.at(*b.Mean), y.at(*b.Rate)}
		points.op('m', at.x-dot.x, at.y-dot.y) // the first from the corner
		points.op('h', 0)
		dot = at
		if !whole || b.Lo == nil || b.Hi == nil {
			continue
		}
		from, to := place{at.x, y.at(*b.Lo)}, y.at(*b.Hi)
		whiskers.op('m', from.x-end.x, from.y-end.y)
		whiskers.op('v', to-from.y)
		end = place{from.x, to}
		if *b.Lo < y.Lo {
			clipped.arrow(from, 1)
		}
		if *b.Hi > y.Hi {
			clipped.arrow(end, -1)
		}
	}
	d.Curve, d.Band, d.Whiskers, d.Points, d.Clipped = string(curve), string(band), string(whiskers), string(points), string(clipped)
}

// edgeMarks names the breakpoints, Y being the row: each stands in the first in
// which it touches no other, in the narrowest column and the widest font.
func (p *panel) edgeMarks(q curve.Quality, x axis) []mark {
	var out []mark
	for _, b := range p.Breakpoints() {
		m := mark{X: share(2 * x.at(b.At)), Text: q.Number(b.At)}
		touches := func(o mark) bool {
			apart := math.Abs(o.at(narrowDrawing) - m.at(narrowDrawing))
			return o.Y == m.Y && apart < (o.wide(edgeLetter)+m.wide(edgeLetter))/2+edgeLetter/2
		}
		for slices.ContainsFunc(out, touches) {
			m.Y++
		}
		out = append(out, m)
	}
	return out
}

// edges drops each breakpoint from the line to the ladder and names it.
func (d *drawing) edges(p *panel, q curve.Quality, f *frame, x, y axis) {
	m, ok := p.Line()
	if !ok {
		return
	}
	var drops path
	for _, e := range p.edgeMarks(q, x) {
		drops.op('M', int(e.X)/2, y.at(m))
		drops.op('V', 2*(f.Rail+railHalf))
		e.Y = plotFoot + firstText - 3 + e.Y*textHigh
		d.Edges = append(d.Edges, e)
	}
	d.Drops = string(drops)
}

// counts draws how many pitches lie at each place, thin bins apart.
func (d *drawing) counts(p *panel, q curve.Quality, f *frame, x axis, most float64) {
	bars, thin := steps{foot: 2 * f.foot}, steps{foot: 2 * f.foot}
	for _, b := range p.Bins {
		lo, hi, ok := curve.Reach(b, q.Width)
		if !ok || b.Pitches == 0 || most == 0 || x.at(lo) >= x.at(hi) {
			continue
		}
		high := int(math.Ceil(2 * countHigh * curve.Density(b, q.Width) / most))
		if b.Thin {
			thin.bar(x.at(lo), high, x.at(hi))
		} else {
			bars.bar(x.at(lo), high, x.at(hi))
		}
	}
	d.Bars, d.Thin = bars.close(), thin.close()
}
