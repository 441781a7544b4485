package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// board is the set of verdicts of a version as people read them: one block per
// pitch type and outcome, one line per variable, the matchups side by side.
type board struct {
	rows       []boardRow
	whole      []boardRow // of all pitches, where rows are split by a stratum and stand under these
	split      splitLines
	references []thresholds.Reference
	all        bool       // lines on which nothing was shown are listed in full
	brief      bool       // lines without a zone or an always or never are left out too
	curves     miniatures // drawn under the lines; nil for none
}

// boardRow is one verdict with the zones that belong to it.
type boardRow struct {
	thresholds.Verdict
	Zones []thresholds.Zone `json:"zones"`
}

// selection says which verdicts are wanted; an empty list wants all. It only
// hides rows: no verdict depends on it.
type selection struct {
	types, matchups, variables, outcomes, verdicts []string
	reference                                      string
	stratum                                        string // a value of a stratum, a whole stratum, or "" for all pitches
}

func (s *selection) wants(v *thresholds.Verdict) bool {
	return (v.Stratum == s.stratum || splitName(v.Stratum) == s.stratum) && s.matches(v)
}

// matches tells whether a verdict passes the filters, whatever its stratum.
func (s *selection) matches(v *thresholds.Verdict) bool {
	return v.Reference == s.reference && in(s.types, v.PitchType) &&
		in(s.matchups, words.Matchup(v.Key.Hand, v.Key.Side)) && in(s.variables, v.Variable) && in(s.outcomes, v.Outcome) &&
		in(s.verdicts, v.Verdict)
}

// newBoard selects from the tables, which stay as they are. Without a stratum the
// fastballs' thirds are at hand too, to stand under the lines of all pitches.
func newBoard(t *thresholds.Tables, s selection) *board {
	b := &board{references: t.References, split: splitLines{name: tally.FastballThirds, rows: map[lineKey][]boardRow{}}}
	if s.stratum != "" {
		b.split.name, b.split.full = s.stratum, true
	}
	every := s
	every.verdicts = nil
	zones := map[zoneKey][]thresholds.Zone{}
	for _, z := range t.Zones {
		k := zoneKey{z.Key, z.Reference}
		zones[k] = append(zones[k], z)
	}
	for i := range t.Verdicts {
		v := t.Verdicts[i]
		if !every.matches(&v) {
			continue
		}
		row := boardRow{v, append([]thresholds.Zone{}, zones[zoneKey{v.Key, v.Reference}]...)}
		if s.wants(&v) {
			b.rows = append(b.rows, row)
		}
		switch {
		case v.Stratum == "" && b.split.full:
			b.whole = append(b.whole, row)
		case v.Stratum != "" && splitName(v.Stratum) == b.split.name && s.matches(&v):
			k := lineKey{blockKey{v.PitchType, v.Outcome, v.Reference}, v.Variable}
			b.split.rows[k] = append(b.split.rows[k], row)
		}
	}
	return b
}

// lines are the rows that have lines of their own: those of all pitches that a
// stratum splits, else those selected.
func (b *board) lines() []boardRow {
	if len(b.split.rows) == 0 || !b.split.full {
		return b.rows
	}
	return slices.DeleteFunc(slices.Clone(b.whole), func(r boardRow) bool {
		return b.split.rows[lineKey{blockKey{r.PitchType, r.Outcome, r.Reference}, r.Variable}] == nil
	})
}

type zoneKey struct {
	thresholds.Key
	reference string
}

// blockKey names a block of the board.
type blockKey struct{ pitchType, outcome, reference string }

// print writes the board.
func (b *board) print(p *terminal.Printer) {
	lines := b.lines()
	blocks := map[blockKey][]boardRow{}
	var order []blockKey
	var matchups []string
	for _, m := range pitch.MatchupNames() {
		if slices.ContainsFunc(lines, func(r boardRow) bool { return words.Matchup(r.Key.Hand, r.Key.Side) == m }) {
			matchups = append(matchups, m)
		}
	}
	for _, r := range lines {
		k := blockKey{r.PitchType, r.Outcome, r.Reference}
		if blocks[k] == nil {
			order = append(order, k)
		}
		blocks[k] = append(blocks[k], r)
	}
	types, outcomes := rank(pitch.Words("pitch_type")), rank(outcome.Names())
	slices.SortStableFunc(order, func(x, y blockKey) int {
		return cmp.Or(cmp.Compare(types[x.pitchType], types[y.pitchType]), cmp.Compare(outcomes[x.outcome], outcomes[y.outcome]))
	})
	var silent []string
	shown := 0
	for _, k := range order {
		if !b.all && !slices.ContainsFunc(blocks[k], func(r boardRow) bool { return r.Verdict.Verdict != locate.TooFew }) {
			if t := typeTitle(k.pitchType); !slices.Contains(silent, t) {
				silent = append(silent, t)
			}
			continue
		}
		shown++
		b.block(p, k, blocks[k], matchups)
		p.Blank()
	}
	if len(silent) > 0 {
		p.Prose(terminal.Plain, "", "  ", "Too few pitches for any verdict: "+words.Commas(silent)+".")
		p.Blank()
	}
	if shown > 0 {
		b.legend(p)
	}
}

func rank(words []string) map[string]int {
	m := map[string]int{}
	for i, w := range words {
		m[w] = i
	}
	return m
}

// matchupStyle is the colour of a matchup.
func matchupStyle(m string) terminal.Style {
	return []terminal.Style{"36", "34", "33", "35"}[max(slices.Index(pitch.MatchupNames(), m), 0)]
}

// labelWidth is the width of the column that names the variables: what the
// cells leave, within bounds.
func labelWidth(page, matchups int) int {
	const interval = len("xx 93.2 (92.6-93.9)*")
	return min(max(page-matchups*(interval+len(terminal.Gap)), 15), 30)
}

// block writes one pitch type and outcome.
func (b *board) block(p *terminal.Printer, k blockKey, rows []boardRow, matchups []string) {
	title := typeTitle(k.pitchType) + " · " + metricOf(k.outcome).Title
	switch {
	case rows[0].Stratum != "":
		title += " · " + stratumTitle(rows[0].Stratum)
	case b.split.full:
		title += " · by " + splitOf(b.split.name).Title
	}
	p.Line(terminal.Bold, "%s", title)
	p.Prose(terminal.Dim, "", "", b.lineWords(k, rows))

	common := commonCaveats(rows)
	if len(common) > 0 {
		p.Prose(terminal.Dim, "", "  ", "caveats of every row: "+words.Spaced(words.Commas(common)))
	}
	label := labelWidth(p.Width, len(matchups))
	t := &terminal.Table{Limit: []int{label}}
	heads := []terminal.Cell{{}}
	for _, m := range matchups {
		t.Limit = append(t.Limit, max((p.Width-label)/len(matchups)-len(terminal.Gap), 12))
		heads = append(heads, terminal.Cell{Text: m, Style: "1;" + matchupStyle(m)})
	}
	t.Add(heads...)
	t.Add(b.across("all pitches", rows, matchups, wholeWords)...)
	if b.split.full {
		b.split.addRates(t, b, k, matchups)
	}
	t.Add(b.across(metricOf(k.outcome).Events, rows, matchups, func(r boardRow) terminal.Cell {
		return terminal.Cell{Text: fmt.Sprintf("%s by %s", words.Count(r.Events), words.Count(r.Pitchers)), Style: terminal.Dim}
	})...)
	var quiet []string
	for _, name := range distinct(rows) {
		var line []boardRow
		for _, r := range rows {
			if r.Variable == name {
				line = append(line, r)
			}
		}
		v := variableOf(name, line[0].Unit)
		at := lineKey{k, name}
		if !b.all && !slices.ContainsFunc(line, b.tells) && (b.brief || !slices.ContainsFunc(b.split.rows[at], b.tells)) {
			quiet = append(quiet, v.Title)
			continue
		}
		name := v.Title
		if v.Unit != "" {
			name += "," + words.NoBreak + v.Unit
		}
		t.Add(b.across(name, line, matchups, func(r boardRow) terminal.Cell { return verdictCell(r, common) })...)
		if b.curves != nil {
			shared := b.curves.axes(line)
			t.Add(b.across("", line, matchups, func(r boardRow) terminal.Cell {
				return terminal.Cell{Text: b.curves.draw(r, shared, min(t.Limit[1], 24), p.Marks()), Style: matchupStyle(words.Matchup(r.Key.Hand, r.Key.Side))}
			})...)
		}
		if !b.brief {
			b.split.add(t, b, at, matchups, common)
		}
	}
	p.Table(t, 0)
	if len(quiet) > 0 {
		p.Prose(terminal.Dim, "", "  ", "nothing shown for "+words.Commas(quiet))
	}
}

// tells tells whether a row is worth a line of its own.
func (b *board) tells(r boardRow) bool {
	if b.brief && r.Verdict.Verdict == locate.EdgeUnresolved {
		return false
	}
	return shows(r)
}

// shows tells whether a row says more than that nothing could be shown.
func shows(r boardRow) bool {
	return r.Verdict.Verdict != locate.Inconclusive && r.Verdict.Verdict != locate.TooFew
}

// commonCaveats lists the caveats that every row of a block that shows
// something carries, where there are at least two such rows.
func commonCaveats(rows []boardRow) []string {
	var common []string
	n := 0
	for _, r := range rows {
		if !shows(r) {
			continue
		}
		if n == 0 {
			common = slices.Clone(r.Warnings)
		}
		n++
		common = slices.DeleteFunc(common, func(w string) bool { return !slices.Contains(r.Warnings, w) })
	}
	if n < 2 {
		return nil
	}
	return common
}

// distinct lists the variables of rows in their order.
func distinct(rows []boardRow) []string {
	var out []string
	for _, r := range rows {
		if !slices.Contains(out, r.Variable) {
			out = append(out, r.Variable)
		}
	}
	order := rank(shape.Names(shape.Variables))
	place := func(v string) int {
		if i, ok := order[v]; ok {
			return i
		}
		return len(order)
	}
	slices.SortStableFunc(out, func(x, y string) int { return cmp.Compare(place(x), place(y)) })
	return out
}

// across makes a line of the table: one cell per matchup, a dot where the rows
// hold none.
func (b *board) across(label string, rows []boardRow, matchups []string, render func(boardRow) terminal.Cell) []terminal.Cell {
	line := []terminal.Cell{{Text: label}}
	for _, m := range matchups {
		c := terminal.Cell{Text: "·", Style: terminal.Dim}
		if i := slices.IndexFunc(rows, func(r boardRow) bool { return words.Matchup(r.Key.Hand, r.Key.Side) == m }); i >= 0 {
			c = render(rows[i])
		}
		line = append(line, c)
	}
	return line
}

// verdictCell renders one verdict.
func verdictCell(r boardRow, common []string) terminal.Cell {
	c := terminal.Cell{Text: cellWords(&r.Verdict, r.Zones), Style: terminal.Dim}
	if r.Verdict.Verdict == locate.Found || r.Verdict.Verdict == locate.AlwaysBeats {
		c.Style = matchupStyle(words.Matchup(r.Key.Hand, r.Key.Side))
	}
	if hasCaveat(r, common) {
		c.Text += caveat
	}
	return c
}

// hasCaveat tells whether a row that shows something carries a caveat that
// neither its words nor those of its block say already.
func hasCaveat(r boardRow, common []string) bool {
	return shows(r) && slices.ContainsFunc(r.Warnings, func(w string) bool {
		return w != locate.WarnWeak && !slices.Contains(common, w)
	})
}

// wholeWords says how the cell as a whole stands to the line.
func wholeWords(r boardRow) terminal.Cell {
	text := words.Rate(r.Rate)
	switch r.LevelVerdict {
	case locate.Above:
		text += words.NoBreak + "better"
	case locate.Below:
		text += words.NoBreak + "worse"
	}
	return terminal.Cell{Text: text}
}

// lineWords says what the line of a block is.
func (b *board) lineWords(k blockKey, rows []boardRow) string {
	r := rows[0]
	if r.Line == nil {
		return "no line: fewer than 5 qualified pitchers"
	}
	return fmt.Sprintf("line %s %s: %s", words.Rate(*r.Line), words.Interval(r.LineLo, r.LineHi, words.Rate), words.Line(k.reference))
}

// legend explains the words that the board uses, and what it cannot say.
func (b *board) legend(p *terminal.Printer) {
	used := map[string]bool{}
	weak, open, caveats := false, false, false
	rows := slices.Concat(b.lines(), b.rows)
	for _, of := range b.split.rows {
		rows = append(rows, of...)
	}
	for _, r := range rows {
		used[r.Verdict.Verdict] = true
		caveats = caveats || hasCaveat(r, nil)
		if zonesShown(&r.Verdict, r.Zones) {
			for _, z := range r.Zones {
				weak = weak || z.Weak
				open = open || z.LowerKind == "edge" && (z.LowerLo == nil || z.LowerHi == nil) ||
					z.UpperKind == "edge" && (z.UpperLo == nil || z.UpperHi == nil)
			}
		}
	}
	t := &terminal.Table{Fit: 2}
	explain := func(word, meaning string) { t.Add(terminal.Cell{Text: word}, terminal.Cell{Text: meaning}) }
	if used[locate.Found] {
		explain("≥"+words.NoBreak+"93.2 (92.6–93.9)", "from 93.2 up, the pitch beats the line; the breakpoint lies within 92.6–93.9 (95 % interval)")
	}
	for _, v := range words.Verdicts {
		if v.Cell != "" && used[v.Word] {
			explain(v.Cell, v.Meaning)
		}
	}
	explain("better, worse", "for the pitcher, all pitches of that matchup together against the line; neither: not shown")
	if weak {
		explain("weak", "the breakpoint was confirmed at low power: trust it less than its interval says")
	}
	if open {
		explain("?", "the breakpoint is not pinned down on that side")
	}
	if caveats {
		explain(caveat, "has caveats; sill explain TYPE MATCHUP VARIABLE says which and what they mean")
	}
	if len(b.split.rows) > 0 && !b.brief {
		s := splitOf(b.split.name)
		explain("lines set in", sentence("by "+s.Title+": "+s.Meaning)+" Tests of their own: no other line depends on them")
	}
	p.Line(terminal.Bold, "How to read it")
	p.Table(t, 2)
	p.Prose(terminal.Plain, "  ", "", caution)
}

// caution stands under everything a coach may read.
const caution = "This describes what batters did; it does not say what a change would cause: velocity travels with other " +
	"qualities. Workload and mechanics belong to the coaches and the medical staff."

// tally counts verdicts by word, in the order of the legend.
func (b *board) tally() string {
	n := map[string]int64{}
	for _, r := range b.rows {
		n[r.Verdict.Verdict]++
	}
	var parts []string
	for _, v := range words.Verdicts {
		if n[v.Word] > 0 {
			parts = append(parts, words.Count(n[v.Word])+" "+words.Spaced(v.Word))
		}
	}
	return strings.Join(parts, ", ")
}
