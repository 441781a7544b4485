// Package screen writes the answers of sill for a terminal: the board of thresholds,
// the evidence of one, comparisons, splits, and each further question's. It neither
// reads nor estimates; it is handed what it tells and a terminal.Printer.
package screen

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
	Rows       []BoardRow
	whole      []BoardRow // of all pitches, where rows are split by a stratum and stand under these
	split      splitLines
	references []thresholds.Reference
	All        bool       // lines on which nothing was shown are listed in full
	Curves     miniatures // drawn under the lines; nil for none
}

// BoardRow is one verdict with the zones that belong to it.
type BoardRow struct {
	thresholds.Verdict
	Zones []thresholds.Zone `json:"zones"`
}

// Selection says which verdicts are wanted; an empty list wants all. It only
// hides rows: no verdict depends on it.
type Selection struct {
	Types, Matchups, Variables, Outcomes, Verdicts []string
	Reference                                      string
	Stratum                                        string // a value of a stratum, a whole stratum, or "" for all pitches
}

func (s *Selection) wants(v *thresholds.Verdict) bool {
	return (v.Stratum == s.Stratum || SplitName(v.Stratum) == s.Stratum) && s.matches(v)
}

// matches tells whether a verdict passes the filters, whatever its stratum.
func (s *Selection) matches(v *thresholds.Verdict) bool {
	return v.Reference == s.Reference && in(s.Types, v.PitchType) &&
		in(s.Matchups, words.Matchup(v.Key.Hand, v.Key.Side)) && in(s.Variables, v.Variable) && in(s.Outcomes, v.Outcome) &&
		in(s.Verdicts, v.Verdict)
}

// NewBoard selects from the tables, which stay as they are. Without a stratum the
// fastballs' thirds are at hand too, to stand under the lines of all pitches.
func NewBoard(t *thresholds.Tables, s Selection) *board {
	b := &board{references: t.References, split: splitLines{name: tally.FastballThirds, rows: map[lineKey][]BoardRow{}}}
	if s.Stratum != "" {
		b.split.name, b.split.full = s.Stratum, true
	}
	every := s
	every.Verdicts = nil
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
		row := BoardRow{v, append([]thresholds.Zone{}, zones[zoneKey{v.Key, v.Reference}]...)}
		if s.wants(&v) {
			b.Rows = append(b.Rows, row)
		}
		switch {
		case v.Stratum == "" && b.split.full:
			b.whole = append(b.whole, row)
		case v.Stratum != "" && SplitName(v.Stratum) == b.split.name && s.matches(&v):
			k := lineKey{blockKey{v.PitchType, v.Outcome, v.Reference}, v.Variable}
			b.split.rows[k] = append(b.split.rows[k], row)
		}
	}
	return b
}

// lines are the rows that have lines of their own: those of all pitches that a
// stratum splits, else those selected.
func (b *board) lines() []BoardRow {
	if len(b.split.rows) == 0 || !b.split.full {
		return b.Rows
	}
	return slices.DeleteFunc(slices.Clone(b.whole), func(r BoardRow) bool {
		return b.split.rows[lineKey{blockKey{r.PitchType, r.Outcome, r.Reference}, r.Variable}] == nil
	})
}

type zoneKey struct {
	thresholds.Key
	reference string
}

// blockKey names a block of the board.
type blockKey struct{ pitchType, outcome, reference string }

// Print writes the board.
func (b *board) Print(p *terminal.Printer) {
	lines := b.lines()
	blocks := map[blockKey][]BoardRow{}
	var order []blockKey
	var matchups []string
	for _, m := range pitch.MatchupNames() {
		if slices.ContainsFunc(lines, func(r BoardRow) bool { return words.Matchup(r.Key.Hand, r.Key.Side) == m }) {
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
	outcomes := rank(append([]string{thresholds.Joint}, outcome.Names()...))
	slices.SortStableFunc(order, func(x, y blockKey) int {
		return cmp.Or(pitch.CompareTypes(x.pitchType, y.pitchType), cmp.Compare(outcomes[x.outcome], outcomes[y.outcome]))
	})
	var silent []string
	shown := 0
	for _, k := range order {
		if !b.All && blocks[k][0].Untyped() {
			continue
		}
		if !b.All && !slices.ContainsFunc(blocks[k], func(r BoardRow) bool { return r.Verdict.Verdict != locate.TooFew }) {
			if t := TypeTitle(k.pitchType); !slices.Contains(silent, t) {
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
	var verdicts []thresholds.Verdict
	for i := range lines {
		verdicts = append(verdicts, lines[i].Verdict)
	}
	if s := untyped(verdicts); s != "" && !b.All {
		p.Prose(terminal.Plain, "", "", s+".")
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
	const interval = len("xx 93.2 (92.6-93.9)")
	return min(max(page-matchups*(interval+len(terminal.Gap)), 15), 30)
}

// block writes one pitch type and outcome.
func (b *board) block(p *terminal.Printer, k blockKey, rows []BoardRow, matchups []string) {
	title := TypeTitle(k.pitchType) + " · " + metricOf(k.outcome).Title
	switch {
	case rows[0].Stratum != "":
		title += " · " + stratumTitle(rows[0].Stratum)
	case b.split.full:
		title += " · by " + splitOf(b.split.name).Title
	}
	p.Line(terminal.Bold, "%s", title)
	p.Prose(terminal.Dim, "", "", b.lineWords(k, rows))

	common := commonCaveats(rows)
	if s := words.MarkWords(common); s != "" {
		p.Prose(terminal.Dim, "", "  ", "every row: "+words.Plain(s))
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
	t.Add(b.across(metricOf(k.outcome).Events, rows, matchups, func(r BoardRow) terminal.Cell {
		return terminal.Cell{Text: fmt.Sprintf("%s by %s", words.Count(r.Events), words.Count(r.Pitchers)), Style: terminal.Dim}
	})...)
	var quiet []string
	located := false
	for _, name := range distinct(rows) {
		var line []BoardRow
		for _, r := range rows {
			if r.Variable == name {
				line = append(line, r)
			}
		}
		v := variableOf(name, line[0].Unit)
		at := lineKey{k, name}
		if !b.All && !slices.ContainsFunc(line, shows) && !slices.ContainsFunc(b.split.rows[at], shows) {
			quiet = append(quiet, v.Title)
			continue
		}
		name := v.Title
		if v.Unit != "" {
			name += "," + words.NoBreak + v.Unit
		}
		if v.Rank == shape.Location && !located {
			located = true
			t.Add(terminal.Cell{Text: "where it went", Style: terminal.Dim})
		}
		t.Add(b.across(name, line, matchups, func(r BoardRow) terminal.Cell { return verdictCell(r, common) })...)
		if b.Curves != nil {
			shared := b.Curves.axes(line)
			t.Add(b.across("", line, matchups, func(r BoardRow) terminal.Cell {
				return terminal.Cell{Text: b.Curves.draw(r, shared, min(t.Limit[1], 24), p.Marks()), Style: matchupStyle(words.Matchup(r.Key.Hand, r.Key.Side))}
			})...)
		}
		b.split.add(t, b, at, matchups, common)
	}
	p.Table(t, 0)
	if len(quiet) > 0 {
		p.Prose(terminal.Dim, "", "  ", "nothing shown for "+words.Commas(quiet))
	}
}

// shows tells whether a row says more than that nothing could be shown.
func shows(r BoardRow) bool {
	return r.Verdict.Verdict != locate.Inconclusive && r.Verdict.Verdict != locate.TooFew
}

// commonCaveats lists the caveats that every row of a block that shows
// something carries, where there are at least two such rows.
func commonCaveats(rows []BoardRow) []string {
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

// distinct lists the variables of rows in their order, where the pitch went last.
func distinct(rows []BoardRow) []string {
	var out []string
	for _, r := range rows {
		if !slices.Contains(out, r.Variable) {
			out = append(out, r.Variable)
		}
	}
	order := rank(shape.Names(shape.Variables))
	place := func(v string) int {
		i, ok := order[v]
		if !ok {
			i = len(order)
		}
		if shape.RankOf(v) == shape.Location {
			i += len(order) + 1
		}
		return i
	}
	slices.SortStableFunc(out, func(x, y string) int { return cmp.Compare(place(x), place(y)) })
	return out
}

// across makes a line of the table: one cell per matchup, a dot where the rows
// hold none.
func (b *board) across(label string, rows []BoardRow, matchups []string, render func(BoardRow) terminal.Cell) []terminal.Cell {
	line := []terminal.Cell{{Text: label}}
	for _, m := range matchups {
		c := terminal.Cell{Text: "·", Style: terminal.Dim}
		if i := slices.IndexFunc(rows, func(r BoardRow) bool { return words.Matchup(r.Key.Hand, r.Key.Side) == m }); i >= 0 {
			c = render(rows[i])
		}
		line = append(line, c)
	}
	return line
}

// verdictCell renders one verdict.
func verdictCell(r BoardRow, common []string) terminal.Cell {
	c := terminal.Cell{Text: cellWords(&r.Verdict, r.Zones), Style: terminal.Dim}
	if r.Verdict.Verdict == locate.Found || r.Verdict.Verdict == locate.AlwaysBeats {
		c.Style = matchupStyle(words.Matchup(r.Key.Hand, r.Key.Side))
	}
	if s := words.MarkWords(marked(r, common)); s != "" {
		c.Text += " " + s
	}
	return c
}

// marked lists the caveats of a row that shows something, but for those that its block
// says of every row.
func marked(r BoardRow, common []string) []string {
	if !shows(r) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(r.Warnings), func(w string) bool { return slices.Contains(common, w) })
}

// wholeWords says how the cell as a whole stands to the line.
func wholeWords(r BoardRow) terminal.Cell {
	var parts []string
	if r.Outcome != thresholds.Joint { // which has no rate of its own
		parts = append(parts, words.Rate(r.Rate))
	}
	switch r.LevelVerdict {
	case locate.Above:
		parts = append(parts, "better")
	case locate.Below:
		parts = append(parts, "worse")
	}
	return terminal.Cell{Text: strings.Join(parts, words.NoBreak)}
}

// lineWords says what the line of a block is.
func (b *board) lineWords(k blockKey, rows []BoardRow) string {
	r := rows[0]
	if k.outcome == thresholds.Joint {
		return "both lines: " + words.Line(k.reference)
	}
	if r.Line == nil {
		return "no line: fewer than 5 qualified pitchers"
	}
	return fmt.Sprintf("line %s %s: %s", words.Rate(*r.Line), words.Interval(r.LineLo, r.LineHi, words.Rate), words.Line(k.reference))
}

// legend explains the words that the board uses, and what it cannot say.
func (b *board) legend(p *terminal.Printer) {
	used := map[string]bool{}
	open, caveats := false, map[string]bool{}
	rows := slices.Concat(b.lines(), b.Rows)
	for _, of := range b.split.rows {
		rows = append(rows, of...)
	}
	for _, r := range rows {
		if r.Untyped() && !b.All {
			continue
		}
		used[r.Verdict.Verdict] = true
		for _, code := range marked(r, nil) {
			caveats[code] = true
		}
		if zonesShown(&r.Verdict, r.Zones) {
			for _, z := range r.Zones {
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
	if open {
		explain("?", "no limit on that side: how far that way the breakpoint may lie is not known")
	}
	for _, c := range words.Caveats {
		if caveats[c.Code] && c.Legend != "" {
			explain(c.Word, c.Legend)
		}
	}
	if len(b.split.rows) > 0 {
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

// CountVerdicts counts the verdicts on all pitches against a line by word. Those on both
// outcomes at once follow from the others and are not counted.
func CountVerdicts(t *thresholds.Tables, reference string) map[string]int64 {
	n := map[string]int64{}
	for i := range t.Verdicts {
		if v := &t.Verdicts[i]; v.Stratum == "" && v.Reference == reference && v.Outcome != thresholds.Joint && !v.Untyped() {
			n[v.Verdict]++
		}
	}
	return n
}

// Tally says CountVerdicts, in the order of the legend.
func Tally(t *thresholds.Tables, reference string) string {
	n := CountVerdicts(t, reference)
	var parts []string
	for _, v := range words.Verdicts {
		if n[v.Word] > 0 {
			parts = append(parts, words.Count(n[v.Word])+" "+words.Spaced(v.Word))
		}
	}
	return strings.Join(parts, ", ")
}
