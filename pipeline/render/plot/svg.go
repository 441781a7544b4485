package plot

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"io"
	"maps"
	"slices"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"

	"sill/pipeline/render/glyphs"
	"sill/pipeline/render/words"
)

// svg writes the figure as SVG: with a name and a text of what it shows, for those who
// do not see it, and with the letters that it uses.
func (f *Figure) svg(w io.Writer, l *layout) error {
	c := vgsvg.NewWith(vgsvg.UseWH(f.size(l)))
	s := scribe{Canvas: c, used: map[bool]*letters{}}
	f.draw(s, l)
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return fmt.Errorf("plot: %w", err)
	}
	style, err := s.style()
	if err != nil {
		return fmt.Errorf("plot: %w", err)
	}
	text := func(s string) string { return html.EscapeString(clean(s)) }
	head := fmt.Sprintf("%s>\n<title id=\"title\">%s</title>\n<desc id=\"about\">%s</desc>\n<style>\n%s</style>",
		rootFont, text(f.title), text(f.told()), style)
	svg := strings.Replace(plainFont.Replace(b.String()), `xlink">`, `xlink" role="img" aria-labelledby="title about" `+head, 1)
	_, err = io.WriteString(w, svg)
	return err
}

// The canvas gives each text all that it says of its font. The root says once what is
// the same in most, and names fonts of the same widths for programs that do not read the
// one inside.
const rootFont = `text-rendering="geometricPrecision" font-family="'Liberation Sans',Arial,Helvetica,sans-serif"`

var plainFont = strings.NewReplacer("font-family:Liberation Sans;", "", "font-variant:normal;", "",
	"font-weight:normal;", "", "font-style:normal;", "")

// told says in words what the figure shows.
func (f *Figure) told() string {
	about := []string{f.subtitle + "."}
	for i := range f.panels {
		pn := &f.panels[i]
		for _, s := range pn.rows() {
			name := s.matchup.String()
			switch {
			case s == pn.joint:
				name += ", " + words.Both.Short
			case f.compared:
				name += ", " + s.source
			case len(f.outcomes) > 1:
				name += ", " + f.outcomes[s.tier].Title
			}
			about = append(about, name+". "+s.Sentence(f.quality, false))
			if marks := words.MarkWords(s.caveats()); marks != "" {
				about = append(about, "Caveat: "+marks+".")
			}
		}
	}
	return strings.Join(about, " ")
}

// scribe is a canvas that remembers the letters written on it, the bold ones apart.
type scribe struct {
	vg.Canvas
	used map[bool]*letters
}

// letters are those that were written in a font.
type letters struct {
	face font.Face
	of   map[rune]bool
}

// FillString writes a text.
func (s scribe) FillString(f font.Face, pt vg.Point, text string) {
	bold := f.Font.Weight == heavy
	if s.used[bold] == nil {
		s.used[bold] = &letters{f, map[rune]bool{}}
	}
	for _, r := range text {
		s.used[bold].of[r] = true
	}
	s.Canvas.FillString(f, pt, text)
}

// style is the style sheet of the fonts, cut down to the letters.
func (s scribe) style() (string, error) {
	var out strings.Builder
	for _, bold := range []bool{false, true} {
		used := s.used[bold]
		if used == nil {
			continue
		}
		var whole bytes.Buffer
		if _, err := used.face.Face.WriteSourceTo(nil, &whole); err != nil {
			return "", err
		}
		part, err := glyphs.Subset(whole.Bytes(), slices.Collect(maps.Keys(used.of)))
		if err != nil {
			return "", err
		}
		weight := map[bool]string{false: "normal", true: "bold"}[bold]
		fmt.Fprintf(&out, "@font-face{font-family:'Liberation Sans';font-weight:%s;src:url(data:font/ttf;base64,%s) format('truetype')}\n",
			weight, base64.StdEncoding.EncodeToString(part))
	}
	return out.String(), nil
}
