package page

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// figureView is a figure as the template tells it.
type figureView struct {
	N                       int
	ID                      link
	Type, Variable, Outcome string
	Axis, About, Codes      string
	Frame                   *frame      // nil where the drawings are left out
	Panels                  []panelView // nil where what they say is left out
	Heights                 []tableRow  // by the height at the plate
	Table                   []tableRow  // nil where the numbers are left out
	Rows                    []rowsView
}

type panelView struct {
	N, I           int
	Name, Sentence string
	Sample, Settle string
	Caveats        string
	Slopes         *slopes
	Drawing        *drawing // nil where there is nothing to draw
}

type tableRow struct {
	Name  string
	Cells [4]string
}

// rowsView says where rows stand in a file.
type rowsView struct {
	Name     string
	From, To int
}

// id is the link to a figure.
func (s subject) id() link {
	return link(slug(s.pitchType) + "/" + slug(s.variable) + "/" + slug(s.outcome))
}

// view tells a figure, as much of it as there is room for.
func (f *figure) view(n int, q curve.Quality, out words.Outcome, room *room) figureView {
	v := figureView{N: n, ID: f.id(), Type: words.Type(f.pitchType), Variable: q.Title, Outcome: out.Title, Axis: q.Axis(),
		About: words.Sentence(cmp.Or(out.Per, "events of a rate")) + "; the line is " + f.lineInWords() + "; slopes are for " + step(q) + " more"}
	v.Rows = []rowsView{{"verdicts", f.verdicts.from, f.verdicts.to}, {"zones", f.zones.from, f.zones.to},
		{"curves", f.curves.from, f.curves.to}, {"bins", f.bins.from, f.bins.to}}
	x, y := scales(f.panels.curves(), q.Width)
	x.From, x.To, y.From, y.To = 0, fullWide, 2*plotFoot, 2*plotTop
	if room.draws(f.shown(), shape.RankOf(f.variable) == shape.Main) {
		shared := f.frame(q, out, x, y)
		v.Frame = &shared
	}
	most := curve.Most(f.panels.curves(), q.Width)
	for i := range f.panels {
		p := &f.panels[i]
		view := panelView{N: n*4 + i, I: i, Name: p.matchup.String(), Sentence: p.sentence(q)}
		code := "none"
		if w := p.Verdict; w != nil {
			code = slug(w.Verdict)
			view.Sample = curve.Sample(w, out)
			view.Settle = words.Sentence(w.Settle)
			view.Slopes = p.slopes(q)
			var told []string
			for _, c := range slugs(w.Warnings) {
				told = append(told, words.CaveatOf(c).Word)
			}
			view.Caveats = words.Commas(told)
			if v.Frame != nil && len(p.Points) > 0 {
				d := p.draw(q, v.Frame, x, y, most, f.shown())
				view.Drawing = &d
			}
		}
		v.Codes += code
		if i < 3 {
			v.Codes += " "
		}
		if room.says() {
			v.Panels = append(v.Panels, view)
		}
	}
	if room.says() {
		v.Heights = f.heights(q)
	}
	if room.numbers(f.shown()) {
		v.Table = f.table(q)
	}
	return v
}

// lineInWords tells the value of the line with its interval.
func (f *figure) lineInWords() string {
	for i := range f.panels {
		if v := f.panels[i].Verdict; v != nil && v.Line != nil {
			text := words.Rate(*v.Line)
			if v.LineLo != nil && v.LineHi != nil {
				text += " (" + words.Span(words.Rate(*v.LineLo), words.Rate(*v.LineHi)) + ")"
			}
			return text
		}
	}
	return ""
}

// heights tells what was decided of each height at the plate, from the top down.
func (f *figure) heights(q curve.Quality) []tableRow {
	var out []tableRow
	for _, name := range []string{"above the zone", "upper third", "middle third", "lower third", "below the zone"} {
		word, _, _ := strings.Cut(name, " ")
		i := slices.IndexFunc(f.splits, func(s split) bool { return strings.HasSuffix(s.stratum, "_height_third:"+word) })
		if i < 0 {
			continue
		}
		h := tableRow{Name: name}
		for j := range f.splits[i].panels {
			h.Cells[j] = f.splits[i].panels[j].inShort(q)
		}
		out = append(out, h)
	}
	return out
}

// table gives the numbers of a figure: a row for each bin, the matchups side by
// side, the bins without a value last.
func (f *figure) table(q curve.Quality) []tableRow {
	type bound struct{ lo, hi float64 }
	at := map[bound]int{}
	var bounds []bound
	of := func(b *thresholds.Bin) bound {
		switch {
		case b.Kind == "missing" || b.Lower == nil && b.Upper == nil:
			return bound{math.Inf(1), math.Inf(1)}
		case b.Lower == nil:
			return bound{math.Inf(-1), *b.Upper}
		case b.Upper == nil:
			return bound{*b.Lower, math.Inf(1)}
		}
		return bound{*b.Lower, *b.Upper}
	}
	for i := range f.panels {
		for _, b := range f.panels[i].Bins {
			k := of(b)
			if _, known := at[k]; !known {
				at[k] = 0
				bounds = append(bounds, k)
			}
		}
	}
	slices.SortFunc(bounds, func(a, b bound) int { return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi)) })
	out, decimals := make([]tableRow, len(bounds)), curve.Decimals(3, q.Width)
	edge := func(v float64) string { return words.Number(v, decimals) }
	for i, k := range bounds {
		at[k] = i
		switch {
		case math.IsInf(k.lo, 1):
			out[i].Name = "unknown"
		case math.IsInf(k.lo, -1):
			out[i].Name = "below " + edge(k.hi)
		case math.IsInf(k.hi, 1):
			out[i].Name = edge(k.lo) + " and up"
		default:
			out[i].Name = words.Span(edge(k.lo), edge(k.hi))
		}
	}
	for i := range f.panels {
		for _, b := range f.panels[i].Bins {
			text := "thin"
			switch {
			case b.Rate != nil && b.Lo != nil && b.Hi != nil:
				text = words.Rate(*b.Rate) + " " + words.Span(words.Rate(*b.Lo), words.Rate(*b.Hi))
			case b.Rate != nil:
				text = words.Rate(*b.Rate)
			case b.Kind == "missing":
				text = "–"
			}
			out[at[of(b)]].Cells[i] = text + " " + strconv.FormatInt(b.Events, 10) + "/" + strconv.FormatInt(b.Pitches, 10)
		}
	}
	return out
}
