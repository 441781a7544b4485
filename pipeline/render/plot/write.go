package plot

import (
	"bytes"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"regexp"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
)

// Formats lists the formats that a figure can be written in.
func Formats() []string { return []string{"svg", "png", "pdf"} }

// Write writes the figure in one of Formats. The same figure gives the same
// bytes. An SVG keeps its text as text and carries the letters that it uses; a PDF and a PNG
// hold the shapes of the letters, so that no character depends on a code page
// and none is moved to a whole pixel.
func (f *Figure) Write(w io.Writer, format string) error {
	l := f.layout()
	switch format {
	case "svg":
		return f.svg(w, l)
	case "png":
		c := vgimg.NewWith(vgimg.UseWH(f.size(l)), vgimg.UseDPI(f.form.resolution))
		f.draw(grown{outlined{c}, vg.Length(f.form.scale)}, l)
		return (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(w, paletted(c.Image()))
	case "pdf":
		c := vgpdf.New(f.size(l))
		f.draw(straight{outlined{c}}, l)
		var b bytes.Buffer
		if _, err := c.WriteTo(&b); err != nil {
			return fmt.Errorf("plot: %w", err)
		}
		return write(w, clock.ReplaceAll(b.Bytes(), []byte("${1}20000101000000")))
	}
	return fmt.Errorf("plot: unknown format %q (known: %s)", format, strings.Join(Formats(), ", "))
}

// size is that of the file.
func (f *Figure) size(l *layout) (w, h vg.Length) {
	return l.width * vg.Length(f.form.scale), l.height * vg.Length(f.form.scale)
}

// clock finds the times in a PDF, which take as many bytes as what replaces
// them, so that its table of offsets stays true.
var clock = regexp.MustCompile(`(/(?:Creation|Mod)Date \(D:)\d{14}`)

func write(w io.Writer, b []byte) error {
	_, err := w.Write(b)
	return err
}

// outlined is a canvas on which text is drawn as the shapes of its letters.
type outlined struct{ vg.Canvas }

// FillString fills the outlines of a text's glyphs.
func (c outlined) FillString(f font.Face, pt vg.Point, s string) {
	const em = 1 << 16 // units of a glyph's outline, in sixty-fourths
	scale := f.Font.Size / em
	for i, r := range s {
		glyph, err := f.Face.GlyphIndex(nil, r)
		if err != nil {
			panic("plot: the font has no glyphs: " + err.Error()) // it is compiled in
		}
		shape, err := f.Face.LoadGlyph(nil, glyph, em, nil)
		if err != nil {
			panic("plot: the font has no outlines: " + err.Error())
		}
		next := i + len(string(r))
		x := pt.X + f.Width(s[:next]) - f.Width(s[i:next])
		var p vg.Path
		for _, seg := range shape {
			var at [3]vg.Point
			for j, a := range seg.Args {
				at[j] = vg.Point{X: x + vg.Length(a.X)*scale, Y: pt.Y - vg.Length(a.Y)*scale}
			}
			switch seg.Op {
			case 0: // a contour starts
				if p != nil {
					p.Close()
				}
				p.Move(at[0])
			case 1:
				p.Line(at[0])
			case 2:
				p.QuadTo(at[0], at[1])
			case 3:
				p.CubeTo(at[0], at[1], at[2])
			}
		}
		if p != nil {
			p.Close()
			c.Fill(p)
		}
	}
}

// grown is a canvas on which lines grow with the figure; those of vgimg keep their width
// and dashes whatever its scale.
type grown struct {
	vg.Canvas
	scale vg.Length
}

// SetLineWidth sets the width of lines to come.
func (c grown) SetLineWidth(w vg.Length) { c.Canvas.SetLineWidth(w * c.scale) }

// SetLineDash sets the dash of lines to come.
func (c grown) SetLineDash(pattern []vg.Length, offset vg.Length) {
	out := make([]vg.Length, len(pattern))
	for i, p := range pattern {
		out[i] = p * c.scale
	}
	c.Canvas.SetLineDash(out, offset*c.scale)
}

// straight is a canvas that hands colours on with their opacity apart, as
// vgpdf takes them; color.Color multiplies them.
type straight struct{ vg.Canvas }

// SetColor sets the colour of what is drawn next.
func (c straight) SetColor(to color.Color) { c.Canvas.SetColor(apart{to}) }

type apart struct{ color.Color }

// RGBA returns the colour as if it were opaque, and its opacity.
func (c apart) RGBA() (r, g, b, a uint32) {
	n := color.NRGBAModel.Convert(c.Color).(color.NRGBA)
	r, g, b, _ = color.NRGBA{n.R, n.G, n.B, 0xff}.RGBA()
	return r, g, b, uint32(n.A) * 0x101
}
