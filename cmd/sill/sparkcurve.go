package main

import (
	"math"
	"slices"
	"strings"
)

// chart is a small picture of one curve for a terminal: the smooth rate with
// its band, the line it is compared with, the rates of the bins, the
// breakpoints with their intervals and how many events stand behind each place.
type chart struct {
	x, rate, lo, hi []float64 // the curve, x ascending
	line            float64   // NaN where there is none
	points          []point   // rates of the bins
	edges           []mark
	weight          []point // events by place
	formatX         func(float64) string
	formatY         func(float64) string
	events          string // what weight counts, for its caption
}

type point struct{ x, y float64 }

// mark is a breakpoint; a limit that is not pinned is NaN.
type mark struct{ at, lo, hi float64 }

// glyphSet are the characters of a chart.
type glyphSet struct {
	curve                               [3]rune // in the upper, middle and lower third of a row
	band, line, point, drop             rune
	corner, axis, tick, side            rune
	left, right, span, openSpan, break_ rune
	bars                                []rune
	inBars                              rune // a breakpoint among bars
}

var (
	unicodeGlyphs = glyphSet{
		curve: [3]rune{'▔', '━', '▁'}, band: '░', line: '┄', point: '•', drop: '┊',
		corner: '└', axis: '─', tick: '┬', side: '│',
		left: '├', right: '┤', span: '─', openSpan: '┄', break_: '◆', bars: []rune("▁▂▃▄▅▆▇█"), inBars: '◆',
	}
	plainGlyphs = glyphSet{
		curve: [3]rune{'*', '*', '*'}, band: ':', line: '-', point: 'x', drop: '|',
		corner: '+', axis: '-', tick: '+', side: '|',
		left: '[', right: ']', span: '-', openSpan: '.', break_: 'o', bars: []rune(".oO@"), inBars: '|',
	}
)

// marks are the characters that a page can show.
func (p *printer) marks() glyphSet {
	if p.ascii {
		return plainGlyphs
	}
	return unicodeGlyphs
}

// canvas is a grid of styled characters.
type canvas struct {
	char  [][]rune
	style [][]style
}

func newCanvas(rows, cols int) *canvas {
	c := &canvas{}
	for range rows {
		c.char = append(c.char, []rune(strings.Repeat(" ", cols)))
		c.style = append(c.style, make([]style, cols))
	}
	return c
}

func (c *canvas) set(row, col int, r rune, s style) {
	if row >= 0 && row < len(c.char) && col >= 0 && col < len(c.char[row]) {
		c.char[row][col], c.style[row][col] = r, s
	}
}

func (c *canvas) text(row, col int, s string, st style) {
	for i, r := range []rune(s) {
		c.set(row, col+i, r, st)
	}
}

// lines returns the rows of the canvas, runs of one style in one escape.
func (c *canvas) lines(p *printer) []string {
	var out []string
	for i := range c.char {
		end := len(c.char[i])
		for end > 0 && c.char[i][end-1] == ' ' {
			end--
		}
		var b strings.Builder
		for from := 0; from < end; {
			to := from + 1
			for to < end && c.style[i][to] == c.style[i][from] {
				to++
			}
			b.WriteString(p.styled(c.style[i][from], string(c.char[i][from:to])))
			from = to
		}
		out = append(out, b.String())
	}
	return out
}

// gutter is the width of the captions left of a chart.
const gutter = 8

// render draws the chart height rows high plus its axis, the curve in a style.
func (c *chart) render(p *printer, height int, curve style) []string {
	g := p.marks()
	cols := min(p.width, 100) - gutter - 1
	if len(c.x) < 2 || cols < 20 {
		return nil
	}
	x0, x1 := c.x[0], c.x[len(c.x)-1]
	y0, y1 := c.yRange()
	column := func(x float64) int {
		return int(math.Round((x - x0) / (x1 - x0) * float64(cols-1)))
	}
	row := func(y float64) (r int, third int) { // third 0 is the uppermost
		pos := (y1 - y) / (y1 - y0) * float64(height)
		r = int(math.Floor(pos))
		return r, min(int((pos-float64(r))*3), 2)
	}
	const axisRow, labelRow, edgeRow, weightRow = 0, 1, 2, 3
	cv := newCanvas(height+4, gutter+1+cols)

	for j := range cols {
		x := x0 + (x1-x0)*float64(j)/float64(cols-1)
		top, _ := row(min(c.at(c.hi, x), y1))
		bottom, _ := row(max(c.at(c.lo, x), y0))
		for r := max(top, 0); r <= min(bottom, height-1); r++ {
			cv.set(r, gutter+1+j, g.band, dim)
		}
	}
	for _, e := range c.edges {
		for r := range height {
			cv.set(r, gutter+1+column(e.at), g.drop, plain)
		}
	}
	if !math.IsNaN(c.line) {
		r, _ := row(c.line)
		for j := range cols {
			cv.set(r, gutter+1+j, g.line, plain)
		}
	}
	for j := range cols {
		r, third := row(c.at(c.rate, x0+(x1-x0)*float64(j)/float64(cols-1)))
		if r == height {
			r, third = height-1, 2
		}
		cv.set(r, gutter+1+j, g.curve[third], curve)
	}
	for _, pt := range c.points {
		if pt.x >= x0 && pt.x <= x1 && pt.y >= y0 && pt.y <= y1 {
			r, _ := row(pt.y)
			cv.set(min(r, height-1), gutter+1+column(pt.x), g.point, plain)
		}
	}

	for r := range height {
		cv.set(r, gutter, g.side, dim)
	}
	c.rightLabel(cv, 0, c.formatY(y1), dim)
	c.rightLabel(cv, height-1, c.formatY(y0), dim)
	if !math.IsNaN(c.line) {
		if r, _ := row(c.line); r > 0 && r < height-1 {
			c.rightLabel(cv, r, c.formatY(c.line), plain)
		}
	}

	cv.set(height+axisRow, gutter, g.corner, dim)
	for j := range cols {
		cv.set(height+axisRow, gutter+1+j, g.axis, dim)
	}
	for _, x := range ticks(x0, x1, cols/12) {
		label := asciiMinus(c.formatX(x), p)
		at := gutter + 1 + column(x)
		from := min(at-len([]rune(label))/2, gutter+1+cols-len([]rune(label)))
		cv.set(height+axisRow, at, g.tick, dim)
		cv.text(height+labelRow, from, label, plain)
	}
	if len(c.edges) > 0 {
		c.rightLabel(cv, height+edgeRow, "edge", dim)
		for _, e := range c.edges {
			c.drawMark(cv, height+edgeRow, e, column, cols, g, curve)
		}
	}
	if len(c.weight) > 0 {
		c.rightLabel(cv, height+weightRow, c.events, dim)
		for j, h := range c.density(x0, x1, cols) {
			if h > 0 {
				cv.set(height+weightRow, gutter+1+j, g.bars[min(int(h*float64(len(g.bars))), len(g.bars)-1)], dim)
			}
		}
	}
	lines := cv.lines(p)
	return slices.DeleteFunc(lines, func(l string) bool { return l == "" })
}

func asciiMinus(s string, p *printer) string { return p.glyphs(s) }

// rightLabel writes a caption into the gutter, at its right.
func (c *chart) rightLabel(cv *canvas, row int, s string, st style) {
	r := []rune(s)
	r = r[:min(len(r), gutter-1)]
	cv.text(row, gutter-1-len(r), string(r), st)
}

// drawMark draws a breakpoint with its interval; a limit that is not pinned
// runs dotted to the end of the chart.
func (c *chart) drawMark(cv *canvas, row int, e mark, column func(float64) int, cols int, g glyphSet, st style) {
	at := column(e.at)
	lo, hi, left, right := 0, cols-1, g.openSpan, g.openSpan
	leftRun, rightRun := g.openSpan, g.openSpan
	if !math.IsNaN(e.lo) {
		lo, left, leftRun = column(e.lo), g.left, g.span
	}
	if !math.IsNaN(e.hi) {
		hi, right, rightRun = column(e.hi), g.right, g.span
	}
	for j := lo; j < at; j++ {
		cv.set(row, gutter+1+j, leftRun, st)
	}
	for j := at + 1; j <= hi; j++ {
		cv.set(row, gutter+1+j, rightRun, st)
	}
	cv.set(row, gutter+1+lo, left, st)
	cv.set(row, gutter+1+hi, right, st)
	cv.set(row, gutter+1+at, g.break_, st)
}

// at interpolates one of the curve's columns at x.
func (c *chart) at(y []float64, x float64) float64 {
	i, _ := slices.BinarySearch(c.x, x)
	i = min(max(i, 1), len(c.x)-1)
	t := (x - c.x[i-1]) / (c.x[i] - c.x[i-1])
	return y[i-1] + t*(y[i]-y[i-1])
}

// yRange spans the curve and the line, and the band as far as it is not so
// wide that it would press the curve flat.
func (c *chart) yRange() (lo, hi float64) {
	lo, hi = slices.Min(c.rate), slices.Max(c.rate)
	if !math.IsNaN(c.line) {
		lo, hi = min(lo, c.line), max(hi, c.line)
	}
	room := max(hi-lo, .04) / 2
	return max(slices.Min(c.lo), lo-room), min(slices.Max(c.hi), hi+room)
}

// density spreads the events over the columns: each place reaches halfway to
// its neighbours. Heights are shares of the greatest.
func (c *chart) density(x0, x1 float64, cols int) []float64 {
	out := make([]float64, cols)
	top := 0.0
	for i, w := range c.weight {
		top = max(top, w.y)
		from, to := x0, x1
		if i > 0 {
			from = (c.weight[i-1].x + w.x) / 2
		}
		if i < len(c.weight)-1 {
			to = (w.x + c.weight[i+1].x) / 2
		}
		for j := range cols {
			if x := x0 + (x1-x0)*float64(j)/float64(cols-1); x >= from && x <= to {
				out[j] = w.y
			}
		}
	}
	for j := range out {
		if top > 0 {
			out[j] = max(out[j]/top, 1e-9)
		}
	}
	return out
}

// ticks returns round values within [lo, hi], about n of them.
func ticks(lo, hi float64, n int) []float64 {
	raw := (hi - lo) / float64(max(n, 2))
	step := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step*m >= raw {
			step *= m
			break
		}
	}
	var out []float64
	for k := math.Ceil(lo / step); k*step <= hi; k++ {
		out = append(out, k*step)
	}
	return out
}
