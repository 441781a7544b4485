package screen

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// headlineLines is how many lines the headline takes on a page of 80 columns or more, the
// name of the version and the line under it aside.
const headlineLines = 58

// headline is what a version says first: for each pitch type the main qualities on
// which anything is shown, with the threshold of both outcomes at once over those of
// each.
type headline struct {
	types   []headlineType
	silent  []string // types that were too few for any verdict
	untyped string   // how many pitches have none
}

type headlineType struct {
	name      string
	qualities []headlineQuality
}

// headlineQuality is a quality with the outcomes that tell anything of it, both at once
// first: by outcome, then matchup.
type headlineQuality struct {
	shape.Variable
	outcomes []words.Outcome
	cells    [][]*BoardRow
}

// Headline writes what a version says first against a line, within a screen of 60
// lines where the page has 80 columns. What does not fit there is named with the
// command that shows it; see is that command, up to its filters.
func Headline(p *terminal.Printer, t *thresholds.Tables, reference, see string) {
	h := newHeadline(t, reference)
	if len(h.types) == 0 {
		p.Prose(terminal.Plain, "", "", strings.Join(append([]string{"Nothing is shown for the main qualities of any pitch type: velocity, both breaks, both approach angles."},
			h.tooFew()...), " "))
		p.Line(terminal.Plain, "All lines: %s --all", see)
		return
	}
	var left []hidden
	title := p.Wrapped(terminal.Bold, "Where each pitch beats the "+strings.TrimSuffix(strings.TrimPrefix(words.LineOn(reference, "of its type"), "rate of the "), " over all matchups"))
	notes := h.notes()
	page := func() []string {
		return slices.Concat(title, h.render(p), h.after(p, notes, see, left))
	}
	lines := page()
	// First go qualities that tell of one matchup, then what each outcome tells beside both,
	// then further qualities.
	for folded := false; p.Width >= 80 && len(lines) > headlineLines && len(h.types) > 1; lines = page() {
		if _, _, fewest := h.least(); fewest > 1 && !folded {
			h.fold()
			folded = true
			continue
		}
		left = append(left, h.drop())
	}
	p.Lines(lines)
}

// least finds the quality that tells of the fewest matchups, of several the last: its
// type, its place there, and of how many it tells. One with a threshold of both comes
// after those without, and the last quality of a type after all others.
func (h *headline) least() (of, at, fewest int) {
	const both, alone = 10, 100 // more than there are matchups
	fewest = math.MaxInt
	for i, t := range h.types {
		for k, q := range t.qualities {
			n := q.told()
			if q.outcomes[0].Name == thresholds.Joint {
				n += both
			}
			if len(t.qualities) == 1 {
				n += alone
			}
			if n <= fewest {
				of, at, fewest = i, k, n
			}
		}
	}
	return of, at, fewest
}

// drop takes out the quality that tells least, and names it.
func (h *headline) drop() hidden {
	of, at, _ := h.least()
	t := &h.types[of]
	out := hidden{t.name, t.qualities[at].Short}
	t.qualities = slices.Delete(t.qualities, at, at+1)
	if len(t.qualities) == 0 {
		h.types = slices.Delete(h.types, of, of+1)
	}
	return out
}

// hidden is a quality of a pitch type for which there is no room.
type hidden struct{ pitchType, quality string }

// hiddenWords names them by type; the types alone where they are many.
func hiddenWords(left []hidden) string {
	const many = 15
	slices.SortStableFunc(left, func(a, b hidden) int { return pitch.CompareTypes(a.pitchType, b.pitchType) })
	var types []string
	of := map[string][]string{}
	for _, l := range left {
		t := TypeTitle(l.pitchType)
		types = appendNew(types, t)
		of[t] = append(of[t], l.quality)
	}
	if len(left) > many {
		return fmt.Sprintf("%d more qualities of %s.", len(left), words.Listed(types))
	}
	for i, t := range types {
		types[i] += " " + words.Commas(of[t])
	}
	return strings.Join(types, "; ") + "."
}

// told counts the matchups of which a quality tells something.
func (q *headlineQuality) told() int {
	n := 0
	for m := range q.cells[0] {
		if slices.ContainsFunc(q.cells, func(cells []*BoardRow) bool { return cells[m] != nil && says(cells[m]) }) {
			n++
		}
	}
	return n
}

func newHeadline(t *thresholds.Tables, reference string) *headline {
	h := &headline{untyped: untyped(t.Verdicts)}
	b := NewBoard(t, Selection{Reference: reference})
	matchups := pitch.MatchupNames()
	type at struct{ pitchType, variable, outcome, matchup string }
	rows := map[at]*BoardRow{}
	var types []string
	judged := map[string]bool{}
	for i := range b.Rows {
		r := &b.Rows[i]
		judged[r.PitchType] = judged[r.PitchType] || r.Verdict.Verdict != locate.TooFew
		rows[at{r.PitchType, r.Variable, r.Outcome, words.Matchup(r.Key.Hand, r.Key.Side)}] = r
		types = appendNew(types, r.PitchType)
	}
	for _, name := range types {
		if !judged[name] && !(thresholds.Key{PitchType: name}).Untyped() {
			h.silent = append(h.silent, name)
		}
		one := headlineType{name: name}
		for _, v := range shape.Variables {
			if v.Rank != shape.Main {
				continue
			}
			q := headlineQuality{Variable: v}
			for _, o := range words.BothAndEach() {
				cells := make([]*BoardRow, len(matchups))
				tells := false
				for i, m := range matchups {
					if r := rows[at{name, v.Name, o.Name, m}]; r != nil {
						cells[i] = r
						tells = tells || says(r)
					}
				}
				if tells {
					q.outcomes, q.cells = append(q.outcomes, o), append(q.cells, cells)
				}
			}
			if len(q.outcomes) > 0 {
				one.qualities = append(one.qualities, q)
			}
		}
		if len(one.qualities) > 0 {
			h.types = append(h.types, one)
		}
	}
	return h
}

// says tells whether a row is worth a line of the headline. That both at once never
// beat their lines is said by the outcome that never does.
func says(r *BoardRow) bool {
	switch r.Verdict.Verdict {
	case locate.Found, locate.AlwaysBeats:
		return true
	case locate.NeverBeats:
		return r.Outcome != thresholds.Joint
	}
	return false
}

// fold leaves out the lines of one outcome that tell of no matchup but those of which
// both at once tell already.
func (h *headline) fold() {
	for _, t := range h.types {
		for i := range t.qualities {
			q := &t.qualities[i]
			if q.outcomes[0].Name != thresholds.Joint {
				continue
			}
			outcomes, cells := q.outcomes[:1], q.cells[:1]
			for k := 1; k < len(q.cells); k++ {
				more := false
				for m, r := range q.cells[k] {
					more = more || r != nil && says(r) && !(q.cells[0][m] != nil && says(q.cells[0][m]))
				}
				if more {
					outcomes, cells = append(outcomes, q.outcomes[k]), append(cells, q.cells[k])
				}
			}
			q.outcomes, q.cells = outcomes, cells
		}
	}
}

// render lays the table out.
func (h *headline) render(p *terminal.Printer) []string {
	const label = 15
	matchups := pitch.MatchupNames()
	t := &terminal.Table{Gap: 1, Limit: []int{label}}
	head := []terminal.Cell{{}}
	for _, m := range matchups {
		t.Limit = append(t.Limit, max((p.Width-label)/len(matchups)-1, 10))
		head = append(head, terminal.Cell{Text: m, Style: "1;" + matchupStyle(m)})
	}
	for i, one := range h.types {
		if i == 0 {
			head[0] = terminal.Cell{Text: TypeTitle(one.name), Style: terminal.Bold}
			t.Add(head...)
		} else {
			t.Add(terminal.Cell{Text: TypeTitle(one.name), Style: terminal.Bold})
		}
		for _, q := range one.qualities {
			for k, o := range q.outcomes {
				name := ""
				if k == 0 {
					name = q.Short
				}
				name = solid(fmt.Sprintf("%-9s %s", name, o.Short))
				line := []terminal.Cell{{Text: name}}
				for m, r := range q.cells[k] {
					line = append(line, h.cell(r, &q.Variable, matchupStyle(matchups[m])))
				}
				t.Add(line...)
			}
		}
	}
	return t.Render(p, 0)
}

// cell writes one verdict in as few characters as its threshold takes.
func (h *headline) cell(r *BoardRow, v *shape.Variable, style terminal.Style) terminal.Cell {
	if r == nil {
		return terminal.Cell{Text: "·", Style: terminal.Dim}
	}
	if !zonesShown(&r.Verdict, r.Zones) {
		c := terminal.Cell{Text: words.VerdictOf(r.Verdict.Verdict).Cell, Style: terminal.Dim}
		if r.Verdict.Verdict == locate.AlwaysBeats {
			c.Style = style
		}
		return c
	}
	text := narrow(r, v)
	if marks := words.MarkWords(r.Warnings); marks != "" {
		text += "\n" + marks
	}
	return terminal.Cell{Text: text, Style: style}
}

// narrow writes the zones of a verdict in 15 columns: "≥93.2 92.6–93.9", and below it
// the other end of a zone, or the next zone. Angles have one decimal there.
func narrow(r *BoardRow, v *shape.Variable) string {
	format := func(x float64) string { return words.Number(x, min(v.Decimals, 1)) }
	var out []string
	good := slices.ContainsFunc(r.Zones, func(z thresholds.Zone) bool { return z.Sign > 0 })
	for i := range r.Zones {
		z := &r.Zones[i]
		if good != (z.Sign > 0) {
			continue
		}
		lines := narrowZone(z, format)
		switch {
		case !good:
			lines = append([]string{"worse"}, lines...)
		case len(out) > 0:
			lines[0] = "or" + words.NoBreak + lines[0]
		}
		out = append(out, lines...)
	}
	return strings.Join(out, "\n")
}

func narrowZone(z *thresholds.Zone, format func(float64) string) []string {
	var out []string
	for _, e := range z.Edges() {
		sign := "≤"
		if e.Lower {
			sign = "≥"
		}
		out = append(out, sign+format(e.At)+" "+words.Tight(e.Lo, e.Hi, format))
	}
	// Both outcomes at once may end where one of them does and the evidence of the other
	// has faded before: then the breakpoint at the other end does not say enough.
	fades := z.LowerKind == thresholds.EndUnresolved || z.UpperKind == thresholds.EndUnresolved
	if sure := curve.SureWords(z, format); (len(out) == 0 || z.Outcome == thresholds.Joint && fades) && sure != "" {
		out = append(out, "sure "+sure)
	}
	return out
}

// notes are the sentences under the table.
func (h *headline) notes() []string {
	joint, never, open := false, false, false
	marks := map[string]bool{}
	for _, one := range h.types {
		for _, q := range one.qualities {
			joint = joint || q.outcomes[0].Name == thresholds.Joint
			for _, cells := range q.cells {
				for _, r := range cells {
					if r == nil {
						continue
					}
					never = never || r.Verdict.Verdict == locate.NeverBeats
					for _, c := range words.Marks(r.Warnings) {
						marks[c.Code] = marks[c.Code] || zonesShown(&r.Verdict, r.Zones)
					}
					for i := range r.Zones {
						for _, e := range r.Zones[i].Edges() {
							open = open || zonesShown(&r.Verdict, r.Zones) && (e.Lo == nil || e.Hi == nil)
						}
					}
				}
			}
		}
	}
	out := []string{"≥93.2 92.6–93.9: ahead of the line from 93.2 up, as far as the evidence reaches; the breakpoint lies within 92.6–93.9 (95 % interval)."}
	if joint {
		out = append(out, "both: "+words.Both.Title+".")
	}
	if never {
		out = append(out, "never: over the central 90 % of the pitches, "+words.ExceptSliver+".")
	}
	if open {
		out = append(out, "?: no limit on that side.")
	}
	for _, c := range words.Caveats {
		if marks[c.Code] {
			out = append(out, c.Word+": "+c.Legend+".")
		}
	}
	return append(append(out, mainLegend, "Not listed: nothing is shown."), h.tooFew()...)
}

// mainLegend spells out the short names of the main qualities.
const mainLegend = "velocity in mph; v. break, h. break: induced vertical and horizontal break, in; v. angle, h. angle: approach angles, deg."

// headlineCaution is caution in fewer words.
const headlineCaution = "What batters did, not what a change would cause: workload and mechanics belong to the coaches and the medical staff."

// tooFew names the types of which no verdict could be given, and counts the pitches that
// have none.
func (h *headline) tooFew() []string {
	var out []string
	if len(h.silent) > 0 {
		out = append(out, "Too few pitches for any verdict: "+words.Commas(titles(h.silent))+".")
	}
	if h.untyped != "" {
		out = append(out, h.untyped+".")
	}
	return out
}

func titles(types []string) []string {
	var out []string
	for _, t := range types {
		out = append(out, TypeTitle(t))
	}
	return out
}

// after lays out what stands under the table; left are the lines for which there is no
// room.
func (h *headline) after(p *terminal.Printer, notes []string, see string, left []hidden) []string {
	var out []string
	if len(left) > 0 {
		out = p.Wrapped(terminal.Bold, "No room here for: "+hiddenWords(left))
	}
	return slices.Concat(out,
		p.Wrapped(terminal.Plain, strings.Join(notes, " ")),
		p.Wrapped(terminal.Dim, headlineCaution),
		p.Wrapped(terminal.Plain, fmt.Sprintf("A type in full: %s --type %s. Everything: %s --all", see, h.types[0].name, see)))
}
