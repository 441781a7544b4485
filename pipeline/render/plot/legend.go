package plot

import (
	"slices"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/thresholds"
)

// entry is one sign of the legend with its meaning.
type entry struct {
	words string
	at    vg.Point // left end of its baseline
	draw  func(*pen, vg.Point, style)
}

// The room for a sign, and on a narrow panel.
const (
	sign       = vg.Length(26)
	narrowSign = vg.Length(18)
)

// entries lists the signs that the figure uses.
func (f *Figure) entries(l *layout) []entry {
	var line, curve, rates, good, bad, possible, edge, thin, mixed, several bool
	for i := range f.panels {
		p := &f.panels[i]
		several, mixed = several || len(p.on(0)) > 1, mixed || p.mixed()
		for j := range p.series {
			s := &p.series[j]
			_, ok := s.Line()
			line, curve, edge = line || ok, curve || len(s.Points) > 0, edge || len(s.Breakpoints()) > 0
			for _, c := range s.Certain() {
				good, bad = good || c.Good, bad || !c.Good
			}
			for _, b := range s.Bins {
				rates, thin = rates || b.Rate != nil, thin || b.Thin
			}
			possible = possible || len(s.Certain()) > 0 && slices.ContainsFunc(s.Zones, func(z *thresholds.Zone) bool { return z.Sign > 0 })
		}
	}
	pitches := "pitches by bin"
	switch {
	case several:
		pitches += ", the first curve's filled, the second's in outline"
	case thin:
		pitches += ", thin bins hollow"
	}
	var out []entry
	known := f.form.brief // what a slide says beside the marks, or does not need
	add := func(used bool, words string, draw func(*pen, vg.Point, style)) {
		if used {
			out = append(out, entry{words: words, draw: draw})
		}
	}
	add(line && !known, "the line, 95 % interval", func(p *pen, at vg.Point, _ style) {
		p.box(soft(black, .12), rect(at.X, at.Y-1, at.X+20, at.Y+7))
		p.stroke(black, lineWidth, nil, at.Add(vg.Point{Y: 3}), at.Add(vg.Point{X: 20, Y: 3}))
	})
	add(curve && !known, "smooth rate, 95 % band", func(p *pen, at vg.Point, c style) {
		p.box(soft(c.colour, .16), rect(at.X, at.Y-2, at.X+20, at.Y+8))
		p.stroke(c.colour, lineWidth, nil, at.Add(vg.Point{Y: 3}), at.Add(vg.Point{X: 20, Y: 3}))
	})
	add(rates && !known, "rate of a bin, 95 % interval", func(p *pen, at vg.Point, c style) {
		p.stroke(soft(c.colour, .75), .9, nil, at.Add(vg.Point{X: 10, Y: -3}), at.Add(vg.Point{X: 10, Y: 9}))
		p.mark(c.marker, at.Add(vg.Point{X: 10, Y: 3}), 2.3, c.colour, false)
	})
	field := !mixed && (!known || len(f.outcomes) == 1)
	add(good && field, "certainly beats the line", func(p *pen, at vg.Point, c style) {
		p.box(soft(c.colour, .4), rect(at.X, at.Y-1, at.X+20, at.Y+8))
	})
	add(bad && field, "certainly behind it", func(p *pen, at vg.Point, _ style) {
		var hatch []vg.Point
		for x := vg.Length(0); x <= 20; x += hatchStep {
			hatch = append(hatch, at.Add(vg.Point{X: x, Y: -1}), at.Add(vg.Point{X: x, Y: 8}))
		}
		p.rules(soft(grey, .8), .6, hatch...)
	})
	add(edge, "breakpoint, 95 % interval", func(p *pen, at vg.Point, _ style) {
		p.whisker(at.X+10, at.X, at.Y+3, black)
		p.whisker(at.X+10, at.X+20, at.Y+3, black)
		p.mark(diamond, at.Add(vg.Point{X: 10, Y: 3}), 3.4, black, true)
	})
	add(possible && (!known || mixed), "zone that beats the line: possible, certain", func(p *pen, at vg.Point, c style) {
		p.box(soft(c.colour, .3), rect(at.X, at.Y, at.X+20, at.Y+6))
		p.box(c.colour, rect(at.X+8, at.Y, at.X+20, at.Y+6))
	})
	add(bad && !known, "zone behind it", func(p *pen, at vg.Point, _ style) {
		p.frame(grey, .8, rect(at.X, at.Y, at.X+20, at.Y+6))
	})
	add(f.meets(), "both certainly beat their lines", func(p *pen, at vg.Point, _ style) {
		p.box(soft(black, .08), rect(at.X, at.Y-1, at.X+20, at.Y+8))
		for _, x := range []vg.Length{0, 20} {
			p.stroke(soft(black, .5), .6, nil, at.Add(vg.Point{X: x, Y: -1}), at.Add(vg.Point{X: x, Y: 8}))
		}
	})
	add(l.most > 0, pitches, func(p *pen, at vg.Point, c style) {
		p.box(soft(c.colour, .55), rect(at.X+1, at.Y-1, at.X+8, at.Y+8))
		if thin || several {
			p.frame(c.colour, .7, rect(at.X+10, at.Y-1, at.X+17, at.Y+4))
		}
	})
	return out
}

// meets tells whether all outcomes certainly beat their lines somewhere.
func (f *Figure) meets() bool {
	return slices.ContainsFunc(f.panels, func(p panel) bool { return p.joint != nil && len(p.joint.Certain()) > 0 })
}

// placeLegend flows the entries into lines and returns where they end.
func (f *Figure) placeLegend(l *layout, inner, y vg.Length) vg.Length {
	margin := f.form.margin
	x, face := margin, f.small()
	y -= smallSize * leading
	for _, e := range f.entries(l) {
		wide := sign + face.Width(e.words)
		if x > margin && x+wide > margin+inner {
			x, y = margin, y-smallSize*1.8
		}
		e.at = vg.Point{X: x, Y: y}
		l.legend = append(l.legend, e)
		x += wide + 16
	}
	return y - smallSize*.6
}

func rect(x0, y0, x1, y1 vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: x0, Y: y0}, Max: vg.Point{X: x1, Y: y1}}
}
