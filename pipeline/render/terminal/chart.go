package terminal

import (
	"math"
	"slices"
	"strings"
)

// Chart is a small picture of one curve for a terminal: the smooth rate with
// its band, the line it is compared with, the rates of the bins, the
// breakpoints with their intervals and how many events stand behind each place.
type Chart struct {
	X, Rate, Lo, Hi []float64 // the curve, x ascending
	Line            float64   // NaN where there is none
	Points          []Point   // rates of the bins
	Edges           []Mark
	Weight          []Point // events by place
	FormatX         func(float64) string
	FormatY         func(float64) string
	Events          string // what weight counts, for its caption
}

// Point is a place of a chart.
type Point struct{ X, Y float64 }

// Mark is a breakpoint; a limit that is not pinned is NaN.
type Mark struct{ At, Lo, Hi float64 }

// Glyphs are the characters of a chart.
type Glyphs struct {
	Curve                              [3]rune // in the upper, middle and lower third of a row
	Band, Line, Point, drop            rune
	corner, axis, tick, side           rune
	Left, Right, span, openSpan, Break rune
	Bars                               []rune
	InBars                             rune // a breakpoint among bars
}

// The characters of a chart, and those where only ASCII is safe.
var (
	UnicodeGlyphs = Glyphs{
		Curve: [3]rune{'▔', '━', '▁'}, Band: '░', Line: '┄', Point: '•', drop: '┊',
		corner: '└', axis: '─', tick: '┬', side: '│',
		Left: '├', Right: '┤', span: '─', openSpan: '┄', Break: '◆', Bars: []rune("▁▂▃▄▅▆▇█"), InBars: '◆',
	}
	PlainGlyphs = Glyphs{
		Curve: [3]rune{'*', '*', '*'}, Band: ':', Line: '-', Point: 'x', drop: '|',
		corner: '+', axis: '-', tick: '+', side: '|',
		Left: '[', Right: ']', span: '-', openSpan: '.', Break: 'o', Bars: []rune(".oO@"), InBars: '|',
	}
)

// Marks are the characters that a page can show.
func (p *Printer) Marks() Glyphs {
	if p.ASCII {
		return PlainGlyphs
	}
	return UnicodeGlyphs
}

// canvas is a grid of styled characters.
type canvas struct {
	char  [][]rune
	style [][]Style
}

func newCanvas(rows, cols int) *canvas {
	c := &canvas{}
	for range rows {
		c.char = append(c.char, []rune(strings.Repeat(" ", cols)))
		c.style = append(c.style, make([]Style, cols))
	}
	return c
}

func (c *canvas) set(row, col int, r rune, s Style) {
	if row >= 0 && row < len(c.char) && col >= 0 && col < len(c.char[row]) {
		c.char[row][col], c.style[row][col] = r, s
	}
}

func (c *canvas) text(row, col int, s string, st Style) {
	for i, r := range []rune(s) {
		c.set(row, col+i, r, st)
	}
}

// lines returns the rows of the canvas, runs of one style in one escape.
func (c *canvas) lines(p *Printer) []string {
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
			b.WriteString(p.Styled(c.style[i][from], string(c.char[i][from:to])))
			from = to
		}
		out = append(out, b.String())
	}
	return out
}

// Gutter is the width of the captions left of a chart.
const Gutter = 8

// Render draws the chart height rows high plus its axis, the curve in a style.
func (c *Chart) Render(p *Printer, height int, curve Style) []string {
	g := p.Marks()
	cols := min(p.Width, 100) - Gutter - 1
	if len(c.X) < 2 || cols < 20 {
		return nil
	}
	x0, x1 := c.X[0], c.X[len(c.X)-1]
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
	cv := newCanvas(height+4, Gutter+1+cols)

	for j := range cols {
		x := x0 + (x1-x0)*float64(j)/float64(cols-1)
		top, _ := row(min(c.at(c.Hi, x), y1))
		bottom, _ := row(max(c.at(c.Lo, x), y0))
		for r := max(top, 0); r <= min(bottom, height-1); r++ {
			cv.set(r, Gutter+1+j, g.Band, Dim)
		}
	}
	for _, e := range c.Edges {
		for r := range height {
			cv.set(r, Gutter+1+column(e.At), g.drop, Plain)
		}
	}
	if !math.IsNaN(c.Line) {
		r, _ := row(c.Line)
		for j := range cols {
			cv.set(r, Gutter+1+j, g.Line, Plain)
		}
	}
	for j := range cols {
		r, third := row(c.at(c.Rate, x0+(x1-x0)*float64(j)/float64(cols-1)))
		if r == height {
			r, third = height-1, 2
		}
		cv.set(r, Gutter+1+j, g.Curve[third], curve)
	}
	for _, pt := range c.Points {
		if pt.X >= x0 && pt.X <= x1 && pt.Y >= y0 && pt.Y <= y1 {
			r, _ := row(pt.Y)
			cv.set(min(r, height-1), Gutter+1+column(pt.X), g.Point, Plain)
		}
	}

	for r := range height {
		cv.set(r, Gutter, g.side, Dim)
	}
	c.rightLabel(cv, 0, c.FormatY(y1), Dim)
	c.rightLabel(cv, height-1, c.FormatY(y0), Dim)
	if !math.IsNaN(c.Line) {
		if r, _ := row(c.Line); r > 0 && r < height-1 {
			c.rightLabel(cv, r, c.FormatY(c.Line), Plain)
		}
	}

	cv.set(height+axisRow, Gutter, g.corner, Dim)
	for j := range cols {
		cv.set(height+axisRow, Gutter+1+j, g.axis, Dim)
	}
	for _, x := range ticks(x0, x1, cols/12) {
		label := p.Glyphs(c.FormatX(x))
		at := Gutter + 1 + column(x)
		from := min(at-len([]rune(label))/2, Gutter+1+cols-len([]rune(label)))
		cv.set(height+axisRow, at, g.tick, Dim)
		cv.text(height+labelRow, from, label, Plain)
	}
	if len(c.Edges) > 0 {
		c.rightLabel(cv, height+edgeRow, "edge", Dim)
		for _, e := range c.Edges {
			c.drawMark(cv, height+edgeRow, e, column, cols, g, curve)
		}
	}
	if len(c.Weight) > 0 {
		c.rightLabel(cv, height+weightRow, c.Events, Dim)
		for j, h := range c.density(x0, x1, cols) {
			if h > 0 {
				cv.set(height+weightRow, Gutter+1+j, g.Bars[min(int(h*float64(len(g.Bars))), len(g.Bars)-1)], Dim)
			}
		}
	}
	lines := cv.lines(p)
	return slices.DeleteFunc(lines, func(l string) bool { return l == "" })
}

// rightLabel writes a caption into the gutter, at its right.
func (c *Chart) rightLabel(cv *canvas, row int, s string, st Style) {
	r := []rune(s)
	r = r[:min(len(r), Gutter-1)]
	cv.text(row, Gutter-1-len(r), string(r), st)
}

// drawMark draws a breakpoint with its interval; a limit that is not pinned
// runs dotted to the end of the chart.
func (c *Chart) drawMark(cv *canvas, row int, e Mark, column func(float64) int, cols int, g Glyphs, st Style) {
	at := column(e.At)
	lo, hi, left, right := 0, cols-1, g.openSpan, g.openSpan
	leftRun, rightRun := g.openSpan, g.openSpan
	if !math.IsNaN(e.Lo) {
		lo, left, leftRun = column(e.Lo), g.Left, g.span
	}
	if !math.IsNaN(e.Hi) {
		hi, right, rightRun = column(e.Hi), g.Right, g.span
	}
	for j := lo; j < at; j++ {
		cv.set(row, Gutter+1+j, leftRun, st)
	}
	for j := at + 1; j <= hi; j++ {
		cv.set(row, Gutter+1+j, rightRun, st)
	}
	cv.set(row, Gutter+1+lo, left, st)
	cv.set(row, Gutter+1+hi, right, st)
	cv.set(row, Gutter+1+at, g.Break, st)
}

// at interpolates one of the curve's columns at x.
func (c *Chart) at(y []float64, x float64) float64 {
	i, _ := slices.BinarySearch(c.X, x)
	i = min(max(i, 1), len(c.X)-1)
	t := (x - c.X[i-1]) / (c.X[i] - c.X[i-1])
	return y[i-1] + t*(y[i]-y[i-1])
}

// yRange spans the curve and the line, and the band as far as it is not so
// wide that it would press the curve flat.
func (c *Chart) yRange() (lo, hi float64) {
	lo, hi = slices.Min(c.Rate), slices.Max(c.Rate)
	if !math.IsNaN(c.Line) {
		lo, hi = min(lo, c.Line), max(hi, c.Line)
	}
	room := max(hi-lo, .04) / 2
	return max(slices.Min(c.Lo), lo-room), min(slices.Max(c.Hi), hi+room)
}

// density spreads the events over the columns: each place reaches halfway to
// its neighbours. Heights are shares of the greatest.
func (c *Chart) density(x0, x1 float64, cols int) []float64 {
	out := make([]float64, cols)
	top := 0.0
	for i, w := range c.Weight {
		top = max(top, w.Y)
		from, to := x0, x1
		if i > 0 {
			from = (c.Weight[i-1].X + w.X) / 2
		}
		if i < len(c.Weight)-1 {
			to = (w.X + c.Weight[i+1].X) / 2
		}
		for j := range cols {
			if x := x0 + (x1-x0)*float64(j)/float64(cols-1); x >= from && x <= to {
				out[j] = w.Y
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
