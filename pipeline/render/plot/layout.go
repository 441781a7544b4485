package plot

import (
	"math"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
)

// layout says where everything stands. Lengths are in points, and places are
// measured up from the lower edge of the page.
type layout struct {
	width, height vg.Length
	title, about  []string
	x, y          axis // with the ranges of the data; the places are each panel's
	xTicks        []float64
	yTicks        []float64
	most          float64 // the greatest count of pitches of a bin
	panels        []place
	legend        []entry
	notes         []string
	footer        vg.Length // top of what stands under the panels
}

// place is where one panel stands.
type place struct {
	top         vg.Length    // of its heading
	head        []headline   // under its name
	plot        vg.Rectangle // the curve's field
	rail        vg.Length    // top of the rows of zones
	counts      vg.Rectangle
	first, last bool // in its row, in its column
}

// headline is one line of a panel's heading.
type headline struct {
	text   string
	grey   bool
	sign   *series // whose sign stands before it, nil for none
	indent vg.Length
}

func (f *Figure) body() font.Face  { return f.ink.face(textSize, false) }
func (f *Figure) small() font.Face { return f.ink.face(smallSize, false) }

// columns returns the number of panels beside each other.
func (f *Figure) columns() int {
	if len(f.panels) == 1 || f.options.Width < 440 {
		return 1
	}
	return 2
}

// layout places everything from the top down, and then knows the height.
func (f *Figure) layout() *layout {
	l := &layout{width: f.options.Width}
	inner := l.width - 2*margin
	l.title = wrap(f.ink.face(titleSize, true), inner, f.title)
	l.about = wrap(f.body(), inner, f.subtitle)
	y := -margin - vg.Length(len(l.title))*titleSize*leading - vg.Length(len(l.about))*textSize*leading - 8

	columns := f.columns()
	wide := (inner - leftAxis - vg.Length(columns)*rightRoom - vg.Length(columns-1)*gutter) / vg.Length(columns)
	high := min(max(wide*.5, 120), 230)
	l.x, l.y = f.scales()
	l.xTicks, l.yTicks = l.x.Ticks(int(wide/40)), l.y.Ticks(int(high/28))
	l.most = curve.Most(f.curves(), f.quality.Width)

	for first := 0; first < len(f.panels); first += columns {
		row := f.panels[first:min(first+columns, len(f.panels))]
		lines := 0
		var heads [][]headline
		rows := 0
		for i := range row {
			h := f.heading(&row[i], wide+rightRoom)
			heads = append(heads, h)
			lines, rows = max(lines, len(h)), max(rows, len(row[i].series))
		}
		top := y
		y -= headSize*leading + vg.Length(lines)*textSize*leading + 6
		plotTop := y
		y -= high
		rail := y - 4
		y -= 4 + vg.Length(rows)*railStep + 4
		y -= countRoom
		counts := y
		y -= axisRoom
		for i := range row {
			x := margin + leftAxis + vg.Length(i)*(wide+rightRoom+gutter)
			p := place{top: top, head: heads[i], rail: rail, first: i == 0, last: first+i+columns >= len(f.panels)}
			p.plot = vg.Rectangle{Min: vg.Point{X: x, Y: plotTop - high}, Max: vg.Point{X: x + wide, Y: plotTop}}
			p.counts = vg.Rectangle{Min: vg.Point{X: x, Y: counts}, Max: vg.Point{X: x + wide, Y: counts + countRoom}}
			l.panels = append(l.panels, p)
		}
		if first+2*columns > len(f.panels) { // a panel here is the last of its column
			y -= axisRoom
		}
		y -= 12
	}
	l.footer = y
	y = f.placeLegend(l, inner, y) - 4
	for _, n := range f.notes {
		l.notes = append(l.notes, wrap(f.small(), inner, n)...)
	}
	y -= vg.Length(len(l.notes))*smallSize*leading + margin
	l.height = vg.Length(math.Ceil(float64(-y)))
	l.lift()
	return l
}

// lift measures places from the lower edge instead of the upper one.
func (l *layout) lift() {
	for i := range l.panels {
		p := &l.panels[i]
		p.top += l.height
		p.rail += l.height
		p.plot = p.plot.Add(vg.Point{Y: l.height})
		p.counts = p.counts.Add(vg.Point{Y: l.height})
	}
	for i := range l.legend {
		l.legend[i].at.Y += l.height
	}
	l.footer += l.height
}

// heading returns the lines under a panel's name: the verdicts in words, and
// the sample.
func (f *Figure) heading(p *panel, wide vg.Length) []headline {
	var out []headline
	indent := vg.Length(0)
	if len(p.series) > 1 {
		indent = sign
	}
	for i := range p.series {
		s := &p.series[i]
		words := s.Sentence(f.quality, false)
		switch {
		case f.compared:
			words = s.source + " · " + words
		case p.mixed():
			words = s.matchup.String() + " · " + words
		}
		for j, t := range wrap(f.body(), wide-indent, words) {
			h := headline{text: t, indent: indent}
			if j == 0 && indent > 0 {
				h.sign = s
			}
			out = append(out, h)
		}
		for _, t := range wrap(f.body(), wide-indent, f.sample(s)) {
			out = append(out, headline{text: t, indent: indent, grey: true})
		}
	}
	return out
}
