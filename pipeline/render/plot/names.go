package plot

import (
	"cmp"
	"slices"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"

	"sill/pipeline/thresholds"
)

// span is a stretch of a height that is taken.
type span struct{ lo, hi vg.Length }

// names writes beside the curves of a field whose they are, the lowest first, and leads
// to each from its end: without colour they could be taken for each other.
func (f *Figure) names(p *pen, pn *panel, curves []*series, at *place, line span, x, y axis) {
	if at.room == 0 {
		return
	}
	curves = slices.DeleteFunc(slices.Clone(curves), func(s *series) bool { return len(s.Points) == 0 })
	last := func(s *series) thresholds.CurvePoint { return s.Points[len(s.Points)-1] }
	slices.SortStableFunc(curves, func(a, b *series) int { return cmp.Compare(last(a).Rate, last(b).Rate) })
	bold, taken := f.ink.face(smallSize, true), []span{line}
	for _, s := range curves {
		from := vg.Point{X: x.At(last(s).X), Y: y.Inside(last(s).Rate)}
		to := vg.Point{X: x.To + 5, Y: free(from.Y, textSize/2, y, taken)}
		taken = append(taken, span{to.Y - textSize/2, to.Y + textSize/2})
		c := styleOf(s.matchup).colour
		p.stroke(soft(c, .6), .6, nil, from, vg.Point{X: x.To, Y: to.Y}, vg.Point{X: x.To + 3, Y: to.Y})
		p.text(to.Add(vg.Point{Y: -smallSize * .36}), left, bold, c, cut(bold, at.room-5, f.label(pn, s)))
	}
}

// free returns the height nearest to the one wanted, within an axis, at which half as
// much room on either side is not taken; the one wanted where there is none.
func free(want, half vg.Length, y axis, taken []span) vg.Length {
	for d := vg.Length(0); d < y.To-y.From; d++ {
		for _, at := range []vg.Length{want + d, want - d} {
			clear := !slices.ContainsFunc(taken, func(t span) bool { return at-half < t.hi && at+half > t.lo })
			if clear && at-half >= y.From && at+half <= y.To {
				return at
			}
		}
	}
	return want
}

// meeting marks through all fields of a panel where the verdict is certain that every
// outcome beats its line, and the breakpoints of that.
func (f *Figure) meeting(p *pen, pn *panel, at *place, x axis) {
	if pn.joint == nil {
		return
	}
	top := at.fields[0].Max.Y
	foot := at.railOf(len(f.rails(pn)) - 1)
	for _, z := range pn.joint.Certain() {
		if !z.Good {
			continue
		}
		p.box(soft(black, .08), rect(x.At(z.Lo), foot, x.At(z.Hi), top))
		for _, end := range []float64{z.Lo, z.Hi} {
			p.stroke(soft(black, .5), .6, nil, vg.Point{X: x.At(end), Y: foot}, vg.Point{X: x.At(end), Y: top})
		}
	}
	for _, b := range pn.joint.Breakpoints() {
		p.stroke(black, 1, []vg.Length{3, 2}, vg.Point{X: x.At(b.At), Y: foot}, vg.Point{X: x.At(b.At), Y: top})
	}
}

// unclaimed says in a row of zones why it has none; "" where the field says it.
func (f *Figure) unclaimed(s *series, x axis) string {
	switch {
	case s.Verdict == nil:
		return ""
	case len(s.Points) > 0:
		return "certain nowhere"
	case len(s.Marks(x.Range)) > 0:
		return "too few for a curve"
	}
	return ""
}

// empty says in a field why there is no curve.
func (f *Figure) empty(p *pen, s *series, field vg.Rectangle) {
	text := "no curve"
	switch {
	case s.Verdict == nil:
		text = "nothing to draw"
	case s.Verdict.Verdict != "too_few":
	case f.form.brief: // where the heading has no room for what it lacks
		text, _, _ = strings.Cut(s.Verdict.Settle, ";")
		text = cmp.Or(text, "too few for a curve")
	default:
		text = "too few for a curve"
	}
	face := f.body()
	lines := f.most(max(1, int((field.Max.Y-field.Min.Y)/(textSize*leading))), face, field.Max.X-field.Min.X-8, text)
	high, tall := field.Max.Y-field.Min.Y, vg.Length(len(lines))*textSize*leading
	y := field.Max.Y - max(0, min((high-tall)/2, high/4-tall/2)) // over the line, which runs in the middle
	for _, t := range lines {
		y -= textSize * leading
		p.box(soft(paper, .8), rect((field.Min.X+field.Max.X-face.Width(t))/2-2, y-2, (field.Min.X+field.Max.X+face.Width(t))/2+2, y+textSize))
		p.text(vg.Point{X: (field.Min.X + field.Max.X) / 2, Y: y}, centre, face, black, t)
	}
}

// fits returns the first of the texts that is no wider, or else nothing.
func fits(f font.Face, wide vg.Length, texts ...string) string {
	for _, t := range texts {
		if f.Width(t) <= wide {
			return t
		}
	}
	return ""
}
