package plot

import (
	"cmp"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// draw puts the figure on a canvas of the size of its file.
func (f *Figure) draw(c vg.Canvas, l *layout) {
	if f.form.scale != 1 {
		c.Scale(f.form.scale, f.form.scale)
	}
	p := &pen{c, f.ink}
	p.box(paper, rect(0, 0, l.width, l.height))
	margin := f.form.margin
	y := l.height - margin
	for _, t := range l.title {
		y -= l.titleSize
		p.text(vg.Point{X: margin, Y: y}, left, f.ink.face(l.titleSize, true), black, t)
		y -= l.titleSize * (leading - 1)
	}
	for _, t := range l.about {
		y -= l.aboutSize
		p.text(vg.Point{X: margin, Y: y}, left, f.ink.face(l.aboutSize, false), grey, t)
		y -= l.aboutSize * (leading - 1)
	}
	for i := range f.panels {
		f.panel(p, l, &f.panels[i], &l.panels[i])
	}
	for _, e := range l.legend {
		e.draw(p, e.at, styleOf(f.panels[0].series[0].matchup))
		p.text(e.at.Add(vg.Point{X: sign}), left, f.small(), grey, e.words)
	}
	y = margin + vg.Length(len(l.notes))*smallSize*leading
	for _, t := range l.notes {
		y -= smallSize
		p.text(vg.Point{X: margin, Y: y}, left, f.small(), grey, t)
		y -= smallSize * (leading - 1)
	}
}

// panel draws one panel.
func (f *Figure) panel(p *pen, l *layout, pn *panel, at *place) {
	f.head(p, pn, at)
	for tier := range f.outcomes {
		f.axes(p, l, at, tier)
	}
	x, _ := l.axes(at, 0)
	f.meeting(p, pn, at, x)
	for tier := range f.outcomes {
		x, y := l.axes(at, tier)
		curves := pn.on(tier)
		if !pn.mixed() { // the fields of two matchups would cover each other
			f.field(p, curves[0], x, y)
		}
		taken := f.line(p, curves, at, x, y)
		for _, s := range curves {
			f.curve(p, pn, s, x, y)
		}
		for _, s := range curves {
			f.edges(p, pn, s, at, x, y)
		}
		if len(curves) > 1 {
			f.names(p, pn, curves, at, taken, x, y)
		}
		if !slices.ContainsFunc(curves, func(s *series) bool { return len(s.Points) > 0 || len(s.Marks(x.Range)) > 0 }) {
			f.empty(p, curves[0], at.fields[tier])
		}
	}
	for i, s := range f.rails(pn) {
		f.rail(p, pn, s, at, at.railOf(i), x)
	}
	f.counts(p, l, pn, at, x)
	p.stroke(grey, .8, nil, at.counts.Min, vg.Point{X: at.counts.Max.X, Y: at.counts.Min.Y})
}

// rails lists what has a row of zones: on a slide where all meet, if they can, and not
// each.
func (f *Figure) rails(pn *panel) []*series {
	if f.form.brief && pn.joint != nil {
		return []*series{pn.joint}
	}
	return pn.rows()
}

// railOf is the height of the middle of a row of zones.
func (at *place) railOf(i int) vg.Length { return at.rail - railStep*(vg.Length(i)+.5) }

// head writes the panel's name, verdicts and samples.
func (f *Figure) head(p *pen, pn *panel, at *place) {
	look := styleOf(pn.series[0].matchup)
	bold := f.ink.face(headSize, true)
	field := at.fields[0]
	x, y := field.Min.X, at.top-headSize
	c := black
	if !pn.mixed() {
		c = look.colour
		p.mark(look.marker, vg.Point{X: x + 4, Y: y + headSize*.34}, 3.6, c, false)
		x += 13
	}
	p.text(vg.Point{X: x, Y: y}, left, bold, c, pn.name)
	x += bold.Width(pn.name) + 8
	who := pn.who
	if f.form.brief {
		who = ""
		if pn.mixed() { // whose pitchers are the same
			who = f.sample(&pn.series[0])
		}
	}
	if small := f.small(); x+small.Width(who) <= field.Max.X+at.room {
		p.text(vg.Point{X: x, Y: y}, left, small, grey, who)
	}
	y -= headSize * (leading - 1)
	for _, h := range at.head {
		c := black
		if h.grey {
			c = grey
		}
		y -= textSize
		x := field.Min.X + h.indent
		if h.sign != nil {
			look := styleOf(h.sign.matchup)
			middle := vg.Point{X: field.Min.X, Y: y + textSize*.34}
			p.stroke(look.colour, lineWidth*f.form.mark, h.sign.dash(pn), middle, middle.Add(vg.Point{X: h.indent - 6}))
			p.mark(look.marker, middle.Add(vg.Point{X: h.indent/2 - 3}), 2.6, look.colour, h.sign.second)
		}
		p.text(vg.Point{X: x, Y: y}, left, h.face, c, h.text)
		y -= textSize * (leading - 1)
	}
}

// axes draws the grid, the numbers and the names of both axes of a field.
func (f *Figure) axes(p *pen, l *layout, at *place, tier int) {
	x, y := l.axes(at, tier)
	var grid, ticks []vg.Point
	for _, v := range l.yTicks[tier] {
		grid = append(grid, vg.Point{X: x.From, Y: y.At(v)}, vg.Point{X: x.To, Y: y.At(v)})
		if at.first {
			p.text(vg.Point{X: x.From - 5, Y: y.At(v) - smallSize*.36}, right, f.small(), grey, words.Rate(v))
		}
	}
	foot, lowest := y.From, tier == len(f.outcomes)-1
	if lowest {
		foot = at.counts.Min.Y
	}
	for i, text := range curve.Labels(l.xTicks, f.quality.Decimals) {
		v := l.xTicks[i]
		grid = append(grid, vg.Point{X: x.At(v), Y: foot}, vg.Point{X: x.At(v), Y: y.To})
		if lowest {
			ticks = append(ticks, vg.Point{X: x.At(v), Y: foot}, vg.Point{X: x.At(v), Y: foot - 3})
			p.text(vg.Point{X: x.At(v), Y: foot - 3 - smallSize}, centre, f.small(), grey, text)
		}
	}
	p.rules(faint, .8, grid...)
	p.rules(grey, .8, ticks...)
	if o := f.outcomes[tier]; at.first {
		small, at := f.small(), vg.Point{X: f.form.margin + smallSize*.8, Y: (y.From + y.To) / 2}
		p.upright(at, small, black, fits(small, y.To-y.From, words.Sentence(o.Title), o.Short))
		p.upright(at.Add(vg.Point{X: smallSize * 1.2}), small, grey,
			fits(small, y.To-y.From, better(o), strings.Replace(better(o), " for the pitcher", "", 1)))
	}
	switch {
	case !lowest || !at.last:
	case f.form.brief:
		if at.room > 0 {
			unit := cut(f.small(), at.room-5, cmp.Or(f.quality.Unit, f.quality.Title))
			p.text(vg.Point{X: x.To + 5, Y: foot - 3 - smallSize}, left, f.small(), black, unit)
		}
	default:
		name := cut(f.small(), x.To-x.From, clean(f.quality.Axis()))
		p.text(vg.Point{X: (x.From + x.To) / 2, Y: foot - 3 - smallSize*2.3}, centre, f.small(), black, name)
	}
}

// hatchStep is the distance of the strokes that mark what is behind the line.
const hatchStep = vg.Length(4)

// field fills what lies between the curve and the line where the verdict is
// certain: in the matchup's colour where it beats the line, hatched where it
// falls behind.
func (f *Figure) field(p *pen, s *series, x, y axis) {
	m, ok := s.Line()
	if !ok {
		return
	}
	look := styleOf(s.matchup)
	for _, c := range s.Certain() {
		if !c.Good {
			var hatch []vg.Point
			for at := vg.Length(int(x.At(c.Lo)/hatchStep)+1) * hatchStep; at < x.At(c.Hi); at += hatchStep {
				v := x.Lo + float64((at-x.From)/(x.To-x.From))*(x.Hi-x.Lo)
				hatch = append(hatch, vg.Point{X: at, Y: y.At(m)}, vg.Point{X: at, Y: y.Inside(s.RateAt(v))})
			}
			p.rules(soft(grey, .8), .6, hatch...)
			continue
		}
		var pts []vg.Point
		for _, corner := range s.Field(c, m) {
			pts = append(pts, vg.Point{X: x.At(corner.X), Y: y.Inside(corner.Y)})
		}
		p.fill(soft(look.colour, .32), pts...)
	}
}

// line draws the line of the curves of a field, its interval and its name at the
// right, and returns the room that the name takes.
func (f *Figure) line(p *pen, curves []*series, at *place, x, y axis) (taken span) {
	var drawn []float64
	for _, s := range curves {
		m, ok := s.Line()
		if !ok || slices.Contains(drawn, m) {
			continue
		}
		var dash []vg.Length
		if s.second {
			dash = comparedDash
		}
		if v := s.Verdict; v.LineLo != nil && v.LineHi != nil && !s.second {
			p.box(soft(black, .12), rect(x.From, y.Inside(*v.LineLo), x.To, y.Inside(*v.LineHi)))
		}
		p.stroke(black, lineWidth*f.form.mark, dash, vg.Point{X: x.From, Y: y.At(m)}, vg.Point{X: x.To, Y: y.At(m)})
		drawn = append(drawn, m)
	}
	if len(drawn) == 0 || at.room == 0 {
		return span{}
	}
	bold := f.ink.face(textSize, true)
	place := func(m float64) vg.Length { return y.At(m) - textSize*.36 }
	places := make([]vg.Length, len(drawn))
	lo, hi := place(drawn[0]), place(drawn[0])
	for i, m := range drawn {
		places[i] = place(m)
		if i > 0 && math.Abs(float64(places[i]-places[0])) < float64(textSize) {
			places[i] = places[0] + textSize*vg.Length(math.Copysign(1, m-drawn[0]))
		}
		p.text(vg.Point{X: x.To + 5, Y: places[i]}, left, bold, black, words.Rate(m))
		lo, hi = min(lo, places[i]), max(hi, places[i])
	}
	over, under := "beats ↑", "behind ↓"
	better := f.outcomes[curves[0].tier].Sign
	if better < 0 {
		over, under = "behind ↑", "beats ↓"
	}
	if better != 0 && y.To-y.From >= 6*textSize {
		p.text(vg.Point{X: x.To + 5, Y: hi + textSize*1.2}, left, f.small(), grey, over)
		p.text(vg.Point{X: x.To + 5, Y: lo - textSize*1.1}, left, f.small(), grey, under)
	}
	return span{lo - textSize*1.3, hi + textSize*2}
}

// curve draws the smooth rate with its band, and the bins.
func (f *Figure) curve(p *pen, pn *panel, s *series, x, y axis) {
	look := styleOf(s.matchup)
	along := func(column func(thresholds.CurvePoint) float64) []vg.Point {
		var out []vg.Point
		for _, c := range s.Points {
			out = append(out, vg.Point{X: x.At(c.X), Y: y.Inside(column(c))})
		}
		return out
	}
	band := along(func(c thresholds.CurvePoint) float64 { return c.Lo })
	upper := along(func(c thresholds.CurvePoint) float64 { return c.Hi })
	slices.Reverse(upper)
	opacity := .16
	if len(pn.on(s.tier)) > 1 {
		opacity = .11
	}
	p.fill(soft(look.colour, opacity), append(band, upper...)...)
	for _, b := range s.Marks(x.Range) {
		if !y.Holds(*b.Rate) {
			continue
		}
		at := vg.Point{X: x.At(*b.Mean), Y: y.At(*b.Rate)}
		if b.Lo != nil && b.Hi != nil {
			p.stroke(soft(look.colour, .75), .9, nil, vg.Point{X: at.X, Y: y.Inside(*b.Lo)}, vg.Point{X: at.X, Y: y.Inside(*b.Hi)})
		}
		p.mark(look.marker, at, 2.3*f.form.mark, look.colour, s.second)
	}
	p.stroke(look.colour, lineWidth*f.form.mark, s.dash(pn), along(func(c thresholds.CurvePoint) float64 { return c.Rate })...)
}

// edges marks each breakpoint on the line and drops it to its row of zones; alone in
// its field it is named too.
func (f *Figure) edges(p *pen, pn *panel, s *series, at *place, x, y axis) {
	m, ok := s.Line()
	if !ok {
		return
	}
	row := slices.IndexFunc(pn.rows(), func(other *series) bool { return other == s })
	for _, b := range s.Breakpoints() {
		if !s.second && pn.joint == nil {
			p.stroke(soft(black, .55), .8, []vg.Length{1.5, 2}, vg.Point{X: x.At(b.At), Y: y.At(m)}, vg.Point{X: x.At(b.At), Y: at.railOf(row)})
		}
		p.breakpoint(b, y.At(m), x, black, 3.6*f.form.mark)
		if len(pn.on(s.tier)) > 1 {
			continue
		}
		// The number stands in the quarter that the curve leaves free: on the
		// side of the zone, across the line from it.
		face, words := f.ink.face(textSize, true), f.quality.Number(b.At)
		pt, from := vg.Point{X: x.At(b.At) + 4, Y: y.At(m) - textSize*1.35}, left
		if !b.Above {
			pt.X, from = x.At(b.At)-4, right
		}
		if f.outcomes[s.tier].Sign < 0 {
			pt.Y = y.At(m) + textSize*.75
		}
		if x.At(x.Lo+b.Room)-x.From > 2*face.Width(words)+16 {
			wide, start := face.Width(words), pt.X
			if from == right {
				start -= wide
			}
			p.box(soft(paper, .8), rect(start-1, pt.Y-1.5, start+wide+1, pt.Y+textSize*.8))
			p.text(pt, from, face, black, words)
		}
	}
}

// breakpoint draws a breakpoint with its interval at a height. A limit that is
// not pinned runs dotted to the end of the curve.
func (p *pen) breakpoint(b curve.Breakpoint, y vg.Length, x axis, c color.Color, size vg.Length) {
	at := x.At(b.At)
	for _, limit := range b.Limits {
		if limit.Pinned {
			p.whisker(at, x.Inside(limit.At), y, c)
		} else {
			p.stroke(c, 1.2, []vg.Length{1.2, 2.4}, vg.Point{X: at, Y: y}, vg.Point{X: x.At(limit.At), Y: y})
		}
	}
	p.mark(diamond, vg.Point{X: at, Y: y}, size, c, true)
}

// whisker draws one side of an interval, with a cap at its end.
func (p *pen) whisker(from, to, y vg.Length, c color.Color) {
	p.stroke(c, 1.2, nil, vg.Point{X: from, Y: y}, vg.Point{X: to, Y: y})
	p.stroke(c, 1.4, nil, vg.Point{X: to, Y: y - 4}, vg.Point{X: to, Y: y + 4})
}

// rail draws the row of zones under the fields: bars where a zone is certain, thin ones
// as far as one that beats the line is possible, and breakpoints; and whose row it is.
func (f *Figure) rail(p *pen, pn *panel, s *series, at *place, y vg.Length, x axis) {
	c := styleOf(s.matchup).colour
	if s == pn.joint {
		c = black
	}
	if (pn.joint != nil || len(pn.series) > 1) && at.room > 0 {
		p.text(vg.Point{X: x.To + 5, Y: y - smallSize*.36}, left, f.small(), c, cut(f.small(), at.room-5, f.label(pn, s)))
	}
	certain := s.Certain()
	if len(certain) == 0 {
		p.text(vg.Point{X: (x.From + x.To) / 2, Y: y - smallSize*.36}, centre, f.small(), grey, f.unclaimed(s, x))
		return
	}
	for _, z := range s.Possible() {
		p.box(soft(c, .3), rect(x.At(z.Lo), y-3, x.At(z.Hi), y+3))
	}
	for _, z := range certain {
		bar := rect(x.At(z.Lo), y-3, x.At(z.Hi), y+3)
		if z.Good {
			p.box(c, bar)
		} else {
			p.frame(grey, .8, bar)
		}
	}
	for _, b := range s.Breakpoints() {
		p.breakpoint(b, y, x, black, 2.8*f.form.mark)
	}
}

// counts draws how many pitches stand behind each place; thin bins are hollow.
func (f *Figure) counts(p *pen, l *layout, pn *panel, at *place, x axis) {
	if l.most == 0 {
		return
	}
	room := at.counts.Max.Y - at.counts.Min.Y - 2
	for i, s := range pn.on(0) {
		look := styleOf(s.matchup)
		for j := range s.Bins {
			b := s.Bins[j]
			lo, hi, _ := curve.Reach(b, f.quality.Width)
			lo, hi = x.Within(lo), x.Within(hi)
			if b.Pitches == 0 || hi <= lo {
				continue
			}
			bar := rect(x.At(lo)+.5, at.counts.Min.Y, x.At(hi)-.5, at.counts.Min.Y+room*vg.Length(curve.Density(b, f.quality.Width)/l.most))
			switch {
			case b.Thin || i > 0:
				p.frame(look.colour, .7, bar)
			case len(pn.on(0)) > 1:
				p.box(soft(look.colour, .35), bar)
			default:
				p.box(soft(look.colour, .55), bar)
			}
		}
	}
	if at.first {
		y := at.counts.Min.Y + room/2
		p.text(vg.Point{X: x.From - 5, Y: y}, right, f.small(), grey, "pitches")
		p.text(vg.Point{X: x.From - 5, Y: y - smallSize*1.1}, right, f.small(), grey, "to "+words.Count(int64(l.most+.5)))
	}
}
