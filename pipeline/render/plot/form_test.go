package plot

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"image/color"
	"image/png"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/image/font/sfnt"

	"sill/pipeline/thresholds"
)

// svgOf writes a figure.
func svgOf(t *testing.T, name string) string {
	t.Helper()
	var b bytes.Buffer
	if err := figure(t, name).Write(&b, "svg"); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var (
	texts = regexp.MustCompile(`(?s)<text [^>]*?style="([^"]*)">([^<]*)</text>`)
	sizes = regexp.MustCompile(`font-size:([0-9.]+)px`)
	fonts = regexp.MustCompile(`font-weight:(\w+);src:url\(data:font/ttf;base64,([^)]*)\)`)
)

// An SVG is small enough for a mail, and holds each letter that it shows.
func TestLettersInside(t *testing.T) {
	for name := range cases() {
		svg := svgOf(t, name)
		if len(svg) >= 150_000 {
			t.Errorf("%s: %d bytes", name, len(svg))
		}
		inside := map[string]*sfnt.Font{}
		for _, m := range fonts.FindAllStringSubmatch(svg, -1) {
			b, err := base64.StdEncoding.DecodeString(m[2])
			if err != nil {
				t.Fatal(err)
			}
			if inside[m[1]], err = sfnt.Parse(b); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		seen := texts.FindAllStringSubmatch(svg, -1)
		if len(inside) != 2 || len(seen) < 10 {
			t.Fatalf("%s: %d fonts, %d texts", name, len(inside), len(seen))
		}
		for _, m := range seen {
			weight := "normal"
			if strings.Contains(m[1], "font-weight:bold") {
				weight = "bold"
			}
			for _, r := range html.UnescapeString(m[2]) {
				if g, err := inside[weight].GlyphIndex(nil, r); g == 0 || err != nil {
					t.Errorf("%s: %c of %q is not in the %s font (%v)", name, r, m[2], weight, err)
				}
			}
		}
	}
}

// A slide is 16 to 9, and no letter on it is under 16 points.
func TestSlide(t *testing.T) {
	for name := range cases() {
		if !strings.Contains(name, "slide") {
			continue
		}
		svg := svgOf(t, name)
		if !strings.Contains(svg, `<svg width="960pt" height="540pt" viewBox="0 0 960 540"`) || !strings.Contains(svg, `transform="scale(2,2)"`) {
			t.Errorf("%s: not 13.33 by 7.5 inches: %.200s", name, svg)
		}
		for _, m := range sizes.FindAllStringSubmatch(svg, -1) {
			if size, err := strconv.ParseFloat(m[1], 64); err != nil || size*slide.scale < 16 {
				t.Errorf("%s: letters of %s × %g points", name, m[1], slide.scale)
			}
		}
		l := figure(t, name).layout()
		for i, at := range l.panels {
			for _, field := range at.fields {
				if high := field.Max.Y - field.Min.Y; high < 30 {
					t.Errorf("%s: the field of panel %d is %.0f points high", name, i, high*2)
				}
			}
		}
	}
	var b bytes.Buffer
	if err := figure(t, "slide").Write(&b, "png"); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil || img.Bounds().Dx() != 1920 || img.Bounds().Dy() != 1080 {
		t.Errorf("PNG of %v, %v, want 1,920 by 1,080 pixels", img.Bounds(), err)
	}
	all := strings.Join(parseSVG(t, figure(t, "slide")).texts, " ")
	for _, want := range []string{"≥ 93.2 (92.6–93.9), one pitcher", "54 pitchers", "medical staff", "too few to judge",
		"needs 12 pitchers (has 3)", "mph"} {
		if !strings.Contains(all, want) {
			t.Errorf("the slide does not say %q", want)
		}
	}
}

// grey is a colour's lightness in a grey print, 0 to 255.
func grey8(c color.NRGBA) int { return int(color.GrayModel.Convert(c).(color.Gray).Y) }

// In grey, curves that share a field are told apart by their dashes, by their marks,
// and by their names beside them: their colours come out too much alike.
func TestGrey(t *testing.T) {
	alike := 0
	for _, name := range []string{"overlay", "compare", "slide, overlay", "slide, compare"} {
		f := figure(t, name)
		all := parseSVG(t, f).texts
		for i := range f.panels {
			pn := &f.panels[i]
			at := f.layout().panels[i]
			for j, a := range pn.series {
				for _, b := range pn.series[:j] {
					la, lb := styleOf(a.matchup), styleOf(b.matchup)
					if d := grey8(la.colour) - grey8(lb.colour); max(d, -d) < 64 {
						alike++
					}
					if slices.Equal(a.dash(pn), b.dash(pn)) {
						t.Errorf("%s: %s and %s have the dash %v", name, a.matchup, b.matchup, a.dash(pn))
					}
					if la.marker == lb.marker && a.second == b.second {
						t.Errorf("%s: %s and %s have one marker", name, a.matchup, b.matchup)
					}
					if f.label(pn, &a) == f.label(pn, &b) {
						t.Errorf("%s: both curves are named %q", name, f.label(pn, &a))
					}
				}
				if at.room == 0 {
					continue
				}
				// beside the curve, where it has one, and beside its zones
				label, count := cut(f.small(), at.room-5, f.label(pn, &a)), 0
				for _, text := range all {
					if strings.HasPrefix(text, strings.TrimSuffix(label, "…")[:4]) && len(text) <= len(label)+3 {
						count++
					}
				}
				if want := 1 + min(len(a.Points), 1); count < want {
					t.Errorf("%s: %q stands %d times, want %d", name, label, count, want)
				}
			}
		}
	}
	if alike == 0 {
		t.Error("no two colours are alike in grey: the test tests nothing")
	}
}

// A cell of too few pitches is a figure with its axes that says so.
func TestTooFewIsDrawn(t *testing.T) {
	for _, name := range []string{"few", "slide, few"} {
		all := " " + strings.Join(parseSVG(t, figure(t, name)).texts, " ") + " "
		for _, want := range []string{"oo few ", "needs 12 pitchers (has 3)", " mph ", "Whiff rate", " .220 "} {
			if !strings.Contains(strings.ReplaceAll(all, ", mph", " mph"), want) {
				t.Errorf("%s: does not say %q in %s", name, want, all)
			}
		}
		if strings.Contains(all, "NaN") {
			t.Errorf("%s: %s", name, all)
		}
	}
}

// A figure of joint marks through both fields where both outcomes beat their lines.
func TestJoint(t *testing.T) {
	for _, name := range []string{"joint", "joint, slide"} {
		f := figure(t, name)
		d, l := parseSVG(t, f), f.layout()
		marked := 0
		for i := range f.panels {
			at := l.panels[i]
			x, _ := l.axes(&at, 0)
			foot := at.railOf(len(f.rails(&f.panels[i])) - 1)
			for _, z := range f.panels[i].joint.Certain() {
				if !z.Good {
					continue
				}
				found := slices.ContainsFunc(d.fills, func(s shape) bool {
					return len(s.pts) == 4 && near(s.pts[0].X, x.At(z.Lo)) && near(s.pts[2].X, x.At(z.Hi)) &&
						near(s.pts[0].Y, foot) && near(s.pts[2].Y, at.fields[0].Max.Y)
				})
				if !found {
					t.Errorf("%s: no mark through both fields from %g to %g", name, z.Lo, z.Hi)
				}
				marked++
			}
			if len(at.fields) != 2 || at.fields[1].Max.Y >= at.fields[0].Min.Y || at.fields[0].Min.X != at.fields[1].Min.X {
				t.Errorf("%s: fields %v are not one over the other", name, at.fields)
			}
		}
		if marked != 1 {
			t.Errorf("%s: %d zones marked, want 1", name, marked)
		}
	}
	for _, o := range []Options{{Overlay: true}, {Compare: new(Source)}} {
		s := whiffs()
		s.Outcome = thresholds.Joint
		if _, err := New(fixture(), s, o); err == nil {
			t.Errorf("joint with %+v is accepted", o)
		}
	}
	if fmt.Sprint(Options{Slide: true, Width: 300}.Validate()) == "<nil>" {
		t.Error("a slide of a width is accepted")
	}
}
