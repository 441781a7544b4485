package screen

import (
	"fmt"
	"strings"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Diff writes the comparison for a person: part holds the rows asked for,
// whole what the summary speaks of.
func Diff(p *terminal.Printer, whole, part *compare.Diff, reference string, all bool) {
	p.Line(terminal.Bold, "%s %s → %s %s", whole.From.League, whole.From.Version, whole.To.League, whole.To.Version)
	p.Blank()
	p.Prose(terminal.Bold, "", "", whole.Summary(reference))
	p.Prose(terminal.Dim, "", "", strings.TrimSpace("Against the "+words.Line(reference)+". "+whole.How()))
	for _, n := range whole.Notes {
		p.Prose(terminal.Plain, "", "  ", "Note: "+n)
	}
	sections := part.Sections(reference)
	if all {
		sections = append(sections, part.Verdicts(reference))
	}
	var left []string
	for _, s := range sections {
		if s.Detail && !all {
			left = append(left, fmt.Sprintf("%s %s", words.Count(int64(len(s.Rows))), strings.ToLower(s.Title[:1])+s.Title[1:]))
			continue
		}
		if len(s.Rows) > 0 {
			printSection(p, s)
		}
	}
	p.Blank()
	if len(left) > 0 {
		p.Prose(terminal.Plain, "", "  ", "Not listed (--all lists them): "+words.Commas(left)+".")
	}
	p.Prose(terminal.Plain, "", "", compare.Caution)
}

func printSection(p *terminal.Printer, s compare.Section) {
	p.Blank()
	p.Line(terminal.Bold, "%s", s.Title)
	if s.Meaning != "" {
		p.Prose(terminal.Dim, "", "", s.Meaning)
	}
	t := &terminal.Table{}
	if s.Head[0] == "" { // cell and quality come first; the quality gives way
		t.Fit = 2
	}
	bind := strings.NewReplacer("≥ ", "≥"+words.NoBreak, "≤ ", "≤"+words.NoBreak)
	add := func(st terminal.Style, cells []string) {
		row := make([]terminal.Cell, len(cells))
		for i, c := range cells {
			row[i] = terminal.Cell{Text: bind.Replace(c), Style: st}
		}
		t.Add(row...)
	}
	add(terminal.Dim, s.Head)
	for _, r := range s.Rows {
		add(terminal.Plain, r)
	}
	p.Table(t, 2)
}
