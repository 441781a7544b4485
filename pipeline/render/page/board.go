package page

import (
	"slices"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// board is a table of thresholds, the matchups side by side.
type board struct {
	Title, Unit string // of the quality that all rows share, "" where each has its own
	Rows        []boardRow
	Nothing     []pointers // at figures with nothing to show
}

// pointers lead to the figures of one pitch type and quality.
type pointers struct {
	Name string
	Of   []pointer
}

// pointer leads to a figure.
type pointer struct {
	ID   link
	Name string
}

// boardRow is one quality of a pitch type: a line for each outcome, with one scale.
type boardRow struct {
	ID         link // of its first figure
	Key        link // pitch type and quality
	Name, Unit string
	High       int // lines, and the scale
	Lines      []boardLine
	Scale      []mark
	Drawn      [4]bool // whether a ladder is drawn in a matchup
}

// boardLine is one outcome of a row, or both at once.
type boardLine struct {
	ID    link // of its figure, "" where it has none of its own
	To    link // where it leads
	Word  string
	Joint bool
	Alike string // what every matchup says, where none says more than a word
	Cells [4]cell
}

// cell is what one matchup of a line says.
type cell struct {
	I           int    // matchup
	Word        string // the verdict, "" where the parts tell it
	Strong      bool   // whether the word is an answer
	Parts       []part
	Mark, Moved string
	Ladder      ladder
}

// part is one end of a zone: where it lies, the interval of its breakpoint, and how
// far the zone is sure where its other end is not known.
type part struct{ Where, Within, Sure string }

// row tells a group as a row of a board.
func (g *group) row(name, unit string, q curve.Quality, c *changes, reference string) boardRow {
	r := boardRow{ID: g.figures[0].id(), Key: g.key(), Name: name, Unit: unit}
	x, _ := scales(g.curves(), q.Width)
	x.From, x.To = 0, 1000
	if g.joint != nil {
		r.Lines = append(r.Lines, g.joint.line(words.Both.Short, x, q, c, reference))
		r.Lines[0].To, r.Lines[0].Joint = r.ID, true
	}
	for _, f := range g.figures {
		l := f.line(words.OutcomeOf(f.outcome).Short, x, q, c, reference)
		l.ID, l.To = f.id(), f.id()
		r.Lines = append(r.Lines, l)
	}
	for _, l := range r.Lines {
		for i := range l.Cells {
			r.Drawn[i] = r.Drawn[i] || l.Cells[i].Ladder.Shown()
		}
	}
	r.High = len(r.Lines) + 1
	r.Scale = x.marks(q)
	return r
}

func (g *group) key() link { return link(slug(g.pitchType) + "/" + slug(g.variable)) }

// line tells a figure as a line of a board.
func (f *figure) line(word string, x axis, q curve.Quality, c *changes, reference string) boardLine {
	l := boardLine{Word: word}
	for i := range f.panels {
		p := &f.panels[i]
		cl := cell{I: i, Word: "–"} // a cell without a verdict
		if v := p.Verdict; v != nil {
			cl.Word, cl.Strong = p.word(), v.Verdict == "always_beats"
			if cl.Parts = p.headline(q); cl.Parts != nil || v.Verdict == "always_beats" || v.Verdict == "never_beats" {
				cl.Mark = words.MarkWords(slugs(v.Warnings))
			}
			if curve.Shown(v.Verdict) {
				cl.Ladder = p.ladder(x)
			}
			cl.Moved = c.moved(p, q, reference)
		}
		l.Cells[i] = cl
	}
	first := &l.Cells[0]
	if !slices.ContainsFunc(l.Cells[:], func(c cell) bool {
		return c.Ladder.Shown() || c.Word != first.Word || c.Mark != first.Mark || c.Moved != first.Moved
	}) {
		l.Alike = first.Word
	}
	return l
}

// word is the verdict in the fewest words, "" where a zone tells it.
func (p *panel) word() string {
	// A narrow column may break the longest word.
	w := strings.Replace(verdictOf(p.Verdict.Verdict).Cell, "conclusive", "conclu\u00adsive", 1)
	if t := p.Verdict.Trend; p.Verdict.Verdict == "edge_unresolved" && t != "" && t != "flat" {
		w = t + ", " + w
	}
	return w
}

// headline says in the fewest words where a zone beats the line, or else where one
// falls behind it, and within what interval its breakpoints lie.
func (p *panel) headline(q curve.Quality) []part {
	switch p.Verdict.Verdict {
	case "found", "always_beats", "never_beats":
	default:
		return nil
	}
	for _, sign := range []int64{1, -1} {
		var out []part
		for _, z := range p.Zones {
			if z.Sign == sign && len(z.Edges()) > 0 {
				out = append(out, ends(z, q, len(out) > 0)...)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

// ends tells the breakpoints of a zone that has some.
func ends(z *thresholds.Zone, q curve.Quality, further bool) []part {
	before := ""
	switch {
	case further:
		before = "or "
	case z.Sign < 0:
		before = "behind "
	}
	var out []part
	edges := z.Edges()
	for i, e := range edges {
		sign := "≤" + words.NoBreak
		switch {
		case len(edges) == 2 && i == 0:
			sign = "from "
		case len(edges) == 2:
			sign, before = "to ", ""
		case e.Lower:
			sign = "≥" + words.NoBreak
		}
		// The interval may be broken behind "to".
		within := strings.Replace(q.Interval(e.Lo, e.Hi), words.NoBreak+"to"+words.NoBreak, words.NoBreak+"to ", 1)
		out = append(out, part{Where: before + sign + q.Number(e.At), Within: within})
	}
	if z.LowerKind == thresholds.EndUnresolved || z.UpperKind == thresholds.EndUnresolved {
		if sure := curve.SureWords(z, q.Number); sure != "" {
			out[len(out)-1].Sure = "sure " + sure
		}
	}
	return out
}

// inShort says what was decided in the fewest words, on one line.
func (p *panel) inShort(q curve.Quality) string {
	if p.Verdict == nil {
		return "–"
	}
	said := []string{}
	if w := p.word(); w != "" {
		said = append(said, w)
	}
	for _, x := range p.headline(q) {
		text := x.Where + " (" + x.Within + ")"
		if x.Sure != "" {
			text += ", " + x.Sure
		}
		said = append(said, text)
	}
	return strings.Join(said, " ")
}
