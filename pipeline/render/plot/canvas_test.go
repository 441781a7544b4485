package plot

import (
	"image"
	"image/color"
	"math"
	"testing"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// ruler is a canvas that measures what is drawn on it, in page coordinates.
type ruler struct {
	stack []affine
	texts []said
	reach vg.Rectangle // of all paths
}

// affine maps (x, y) to (a x + b y + c, d x + e y + f).
type affine [6]float64

type said struct {
	text string
	box  vg.Rectangle
}

func newRuler() *ruler {
	inf := vg.Length(math.Inf(1))
	return &ruler{stack: []affine{{1, 0, 0, 0, 1, 0}}, reach: vg.Rectangle{Min: vg.Point{X: inf, Y: inf}, Max: vg.Point{X: -inf, Y: -inf}}}
}

func (r *ruler) top() *affine { return &r.stack[len(r.stack)-1] }

func (m affine) apply(p vg.Point) vg.Point {
	x, y := float64(p.X), float64(p.Y)
	return vg.Point{X: vg.Length(m[0]*x + m[1]*y + m[2]), Y: vg.Length(m[3]*x + m[4]*y + m[5])}
}

func (r *ruler) times(n affine) {
	m := *r.top()
	*r.top() = affine{
		m[0]*n[0] + m[1]*n[3], m[0]*n[1] + m[1]*n[4], m[0]*n[2] + m[1]*n[5] + m[2],
		m[3]*n[0] + m[4]*n[3], m[3]*n[1] + m[4]*n[4], m[3]*n[2] + m[4]*n[5] + m[5]}
}

func (r *ruler) SetLineWidth(vg.Length)             {}
func (r *ruler) SetLineDash([]vg.Length, vg.Length) {}
func (r *ruler) SetColor(color.Color)               {}
func (r *ruler) Push()                              { r.stack = append(r.stack, *r.top()) }
func (r *ruler) Pop()                               { r.stack = r.stack[:len(r.stack)-1] }
func (r *ruler) Scale(x, y float64)                 { r.times(affine{x, 0, 0, 0, y, 0}) }
func (r *ruler) Translate(p vg.Point)               { r.times(affine{1, 0, float64(p.X), 0, 1, float64(p.Y)}) }
func (r *ruler) Stroke(p vg.Path)                   { r.grow(p) }
func (r *ruler) Fill(p vg.Path)                     { r.grow(p) }
func (r *ruler) DrawImage(vg.Rectangle, image.Image) {
	panic("a figure holds no image")
}
func (r *ruler) Rotate(a float64) {
	sin, cos := math.Sincos(a)
	r.times(affine{cos, -sin, 0, sin, cos, 0})
}

func (r *ruler) grow(p vg.Path) {
	for _, c := range p {
		if c.Type != vg.CloseComp { // a curve reaches its radius around
			r.reach = join(r.reach, r.top().apply(c.Pos.Add(vg.Point{X: c.Radius, Y: c.Radius})))
			r.reach = join(r.reach, r.top().apply(c.Pos.Add(vg.Point{X: -c.Radius, Y: -c.Radius})))
		}
	}
}

func join(b vg.Rectangle, p vg.Point) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y)}, Max: vg.Point{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y)}}
}

func (r *ruler) FillString(f font.Face, pt vg.Point, s string) {
	e := f.Extents()
	lower, upper := r.top().apply(pt.Add(vg.Point{Y: -e.Descent})), r.top().apply(pt.Add(vg.Point{X: f.Width(s), Y: e.Ascent}))
	r.texts = append(r.texts, said{s, join(join(vg.Rectangle{Min: lower, Max: lower}, lower), upper)})
}

func inside(b vg.Rectangle, w, h vg.Length) bool {
	return b.Min.X >= 0 && b.Min.Y >= 0 && b.Max.X <= w && b.Max.Y <= h
}

// Nothing is drawn outside the page, and no text covers another.
func TestNothingIsClipped(t *testing.T) {
	for name := range cases() {
		f := figure(t, name)
		l, r := f.layout(), newRuler()
		f.draw(r, l)
		wide, high := f.size(l)
		if !inside(r.reach, wide, high) {
			t.Errorf("%s: a mark at %v leaves the page of %v × %v", name, r.reach, wide, high)
		}
		if least := map[bool]int{false: 20, true: 12}[len(f.curves(0)[0].Points) == 0]; len(r.texts) < least {
			t.Errorf("%s: only %d texts", name, len(r.texts))
		}
		for i, a := range r.texts {
			if !inside(a.box, wide, high) {
				t.Errorf("%s: %q at %v leaves the page of %v × %v", name, a.text, a.box, wide, high)
			}
			for _, b := range r.texts[:i] {
				if overlap(a.box, b.box) {
					t.Errorf("%s: %q covers %q", name, a.text, b.text)
				}
			}
		}
	}
}

// overlap tells whether two boxes share more than the gaps between letters.
func overlap(a, b vg.Rectangle) bool {
	const gap = 1.2
	return min(a.Max.X, b.Max.X)-max(a.Min.X, b.Min.X) > gap && min(a.Max.Y, b.Max.Y)-max(a.Min.Y, b.Min.Y) > gap
}

func TestRulerSeesWhatLeaves(t *testing.T) {
	f := figure(t, "few")
	l, r := f.layout(), newRuler()
	p := &pen{r, f.ink}
	p.text(vg.Point{X: l.width - 20, Y: 20}, left, f.body(), black, "a long text at the edge")
	p.upright(vg.Point{X: 40, Y: 10}, f.body(), black, "and one below")
	p.stroke(black, 1, nil, vg.Point{X: -1}, vg.Point{X: 5})
	if inside(r.texts[0].box, l.width, l.height) || inside(r.texts[1].box, l.width, l.height) || inside(r.reach, l.width, l.height) {
		t.Errorf("not seen: %v, %v", r.texts, r.reach)
	}
}
