package plot

import (
	"math"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
)

// layout says where everything stands. Lengths are in the figure's own points, and
// places are measured up from the lower edge of the page.
type layout struct {
	width, height vg.Length
	titleSize     vg.Length
	aboutSize     vg.Length
	title, about  []string
	x             axis   // with the range of the data; the places are each panel's
	y             []axis // likewise, of each outcome
	xTicks        []float64
	yTicks        [][]float64
	most          float64 // the greatest count of pitches of a bin
	panels        []place
	legend        []entry
	notes         []string
}

// place is where one panel stands.
type place struct {
	top         vg.Length      // of its heading
	head        []headline     // under its name
	fields      []vg.Rectangle // of the curves, one for each outcome from the top down
	rail        vg.Length      // top of the rows of zones
	counts      vg.Rectangle
	first, last bool      // in its row, in its column
	room        vg.Length // right of the fields, for names
}

// headline is one line of a panel's heading.
type headline struct {
	text   string
	grey   bool
	face   font.Face
	sign   *series // whose sign stands before it, nil for none
	indent vg.Length
}

func (f *Figure) body() font.Face  { return f.ink.face(textSize, false) }
func (f *Figure) small() font.Face { return f.ink.face(smallSize, false) }

// tierGap is the room between two fields of a panel.
const tierGap = vg.Length(8)

// layout places everything; where the form has a height, the fields take what the
// rest leaves of it.
func (f *Figure) layout() *layout {
	columns := min(f.form.columns, len(f.panels))
	wide := f.fieldWidth(columns)
	if f.form.high == 0 {
		high := min(max(wide*.5, 120), 230)
		if len(f.outcomes) > 1 {
			high *= .75
		}
		return f.layoutOf(columns, wide, high)
	}
	rows := (len(f.panels) + columns - 1) / columns
	rest := f.layoutOf(columns, wide, 0).height
	l := f.layoutOf(columns, wide, (f.form.high-rest)/vg.Length(rows*len(f.outcomes)))
	l.height = f.form.high
	return l
}

// fieldWidth shares the page's width among the panels of a row.
func (f *Figure) fieldWidth(columns int) vg.Length {
	rest := f.form.wide - 2*f.form.margin - f.form.leftAxis - vg.Length(columns-1)*f.form.gutter
	for i := range columns {
		rest -= f.rightOf(i, columns)
	}
	return rest / vg.Length(columns)
}

// rightOf is the room right of a panel: on a narrow field only where the row ends, as
// long as one name of the line does for all.
func (f *Figure) rightOf(i, columns int) vg.Length {
	if f.form.brief && columns > 2 && i < columns-1 && f.sameLines() {
		return 0
	}
	return f.form.rightRoom
}

// layoutOf places everything from the top down, with fields of a size, and then knows
// the height.
func (f *Figure) layoutOf(columns int, wide, high vg.Length) *layout {
	l := &layout{width: f.form.wide, titleSize: titleSize}
	inner := l.width - 2*f.form.margin
	if f.form.brief { // the title stands in a line, if it can
		for l.titleSize > headSize && len(wrap(f.ink.face(l.titleSize, true), inner, f.title)) > 1 {
			l.titleSize -= .5
		}
	}
	l.title = f.most(2, f.ink.face(l.titleSize, true), inner, f.title)
	if l.aboutSize = textSize; f.form.brief && len(wrap(f.body(), inner, f.subtitle)) > 1 {
		l.aboutSize = smallSize
	}
	l.about = f.most(1, f.ink.face(l.aboutSize, false), inner, f.subtitle)
	y := -f.form.margin - vg.Length(len(l.title))*l.titleSize*leading - vg.Length(len(l.about))*l.aboutSize*leading - 8

	l.x = f.across()
	l.xTicks = l.x.Ticks(int(wide / f.tickRoom()))
	for tier := range f.outcomes {
		up := f.upwards(tier)
		l.y = append(l.y, up)
		l.yTicks = append(l.yTicks, up.Ticks(int(high/f.tickRoom()*1.4+.5)))
	}
	if f.form.countRoom > 0 {
		l.most = curve.Most(f.curves(0), f.quality.Width)
	}
	for first := 0; first < len(f.panels); first += columns {
		y = f.row(l, first, columns, wide, high, y)
	}
	y = f.placeLegend(l, inner, y) - 4
	for _, n := range f.notes {
		l.notes = append(l.notes, f.most(1, f.small(), inner, n)...)
	}
	y -= vg.Length(len(l.notes))*smallSize*leading + f.form.margin
	l.height = vg.Length(math.Ceil(float64(-y)))
	l.lift(max(l.height, f.form.high))
	return l
}

// tickRoom is how far the numbers along an axis stand apart, at least.
func (f *Figure) tickRoom() vg.Length {
	if f.form.brief {
		return 26
	}
	return 40
}

// row places the panels from the first on beside each other, and returns where they end.
func (f *Figure) row(l *layout, first, columns int, wide, high, y vg.Length) vg.Length {
	row := f.panels[first:min(first+columns, len(f.panels))]
	lines, rails := 0, 0
	var heads [][]headline
	for i := range row {
		h := f.heading(&row[i], wide+f.rightOf(i, columns))
		heads = append(heads, h)
		lines, rails = max(lines, len(h)), max(rails, len(f.rails(&row[i])))
	}
	top := y
	y -= headSize*leading + vg.Length(lines)*textSize*leading + 6
	x := f.form.margin + f.form.leftAxis
	for i := range row {
		p := place{top: top, head: heads[i], first: i == 0, last: first+i+columns >= len(f.panels), room: f.rightOf(i, columns)}
		for tier := range f.outcomes {
			p.fields = append(p.fields, rect(x, 0, x+wide, high).Add(vg.Point{Y: y - high - vg.Length(tier)*(high+tierGap)}))
		}
		p.rail = p.fields[len(p.fields)-1].Min.Y - 4
		p.counts = rect(x, 0, x+wide, f.form.countRoom).Add(vg.Point{Y: p.rail - vg.Length(rails)*railStep - 4 - f.form.countRoom})
		x += wide + p.room + f.form.gutter
		l.panels = append(l.panels, p)
	}
	y = l.panels[first].counts.Min.Y - axisRoom
	if f.form.brief {
		return y - 4
	}
	if first+2*columns > len(f.panels) { // a panel here is the last of its column
		y -= axisRoom
	}
	return y - 12
}

// lift measures places from the lower edge of a page instead of the upper one.
func (l *layout) lift(height vg.Length) {
	for i := range l.panels {
		p := &l.panels[i]
		p.top += height
		p.rail += height
		for tier := range p.fields {
			p.fields[tier] = p.fields[tier].Add(vg.Point{Y: height})
		}
		p.counts = p.counts.Add(vg.Point{Y: height})
	}
	for i := range l.legend {
		l.legend[i].at.Y += height
	}
}

// axes returns the scales of one field of a panel.
func (l *layout) axes(at *place, tier int) (x, y axis) {
	x, y = l.x, l.y[tier]
	x.From, x.To, y.From, y.To = at.fields[tier].Min.X, at.fields[tier].Max.X, at.fields[tier].Min.Y, at.fields[tier].Max.Y
	return x, y
}

// most wraps a text; on a brief form what is over so many lines is left out.
func (f *Figure) most(lines int, face font.Face, wide vg.Length, text string) []string {
	out := wrap(face, wide, text)
	if f.form.brief && len(out) > lines {
		out = out[:lines]
		out[lines-1] = cut(face, wide, out[lines-1]+" …")
	}
	return out
}

// heading returns the lines under a panel's name: the verdicts in words, and the
// samples. A slide has no room for those of several curves.
func (f *Figure) heading(p *panel, wide vg.Length) []headline {
	told, indent, face := p.told(), vg.Length(0), f.body()
	if len(told) > 1 {
		indent = sign
		if f.form.brief && len(f.panels) > 2 {
			indent, face = narrowSign, f.small()
		}
	}
	var out []headline
	for _, s := range told {
		for j, t := range f.most(4/len(told), face, wide-indent, f.says(p, s)) {
			h := headline{text: t, face: face, indent: indent}
			if j == 0 && indent > 0 {
				h.sign = s
			}
			out = append(out, h)
		}
		if f.form.brief && indent > 0 {
			continue
		}
		for _, t := range wrap(f.body(), wide-indent, f.sample(s)) {
			out = append(out, headline{text: t, face: face, indent: indent, grey: true})
		}
	}
	return out
}
