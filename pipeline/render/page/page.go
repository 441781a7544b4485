package page

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
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
	Sections   []*section
	Contrasts  contrasts
	Hands      hands
	Facing     facing
	References []referenceRow
	Splits     []string // how far the data reach into each
	Quality    *qualityReport
	Changes    *changes
	Verdicts   []words.Verdict
	Caveats    []caveat
	Marks      []words.Caveat // those that stand beside a number
	Manifest   *thresholds.Manifest
	Base       string
	Rows       map[string]int // of each resource
	Left       []string       // what there was no room for
}

type matchupHead struct {
	I          int
	Name, Full string
	Side       string // of the batter
}

// choices are what can be chosen to be shown.
type choices struct{ Types, Variables, Outcomes, Verdicts []choice }

// choice is a part of an identifier with its name.
type choice struct{ Value, Name string }

// link is the identifier of a figure or section. Its parts are slugs, so that
// it stands in an address as it is.
type link = template.URL

// section is what is told of one pitch type, or of location.
type section struct {
	ID, Title string
	Open      bool
	Location  bool
	Found     []string // the qualities with a breakpoint
	Boards    []*board
	Figures   []figureView // where something was shown
	Folded    []figureView // where nothing was
}

// locationID is the section of the qualities that say where a pitch was, not what
// it was.
const locationID = "location"

func newPage(t *thresholds.Tables, m thresholds.Manifest, q *qualityReport, c *changes, o Options, r *room) *page {
	p := &page{Policy: policy(), Style: template.CSS(style), Script: template.JS(script), League: m.Name, Version: m.Version,
		Reference: words.LineOn(o.Reference, "of the pitch type"), Quality: q, Changes: c,
		Verdicts: words.Verdicts, Caveats: caveats(o.Caveats), Manifest: &m, Base: o.Base, Left: r.left(),
		Rows: map[string]int{"thresholds": len(t.Thresholds), "verdicts": len(t.Verdicts), "zones": len(t.Zones), "curves": len(t.Curves),
			"bins": len(t.Bins), "contrasts": len(t.Contrasts), "references": len(t.References), "opponents": len(t.Opponents)}}
	if m.Rows.FirstDay != "" {
		p.Days = m.Rows.FirstDay + " to " + m.Rows.LastDay
	}
	for i, x := range pitch.Matchups {
		p.Matchups = append(p.Matchups, matchupHead{i, x.String(), words.Handed(x.Hand.String(), x.Side.String()), x.Side.String()})
	}
	groups := gather(t, o.Reference)
	arrange(groups)
	for _, g := range groups {
		p.add(g, &m, c, o, r)
	}
	if len(groups) > 0 {
		p.Sections[0].Open = true
		p.glance(groups, &m, c, o)
	}
	p.Marks = p.marks()
	p.Contrasts = tellContrasts(t.Contrasts, &m, o.Reference)
	p.Hands = tellHands(t.Contrasts, &m)
	p.Facing = tellFacing(t.Opponents)
	p.References = tellReferences(t.References)
	p.Splits = tellSplits(t.Verdicts, o.Reference)
	return p
}

// arrange puts what says where a pitch was behind all else, which stays with its pitch
// type, the main qualities first.
func arrange(groups []*group) {
	types := map[string]int{}
	for _, g := range groups {
		if _, known := types[g.pitchType]; !known {
			types[g.pitchType] = len(types)
		}
	}
	part := func(g *group) int {
		if g.location() {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(groups, func(a, b *group) int {
		return cmp.Or(part(a)-part(b), types[a.pitchType]-types[b.pitchType], cmp.Compare(shape.RankOf(a.variable), shape.RankOf(b.variable)))
	})
}

func (g *group) location() bool { return shape.RankOf(g.variable) == shape.Location }

// marks lists the caveats that stand beside a number of any board.
func (p *page) marks() []words.Caveat {
	var used []words.Caveat
	for _, c := range words.Caveats {
		told := func(x cell) bool { return c.Legend != "" && strings.Contains(words.Plain(x.Mark), c.Word) }
		in := func(r boardRow) bool {
			return slices.ContainsFunc(r.Lines, func(l boardLine) bool { return slices.ContainsFunc(l.Cells[:], told) })
		}
		if slices.ContainsFunc(p.Sections, func(s *section) bool {
			return slices.ContainsFunc(s.Boards, func(b *board) bool { return slices.ContainsFunc(b.Rows, in) })
		}) {
			used = append(used, c)
		}
	}
	return used
}

// quality describes the quality of a group.
func (g *group) quality(m *thresholds.Manifest) curve.Quality {
	for _, f := range g.figures {
		for i := range f.panels {
			if v := f.panels[i].Verdict; v != nil && v.Unit != "" {
				return qualityOf(m, g.variable, v.Unit)
			}
		}
	}
	return qualityOf(m, g.variable, "")
}

// section returns the section that a group is told in.
func (p *page) section(g *group) *section {
	s := &section{ID: slug(g.pitchType), Title: words.Type(g.pitchType)}
	if g.location() {
		s = &section{ID: locationID, Title: "location: where the pitch was, not what it was", Location: true}
	}
	if i := slices.IndexFunc(p.Sections, func(x *section) bool { return x.ID == s.ID && x.Location == s.Location }); i >= 0 {
		return p.Sections[i]
	}
	p.Sections = append(p.Sections, s)
	return s
}

// board returns the board that a group stands in: that of its pitch type, or of its
// quality where it tells of location.
func (s *section) board(q curve.Quality) *board {
	b := &board{}
	if s.Location {
		b = &board{Title: q.Title, Unit: q.Unit}
	}
	if i := slices.IndexFunc(s.Boards, func(x *board) bool { return x.Title == b.Title }); i >= 0 {
		return s.Boards[i]
	}
	s.Boards = append(s.Boards, b)
	return b
}

// add tells a group: in a board, and its figures drawn.
func (p *page) add(g *group, m *thresholds.Manifest, c *changes, o Options, r *room) {
	q := g.quality(m)
	s := p.section(g)
	b := s.board(q)
	name, unit := q.Title, q.Unit
	if s.Location {
		name, unit = words.Type(g.pitchType), ""
	}
	b.add(g, name, unit, q, c, o.Reference)
	if g.found() && !s.Location {
		s.Found = append(s.Found, q.Title)
	}
	for _, f := range g.figures {
		out := words.OutcomeOf(f.outcome)
		view := f.view(p.Figures, q, out, r)
		p.Figures++
		p.Choices.add(f, q, out)
		if f.shown() {
			s.Figures = append(s.Figures, view)
		} else {
			s.Folded = append(s.Folded, view)
		}
	}
}

// add puts a group into a board: as a row, or where nothing was shown as pointers.
func (b *board) add(g *group, name, unit string, q curve.Quality, c *changes, reference string) {
	if g.shown() {
		b.Rows = append(b.Rows, g.row(name, unit, q, c, reference))
		return
	}
	x := pointers{Name: name}
	for _, f := range g.figures {
		x.Of = append(x.Of, pointer{f.id(), words.OutcomeOf(f.outcome).Short})
	}
	b.Nothing = append(b.Nothing, x)
}

// glance makes the first board: the first quality of the dictionary's order, of
// every pitch type.
func (p *page) glance(groups []*group, m *thresholds.Manifest, c *changes, o Options) {
	first := groups[0]
	q := first.quality(m)
	p.Glance.Title, p.Glance.Unit = q.Title, q.Unit
	for _, g := range groups {
		if g.variable == first.variable {
			p.Glance.add(g, words.Type(g.pitchType), "", q, c, o.Reference)
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
			c.Verdicts = append(c.Verdicts, choice{v.Word, v.Short})
		}
	}
}
