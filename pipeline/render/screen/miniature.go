package screen

import (
	"math"
	"strings"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// miniatures are the curves of a board, drawn in a line each.
type miniatures map[thresholds.Key][]thresholds.CurvePoint

// NewMiniatures gathers the curves against a line.
func NewMiniatures(t *thresholds.Table, reference string) (miniatures, error) {
	m := miniatures{}
	for c, err := range t.Curves() {
		if err != nil {
			return nil, err
		}
		if c.Reference == reference {
			m[c.Key] = append(m[c.Key], c)
		}
	}
	return m, nil
}

// axes are the ranges that the curves of a line share.
type axes struct{ x0, x1, y0, y1 float64 }

func (m miniatures) axes(rows []BoardRow) axes {
	a := axes{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	for _, r := range rows {
		for _, c := range m[r.Key] {
			a.x0, a.x1 = min(a.x0, c.X), max(a.x1, c.X)
			a.y0, a.y1 = min(a.y0, c.Rate), max(a.y1, c.Rate)
		}
	}
	return a
}

// draw draws the curve of a row in cols columns: eight heights (four in ASCII) for
// its rate, a mark at each breakpoint, nothing where the curve was not seen.
func (m miniatures) draw(r BoardRow, a axes, cols int, g terminal.Glyphs) string {
	points := m[r.Key]
	if len(points) < 2 || !(a.x0 < a.x1) {
		return ""
	}
	out := []rune(strings.Repeat(words.NoBreak, cols))
	place := func(x float64) int { return int((x - a.x0) / (a.x1 - a.x0) * float64(cols-1)) }
	for i := 1; i < len(points); i++ {
		p, q := points[i-1], points[i]
		for j := place(p.X); j <= place(q.X); j++ {
			rate := p.Rate + (q.Rate-p.Rate)*min(max((a.x0+(a.x1-a.x0)*float64(j)/float64(cols-1)-p.X)/(q.X-p.X), 0), 1)
			height := 0
			if a.y0 < a.y1 {
				height = min(int((rate-a.y0)/(a.y1-a.y0)*float64(len(g.Bars))), len(g.Bars)-1)
			}
			out[j] = g.Bars[height]
		}
	}
	for _, z := range r.Zones {
		for _, e := range []struct {
			kind string
			at   *float64
		}{{z.LowerKind, z.Lower}, {z.UpperKind, z.Upper}} {
			if e.kind == "edge" && e.at != nil && *e.at >= a.x0 && *e.at <= a.x1 {
				out[place(*e.at)] = g.InBars
			}
		}
	}
	return strings.TrimRight(string(out), words.NoBreak)
}
