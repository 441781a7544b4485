package screen

import (
	"math"
	"strings"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// chart draws the curve of the evidence.
func (e *Evidence) chart(v shape.Variable) *terminal.Chart {
	c := &terminal.Chart{Line: math.NaN(), FormatX: func(x float64) string { return tickLabel(x, v.Decimals) }, FormatY: words.Rate,
		Events: strings.Fields(metricOf(e.Verdict.Outcome).Events)[0]}
	for _, pt := range e.Curve {
		c.X, c.Rate = append(c.X, pt.X), append(c.Rate, pt.Rate)
		c.Lo, c.Hi = append(c.Lo, pt.Lo), append(c.Hi, pt.Hi)
	}
	if e.Verdict.Line != nil {
		c.Line = *e.Verdict.Line
	}
	for _, b := range e.Bins {
		if b.Mean == nil || b.Kind == "missing" {
			continue
		}
		c.Weight = append(c.Weight, terminal.Point{X: *b.Mean, Y: float64(b.Events)})
		if b.Rate != nil {
			c.Points = append(c.Points, terminal.Point{X: *b.Mean, Y: *b.Rate})
		}
	}
	if zonesShown(&e.Verdict.Verdict, e.Verdict.Zones) {
		for _, at := range edgesOf(e.Verdict.Zones) {
			c.Edges = append(c.Edges, terminal.Mark{At: at.at, Lo: orNaN(at.lo), Hi: orNaN(at.hi)})
		}
	}
	return c
}

// tickLabel formats a round value with no more decimals than it needs.
func tickLabel(x float64, decimals int) string {
	s := words.Number(x, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func orNaN(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}

// key explains the chart's characters.
func (e *Evidence) key(p *terminal.Printer) string {
	g := terminal.UnicodeGlyphs
	if p.ASCII {
		g = terminal.PlainGlyphs
	}
	parts := []string{string(g.Curve[1]) + " smooth rate", string(g.Band) + " its 95 % band", string(g.Point) + " rate of a bin", string(g.Line) + " line"}
	if len(edgesOf(e.Verdict.Zones)) > 0 && zonesShown(&e.Verdict.Verdict, e.Verdict.Zones) {
		parts = append(parts, string(g.Left)+string(g.Break)+string(g.Right)+" breakpoint with its interval")
	}
	return strings.ReplaceAll(strings.ReplaceAll(strings.Join(parts, "\n"), " ", words.NoBreak), "\n", "  ")
}

// binTable writes every bin.
func (e *Evidence) binTable(p *terminal.Printer, v shape.Variable) {
	if len(e.Bins) == 0 {
		return
	}
	m := metricOf(e.Verdict.Outcome)
	t := &terminal.Table{}
	right := func(s string) terminal.Cell { return terminal.Cell{Text: s, Right: true} }
	title := func(s string) terminal.Cell { return terminal.Cell{Text: s, Style: terminal.Bold, Right: true} }
	t.Add(title(words.WithUnit(v.Title, parens(v.Unit))), title(m.Events), title("pitchers"), title("rate"), title("95 % interval"), terminal.Cell{})
	for _, b := range e.Bins {
		note, st := "", terminal.Plain
		switch {
		case b.Thin:
			note, st = "thin", terminal.Dim
		case b.Rate != nil && e.Verdict.Line != nil && b.Lo != nil && b.Hi != nil:
			note = sideOfLine(*b.Lo, *b.Hi, *e.Verdict.Line, m.Sign)
		}
		cells := []terminal.Cell{right(binRange(b, quantity(v))), right(words.Count(b.Events)), right(words.Count(b.Pitchers)),
			right(words.OrDash(b.Rate, words.Rate)), right(""), {Text: note}}
		if b.Rate != nil {
			cells[4] = right(strings.Trim(words.Interval(b.Lo, b.Hi, words.Rate), "()"))
		}
		for i := range cells {
			cells[i].Style = st
		}
		t.Add(cells...)
	}
	p.Line(terminal.Bold, "Bins")
	p.Table(t, 0)
	p.Blank()
}

func parens(s string) string {
	if s == "" {
		return ""
	}
	return "(" + s + ")"
}

// sideOfLine says whether an interval lies on one side of the line.
func sideOfLine(lo, hi, line float64, sign int) string {
	switch {
	case lo > line && sign > 0, hi < line && sign < 0:
		return "better"
	case lo > line && sign < 0, hi < line && sign > 0:
		return "worse"
	}
	return ""
}

// binRange says which values a bin holds: its lower edge belongs to it, its
// upper edge does not.
func binRange(b thresholds.Bin, format func(float64) string) string {
	switch {
	case b.Kind == "missing":
		return "unknown"
	case b.Lower == nil && b.Upper == nil:
		return "all"
	case b.Lower == nil:
		return "below " + format(*b.Upper)
	case b.Upper == nil:
		return format(*b.Lower) + " and above"
	}
	return format(*b.Lower) + " to " + format(*b.Upper)
}
