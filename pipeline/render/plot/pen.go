package plot

import (
	"image/color"
	"math"
	"strings"
	"unicode"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
)

// Weights of the font, as numbers of golang.org/x/image/font.
const (
	regular = 0
	heavy   = 3
)

// ink holds the fonts.
type ink struct{ cache *font.Cache }

func newInk() *ink { return &ink{font.NewCache(liberation.Collection())} }

// face returns Liberation Sans at a size.
func (k *ink) face(size vg.Length, bold bool) font.Face {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Weight: regular}
	if bold {
		f.Weight = heavy
	}
	return k.cache.Lookup(f, size)
}

// pen draws on a canvas whose origin is the lower left corner.
type pen struct {
	c   vg.Canvas
	ink *ink
}

// align says which part of a text lies at its point.
type align float64

const (
	left   align = 0
	centre align = .5
	right  align = 1
)

// text writes one line with its baseline at pt.
func (p *pen) text(pt vg.Point, a align, f font.Face, c color.Color, s string) {
	if s == "" {
		return
	}
	s = clean(s)
	pt.X -= vg.Length(a) * f.Width(s)
	p.c.SetColor(c)
	p.c.FillString(f, pt, s)
}

// clean drops what a text cannot show, such as control characters, which no
// SVG may hold.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\u00a0':
			return ' '
		case unicode.IsPrint(r):
			return r
		}
		return -1
	}, strings.ToValidUTF8(s, ""))
}

// upright writes one line that runs upwards, its middle at pt.
func (p *pen) upright(pt vg.Point, f font.Face, c color.Color, s string) {
	p.c.Push()
	p.c.Translate(pt)
	p.c.Rotate(math.Pi / 2)
	p.text(vg.Point{}, centre, f, c, s)
	p.c.Pop()
}

// wrap breaks a text into lines at most wide, at spaces that are no no-break
// ones. A word that is wider is cut with an ellipsis, so that nothing leaves
// its place.
func wrap(f font.Face, wide vg.Length, s string) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		if both := line + " " + word; line != "" && f.Width(both) <= wide {
			line = both
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		line = cut(f, wide, word)
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// cut shortens a text to a width, with an ellipsis.
func cut(f font.Face, wide vg.Length, s string) string {
	if f.Width(s) <= wide {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && f.Width(string(r)+"…") > wide {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// stroke draws an open line through points.
func (p *pen) stroke(c color.Color, width vg.Length, dash []vg.Length, pts ...vg.Point) {
	if len(pts) < 2 {
		return
	}
	p.c.SetColor(c)
	p.c.SetLineWidth(width)
	p.c.SetLineDash(dash, 0)
	p.c.Stroke(path(pts))
}

// rules draws a line between each two points, all as one path.
func (p *pen) rules(c color.Color, width vg.Length, ends ...vg.Point) {
	if len(ends) < 2 {
		return
	}
	var out vg.Path
	for i := 0; i+1 < len(ends); i += 2 {
		out.Move(ends[i])
		out.Line(ends[i+1])
	}
	p.c.SetColor(c)
	p.c.SetLineWidth(width)
	p.c.SetLineDash(nil, 0)
	p.c.Stroke(out)
}

// fill fills the polygon of points.
func (p *pen) fill(c color.Color, pts ...vg.Point) {
	if len(pts) < 3 {
		return
	}
	shape := path(pts)
	shape.Close()
	p.c.SetColor(c)
	p.c.Fill(shape)
}

func (p *pen) box(c color.Color, r vg.Rectangle) { p.fill(c, corners(r)...) }

// frame draws the outline of a rectangle.
func (p *pen) frame(c color.Color, width vg.Length, r vg.Rectangle) {
	pts := corners(r)
	p.stroke(c, width, nil, append(pts, pts[0], pts[1])...)
}

func corners(r vg.Rectangle) []vg.Point {
	return []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}}
}

func path(pts []vg.Point) vg.Path {
	var out vg.Path
	for i, pt := range pts {
		if i == 0 {
			out.Move(pt)
		} else {
			out.Line(pt)
		}
	}
	return out
}

// marker is the shape of a bin's mark.
type marker uint8

const (
	circle marker = iota
	square
	triangle
	diamond
)

// mark draws a marker, hollow ones with paper inside. All are about as large.
func (p *pen) mark(m marker, pt vg.Point, size vg.Length, c color.Color, hollow bool) {
	const rim = vg.Length(1)
	if !hollow {
		p.c.SetColor(c)
		p.c.Fill(m.outline(pt, size+rim/2))
		return
	}
	shape := m.outline(pt, size)
	p.c.SetColor(paper)
	p.c.Fill(shape)
	p.c.SetColor(c)
	p.c.SetLineWidth(rim)
	p.c.SetLineDash(nil, 0)
	p.c.Stroke(shape)
}

// outline returns the shape of a marker around a point.
func (m marker) outline(pt vg.Point, size vg.Length) vg.Path {
	var out vg.Path
	if m == circle {
		out.Move(pt.Add(vg.Point{X: size}))
		out.Arc(pt, size, 0, 2*math.Pi)
		out.Close()
		return out
	}
	sides, turn, grow := 4, 0.0, 1.3
	switch m {
	case square:
		turn, grow = math.Pi/4, 1.2
	case triangle:
		sides, turn, grow = 3, math.Pi/2, 1.35
	}
	var pts []vg.Point
	for i := range sides {
		sin, cos := math.Sincos(turn + 2*math.Pi*float64(i)/float64(sides))
		pts = append(pts, vg.Point{X: pt.X + size*vg.Length(grow*cos), Y: pt.Y + size*vg.Length(grow*sin)})
	}
	out = path(pts)
	out.Close()
	return out
}
