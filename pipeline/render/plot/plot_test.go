package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
)

// drawing is what a parsed SVG holds.
type drawing struct {
	texts    []string
	strokes  []shape
	fills    []shape
	elements map[string]int
}

// shape is one path in page coordinates.
type shape struct {
	colour  string
	width   float64
	opacity float64
	pts     []vg.Point
}

func parseSVG(t *testing.T, f *Figure) *drawing {
	t.Helper()
	var b bytes.Buffer
	if err := f.Write(&b, "svg"); err != nil {
		t.Fatal(err)
	}
	d := &drawing{elements: map[string]int{}}
	dec := xml.NewDecoder(&b)
	var in string
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return d
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			in = tok.Name.Local
			d.elements[in]++
			if in == "path" {
				d.path(t, tok.Attr)
			}
		case xml.EndElement:
			in = ""
		case xml.CharData:
			if in == "text" || in == "title" || in == "desc" {
				d.texts = append(d.texts, string(tok))
			}
		}
	}
}

func (d *drawing) path(t *testing.T, attrs []xml.Attr) {
	s := shape{width: 1, opacity: 1}
	filled := true
	for _, a := range attrs {
		switch a.Name.Local {
		case "d":
			for _, part := range strings.FieldsFunc(a.Value, func(r rune) bool { return r == 'M' || r == 'L' || r == 'Z' }) {
				var x, y float64
				if _, err := fmt.Sscanf(part, "%g,%g", &x, &y); err != nil {
					t.Fatalf("path %q: %v", part, err)
				}
				s.pts = append(s.pts, vg.Point{X: vg.Length(x), Y: vg.Length(y)})
			}
		case "style":
			for _, part := range strings.Split(a.Value, ";") {
				key, value, _ := strings.Cut(part, ":")
				switch key {
				case "fill":
					filled = value != "none"
					if filled {
						s.colour = value
					}
				case "stroke":
					s.colour = value
				case "stroke-width":
					fmt.Sscan(value, &s.width)
				case "fill-opacity", "stroke-opacity":
					fmt.Sscan(value, &s.opacity)
				}
			}
		}
	}
	if filled {
		d.fills = append(d.fills, s)
	} else {
		d.strokes = append(d.strokes, s)
	}
}

// is tells whether a colour of the SVG is c, whose parts the SVG rounds where
// it is not opaque.
func (s *shape) is(c color.NRGBA) bool {
	var r, g, b int
	_, err := fmt.Sscanf(s.colour, "#%02X%02X%02X", &r, &g, &b)
	off := func(v int, w uint8) bool { return v-int(w) > 4 || int(w)-v > 4 }
	return err == nil && !off(r, c.R) && !off(g, c.G) && !off(b, c.B)
}

func near(a, b vg.Length) bool { return math.Abs(float64(a-b)) < .02 }

// has tells whether one of the shapes of a colour has these points.
func has(list []shape, c color.NRGBA, pts ...vg.Point) bool {
	for _, s := range list {
		if !s.is(c) || len(s.pts) != len(pts) {
			continue
		}
		same := true
		for i := range pts {
			same = same && near(pts[i].X, s.pts[i].X) && near(pts[i].Y, s.pts[i].Y)
		}
		if same {
			return true
		}
	}
	return false
}

// Every mark of the figure stands where the rows of the table put it.
func TestMarksAreRows(t *testing.T) {
	for _, name := range []string{"four", "woba", "overlay", "compare", "slide", "joint", "joint, slide"} {
		f := figure(t, name)
		d, l := parseSVG(t, f), f.layout()
		if got := d.elements["script"] + d.elements["image"]; got > 0 {
			t.Errorf("%s: %d foreign elements", name, got)
		}
		for i := range f.panels {
			at := l.panels[i]
			for j := range f.panels[i].series {
				s := &f.panels[i].series[j]
				field, up := at.fields[s.tier], l.y[s.tier]
				place := func(v, r float64) vg.Point {
					return vg.Point{X: field.Min.X + vg.Length((v-l.x.Lo)/(l.x.Hi-l.x.Lo))*(field.Max.X-field.Min.X),
						Y: field.Min.Y + vg.Length((min(max(r, up.Lo), up.Hi)-up.Lo)/(up.Hi-up.Lo))*(field.Max.Y-field.Min.Y)}
				}
				c := styleOf(s.matchup).colour
				where := fmt.Sprintf("%s, %s of %s", name, s.matchup, s.source)
				m := *s.Verdict.Line
				if !has(d.strokes, black, vg.Point{X: field.Min.X, Y: place(0, m).Y}, vg.Point{X: field.Max.X, Y: place(0, m).Y}) {
					t.Errorf("%s: the line is not at %g", where, m)
				}
				if len(s.Points) > 0 {
					var curve, band []vg.Point
					for _, p := range s.Points {
						curve, band = append(curve, place(p.X, p.Rate)), append(band, place(p.X, p.Lo))
					}
					for k := len(s.Points) - 1; k >= 0; k-- {
						band = append(band, place(s.Points[k].X, s.Points[k].Hi))
					}
					if !has(d.strokes, c, curve...) || !has(d.fills, c, band...) {
						t.Errorf("%s: the curve or its band is not the table's", where)
					}
				}
				bars := 0
				for k := range s.Bins {
					b := s.Bins[k]
					if b.Rate != nil && !has(d.strokes, c, place(*b.Mean, *b.Lo), place(*b.Mean, *b.Hi)) {
						t.Errorf("%s: no interval of the bin at %g", where, *b.Mean)
					}
					list := d.fills
					if b.Thin || j > 0 {
						list = d.strokes
					}
					high := (at.counts.Max.Y - at.counts.Min.Y - 2) * vg.Length(curve.Density(b, f.quality.Width)/l.most)
					for _, bar := range list {
						if bar.is(c) && near(bar.pts[0].Y, at.counts.Min.Y) && len(bar.pts) > 2 && near(bar.pts[2].Y, at.counts.Min.Y+high) {
							bars++
							break
						}
					}
				}
				if s.tier == 0 && f.form.countRoom > 0 && bars != len(s.Bins) {
					t.Errorf("%s: %d bars of pitches, want %d", where, bars, len(s.Bins))
				}
				for _, z := range s.Zones {
					if z.LowerKind == "edge" {
						limits := []*float64{z.LowerLo, z.LowerHi}
						for _, v := range limits {
							if v != nil && !has(d.strokes, black, place(*z.Lower, m), place(*v, m)) {
								t.Errorf("%s: breakpoint %g has no limit at %g", where, *z.Lower, *v)
							}
						}
					}
				}
				for _, certain := range s.Certain() {
					if !slices.Contains(f.rails(&f.panels[i]), s) {
						continue // the slide of joint shows where both meet
					}
					list, colour := d.fills, c
					if !certain.Good {
						list, colour = d.strokes, grey
					}
					found := false
					for _, bar := range list {
						found = found || bar.is(colour) && len(bar.pts) >= 4 && near(bar.pts[0].X, place(certain.Lo, 0).X) &&
							near(bar.pts[2].X, place(certain.Hi, 0).X) && bar.pts[0].Y < at.rail && bar.pts[0].Y > at.counts.Max.Y
					}
					if !found {
						t.Errorf("%s: no bar of the certain zone %v", where, certain)
					}
				}
			}
		}
	}
}

// What the figure says in words.
func TestWords(t *testing.T) {
	for name, want := range map[string][]string{
		"four": {"Where does the four-seam beat the line, by velocity?", "velocity, mph", "Whiff rate", "better for the pitcher →", ".220", "93.2",
			"Found: beats the line from 93.2\u00a0mph (92.6–93.9)\u00a0up.", "up to 90.3 mph (89.9–90.8) and from 95.7 mph (95.1–96.2) up",
			"Never beats the line, over the central 90 % of the pitches, except perhaps a stretch narrower than a tenth of the pitches.", "too few for a curve", "Too few pitches or pitchers: needs 12 pitchers",
			"3,911 swings by 54 pitchers", "thin bins hollow", "(92.6–93.9)\u00a0up. Caveat: one\u00a0pitcher.",
			"One pitcher: without a single pitcher the breakpoint would be gone or lie elsewhere.", "coaches and the medical staff"},
		"woba": {"← better for the pitcher", "Edge unresolved: rising along velocity", "Inconclusive: no change along velocity",
			"Always beats the line, at every value seen, except perhaps a stretch narrower than a tenth of the pitches.", "from 93.0 mph (? to 94.0) up", "certain nowhere"},
		"overlay": {"Left-handed pitchers", "L-v-R · Found"},
		"compare": {"harbour v1.0.0 solid, The Winter League of the Northern Islands and Their Neighbours v1.0.0 dashed", "harbour v1.0.0 · Found"},
	} {
		all := strings.Join(parseSVG(t, figure(t, name)).texts, " ")
		for _, w := range want {
			if w = strings.ReplaceAll(w, words.NoBreak, " "); !strings.Contains(all, w) {
				t.Errorf("%s: does not say %q", name, w)
			}
		}
	}
	// A caveat of background stands beside no number.
	if all := strings.Join(parseSVG(t, figure(t, "four")).texts, " "); strings.Contains(all, "uneven bins") || strings.Contains(all, "comb") {
		t.Error("a caveat of background is told")
	}
	f := figure(t, "four")
	for _, word := range []string{locate.Found, locate.AlwaysBeats, locate.NeverBeats, locate.EdgeUnresolved, locate.Inconclusive, locate.TooFew} {
		s := f.panels[0].series[0]
		v := *s.Verdict
		v.Verdict, s.Verdict = word, &v
		if got := s.Sentence(f.quality, false); len(got) < 30 {
			t.Errorf("%s is told as %q", word, got)
		}
	}
}

func TestHostileText(t *testing.T) {
	d := parseSVG(t, figure(t, "hostile"))
	for name := range d.elements {
		if !strings.Contains(" svg title desc defs style g path text ", " "+name+" ") {
			t.Errorf("element %s", name)
		}
	}
	all := strings.Join(d.texts, " ")
	if !strings.Contains(all, "</text><script>alert(1)</script>&amp;<!--") {
		t.Error("the text is lost")
	}
	if strings.ContainsAny(all, "\x00\x1b\u202e\ufffd") {
		t.Error("control characters are kept")
	}
}

func TestFormats(t *testing.T) {
	magic := map[string]string{"svg": "<?xml", "png": "\x89PNG\r\n\x1a\n", "pdf": "%PDF-1."}
	for _, format := range Formats() {
		for _, name := range []string{"four", "hostile"} {
			var a, b bytes.Buffer
			if err := errors.Join(figure(t, name).Write(&a, format), figure(t, name).Write(&b, format)); err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(a.String(), magic[format]) {
				t.Errorf("%s starts with %q", format, a.Bytes()[:8])
			}
			if !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s of %s: two runs differ", format, name)
			}
			if format == "pdf" && bytes.Count(a.Bytes(), []byte("Date (D:20000101000000")) != 2 {
				t.Error("the PDF holds a clock")
			}
		}
	}
	var b bytes.Buffer
	if err := figure(t, "four").Write(&b, "gif"); err == nil || !strings.Contains(err.Error(), "svg, png, pdf") {
		t.Errorf("gif: %v", err)
	}
	if err := figure(t, "few").Write(&b, "png"); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil || img.Bounds().Dx() != 1000 {
		t.Errorf("PNG of %v, %v, want 1,000 pixels", img.Bounds(), err)
	}
}

func TestNothingToDraw(t *testing.T) {
	s := whiffs()
	s.PitchType = "cutter"
	if _, err := New(fixture(), s, Options{}); !errors.Is(err, ErrNothing) {
		t.Errorf("cutter: %v", err)
	}
	src := fixture()
	for _, o := range []Options{{Width: 10}, {Width: vg.Length(math.NaN())}, {Resolution: -1}, {Overlay: true, Compare: &src}} {
		if _, err := New(src, whiffs(), o); err == nil {
			t.Errorf("%+v is accepted", o)
		}
	}
	// A figure of nothing but too few has a line, and no numbers along its axis.
	d := parseSVG(t, figure(t, "few"))
	if all := " " + strings.Join(d.texts, " ") + " "; !strings.Contains(all, " .220 ") || strings.Contains(all, " 0.5 ") || strings.Contains(all, "NaN") {
		t.Errorf("too few: %s", all)
	}
	// One matchup without a verdict is an empty panel that says so.
	src.Tables.Verdicts = src.Tables.Verdicts[:3]
	f, err := New(src, whiffs(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(parseSVG(t, f).texts, " "); !strings.Contains(all, "nothing to draw") || !strings.Contains(all, "no such pitch was thrown") {
		t.Error("the empty panel gives no reason")
	}
}

// Contrast with the paper, as the Web Content Accessibility Guidelines 2.1
// compute it: 4.5 to 1 for text, of which the marks' colours write some.
func TestContrast(t *testing.T) {
	luminance := func(c color.NRGBA) float64 {
		part := func(v uint8) float64 {
			s := float64(v) / 255
			if s <= .04045 {
				return s / 12.92
			}
			return math.Pow((s+.055)/1.055, 2.4)
		}
		return .2126*part(c.R) + .7152*part(c.G) + .0722*part(c.B)
	}
	colours := []color.NRGBA{black, grey}
	looks := map[marker]bool{}
	for _, m := range pitch.Matchups {
		colours = append(colours, styleOf(m).colour)
		looks[styleOf(m).marker] = true
	}
	for _, c := range colours {
		if got := (luminance(paper) + .05) / (luminance(c) + .05); got < 4.5 {
			t.Errorf("%v has a contrast of %.2f", c, got)
		}
	}
	if len(looks) != 4 {
		t.Error("two matchups share a marker")
	}
	if (luminance(paper)+.05)/(luminance(color.NRGBA{0x99, 0x99, 0x99, 0xff})+.05) > 3 {
		t.Error("the contrast is computed wrongly") // 2.85 to 1
	}
}
