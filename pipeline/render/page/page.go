package page

import (
	"cmp"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// page is what the template tells.
type page struct {
	Policy     string
	Style      template.CSS
	Script     template.JS
	League     string
	Version    string
	Days       string
	Reference  string
	Figures    int
	Glance     board
	Matchups   []matchupHead
	Choices    choices
	Sections   []section
	Contrasts  contrasts
	Hands      hands
	Facing     facing
	References []referenceRow
	Splits     []string // how far the data reach into each
	Quality    *qualityReport
	Changes    *changes
	Verdicts   []words.Verdict
	Caveats    []Word
	Manifest   *thresholds.Manifest
	Base       string
	Rows       map[string]int // of each resource
}

type matchupHead struct {
	I          int
	Name, Full string
}

// choices are what can be chosen to be shown.
type choices struct{ Types, Variables, Outcomes, Verdicts []choice }

// choice is a part of an identifier with its name.
type choice struct{ Value, Name string }

// link is the identifier of a figure or section. Its parts are slugs, so that
// it stands in an address as it is.
type link = template.URL

// section is what is told of one pitch type.
type section struct {
	ID, Title string
	Boards    []board
	Figures   []figureView // where something was shown
	Folded    []figureView // where nothing was
}

// board is a table of thresholds, the matchups side by side.
type board struct {
	Title, Line string
	Rows        []boardRow
	Nothing     []pointer // at figures with nothing to show
}

// pointer leads to a figure.
type pointer struct {
	ID   link
	Name string
}

type boardRow struct {
	ID         link
	Name, Unit string
	Cells      [4]cell
}

// cell is one threshold of a board.
type cell struct {
	I, Sign             int // matchup, and place of the verdict in the legend
	Word, Where, Within string
	Moved, Caveat       string
	Ladder              ladder
}

// figureView is a figure as the template tells it.
type figureView struct {
	N                       int
	ID                      link
	Type, Variable, Outcome string
	Axis, About, Codes      string
	Frame                   frame
	Panels                  [4]panelView
	Heights                 []tableRow // by the height at the plate
	Table                   []tableRow
	Rows                    []rowsView
}

type panelView struct {
	N, I           int
	Name, Sentence string
	Sample, Settle string
	Caveats        string
	Drawn          bool
	Drawing        drawing
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

func newPage(t *thresholds.Tables, m thresholds.Manifest, q *qualityReport, c *changes, o Options) *page {
	p := &page{Policy: policy(), Style: template.CSS(style), Script: template.JS(script), League: m.Name, Version: m.Version,
		Reference: words.LineOn(o.Reference, "of the pitch type"), Quality: q, Changes: c,
		Verdicts: words.Verdicts, Caveats: o.Caveats, Manifest: &m, Base: o.Base,
		Rows: map[string]int{"thresholds": len(t.Thresholds), "verdicts": len(t.Verdicts), "zones": len(t.Zones), "curves": len(t.Curves),
			"bins": len(t.Bins), "contrasts": len(t.Contrasts), "references": len(t.References), "opponents": len(t.Opponents)}}
	if m.Rows.FirstDay != "" {
		p.Days = m.Rows.FirstDay + " to " + m.Rows.LastDay
	}
	for i, x := range pitch.Matchups {
		p.Matchups = append(p.Matchups, matchupHead{i, x.String(), words.Handed(x.Hand.String(), x.Side.String())})
	}
	figures := gather(t, o.Reference)
	p.Figures = len(figures)
	for i, f := range figures {
		p.add(i, f, &m, c, o)
	}
	p.glance()
	p.Contrasts = tellContrasts(t.Contrasts, &m, o.Reference)
	p.Hands = tellHands(t.Contrasts, &m)
	p.Facing = tellFacing(t.Opponents)
	p.References = tellReferences(t.References)
	p.Splits = tellSplits(t.Verdicts, o.Reference)
	return p
}

// add tells a figure: in the board of its pitch type and outcome, and drawn.
func (p *page) add(n int, f *figure, m *thresholds.Manifest, c *changes, o Options) {
	id := slug(f.pitchType)
	if k := len(p.Sections); k == 0 || p.Sections[k-1].ID != id {
		p.Sections = append(p.Sections, section{ID: id, Title: words.Type(f.pitchType)})
	}
	s := &p.Sections[len(p.Sections)-1]
	unit := ""
	for i := range f.panels {
		if v := f.panels[i].Verdict; v != nil {
			unit = cmp.Or(unit, v.Unit)
		}
	}
	q, out := qualityOf(m, f.variable, unit), words.OutcomeOf(f.outcome)
	view := f.view(n, q, out)
	p.Choices.add(f, q, out)
	at := slices.IndexFunc(s.Boards, func(b board) bool { return b.Title == out.Title })
	if at < 0 {
		at = len(s.Boards)
		s.Boards = append(s.Boards, board{Title: out.Title, Line: f.lineInWords()})
	}
	b := &s.Boards[at]
	if f.shown() {
		b.Rows = append(b.Rows, f.row(view.ID, q, c, o.Reference))
		s.Figures = append(s.Figures, view)
		return
	}
	b.Nothing = append(b.Nothing, pointer{view.ID, q.Title})
	s.Folded = append(s.Folded, view)
}

// glance is the first board: the first quality and outcome of the dictionary's
// order, of every pitch type.
func (p *page) glance() {
	first := p.Choices.Variables
	if len(first) == 0 || len(p.Choices.Outcomes) == 0 {
		return
	}
	p.Glance.Title, p.Glance.Line = first[0].Name, p.Choices.Outcomes[0].Name
	for _, s := range p.Sections {
		for _, b := range s.Boards {
			for _, r := range b.Rows {
				if r.ID == link(s.ID+"/"+first[0].Value+"/"+p.Choices.Outcomes[0].Value) {
					r.Name = s.Title
					p.Glance.Rows = append(p.Glance.Rows, r)
				}
			}
		}
	}
}

func (c *choices) add(f *figure, q curve.Quality, o words.Outcome) {
	add := func(list *[]choice, value, name string) {
		x := choice{slug(value), name}
		if !slices.Contains(*list, x) {
			*list = append(*list, x)
		}
	}
	add(&c.Types, f.pitchType, words.Type(f.pitchType))
	add(&c.Variables, f.variable, q.Title)
	add(&c.Outcomes, f.outcome, o.Title)
	if c.Verdicts == nil {
		for _, v := range words.Verdicts {
			c.Verdicts = append(c.Verdicts, choice{v.Word, v.Sign + " " + v.Short})
		}
	}
}

func (s subject) id() link {
	return link(slug(s.pitchType) + "/" + slug(s.variable) + "/" + slug(s.outcome))
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

// row tells a figure as a row of a board.
func (f *figure) row(id link, q curve.Quality, c *changes, reference string) boardRow {
	r := boardRow{ID: id, Name: q.Title, Unit: q.Unit}
	x, _ := f.scales(q.Width)
	x.From, x.To = 6, ladderWide-6
	for i := range f.panels {
		p := &f.panels[i]
		cl := cell{I: i, Word: "no verdict", Sign: len(words.Verdicts)}
		if v := p.Verdict; v != nil {
			cl.Sign, cl.Word = words.VerdictAt(v.Verdict), verdictOf(v.Verdict).Short
			cl.Where, cl.Within = p.headline(q)
			cl.Ladder = p.ladder(x, ladderAt, 5)
			cl.Moved = c.moved(p, q, reference)
			if len(v.Warnings) > 0 {
				cl.Caveat = words.Plural(int64(len(v.Warnings)), "caveat")
			}
		}
		r.Cells[i] = cl
	}
	return r
}

// headline says in the fewest words where a zone beats the line, and within
// what interval its breakpoints lie.
func (p *panel) headline(q curve.Quality) (where, within string) {
	if len(p.Certain()) == 0 {
		return "", ""
	}
	for _, sign := range []int64{1, -1} {
		for _, z := range p.Zones {
			edges := z.Edges()
			if z.Sign != sign || len(edges) == 0 {
				continue
			}
			first := edges[0]
			at, in := q.Number(first.At), q.Interval(first.Lo, first.Hi)
			switch {
			case len(edges) == 2:
				at, in = at+" to "+q.Number(edges[1].At), in+"; "+q.Interval(edges[1].Lo, edges[1].Hi)
			case first.Lower:
				at = "≥" + words.NoBreak + at
			default:
				at = "≤" + words.NoBreak + at
			}
			if where != "" {
				where, within = where+" or ", within+"; "
			}
			if sign < 0 && where == "" {
				where = "behind "
			}
			where, within = where+at, within+in
		}
		if where != "" {
			break
		}
	}
	return where, within
}

// view tells a figure.
func (f *figure) view(n int, q curve.Quality, out words.Outcome) figureView {
	v := figureView{N: n, ID: f.id(), Type: words.Type(f.pitchType), Variable: q.Title, Outcome: out.Title, Axis: q.Axis(),
		About: words.Sentence(per(out)) + "; the line is " + f.lineInWords()}
	v.Rows = []rowsView{{"verdicts", f.verdicts.from, f.verdicts.to}, {"zones", f.zones.from, f.zones.to},
		{"curves", f.curves.from, f.curves.to}, {"bins", f.bins.from, f.bins.to}}
	x, y := f.scales(q.Width)
	x.From, x.To, y.From, y.To = fieldLeft, fieldRight, fieldFoot, fieldTop
	v.Frame = f.frame(q, out, x, y)
	most := curve.Most(f.panels.curves(), q.Width)
	for i := range f.panels {
		p := &f.panels[i]
		view := panelView{N: n*4 + i, I: i, Name: p.matchup.String(), Sentence: p.sentence(q)}
		code := "none"
		if w := p.Verdict; w != nil {
			code = slug(w.Verdict)
			view.Sample = curve.Sample(w, out)
			view.Settle = words.Sentence(w.Settle)
			for i, c := range w.Warnings {
				if i > 0 {
					view.Caveats += ", "
				}
				view.Caveats += words.Spaced(slug(c))
			}
			view.Drawn = len(p.Points) > 0
			if view.Drawn {
				view.Drawing = p.draw(q, out, x, y, most, f.shown())
			}
		}
		v.Codes += code
		if i < 3 {
			v.Codes += " "
		}
		v.Panels[i] = view
	}
	v.Heights, v.Table = f.heights(q), f.table(q)
	return v
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

// inShort says what was decided in the fewest words.
func (p *panel) inShort(q curve.Quality) string {
	if p.Verdict == nil {
		return "–"
	}
	w := verdictOf(p.Verdict.Verdict)
	if where, within := p.headline(q); where != "" {
		return w.Sign + " " + where + " (" + within + ")"
	}
	return w.Sign + " " + w.Short
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
