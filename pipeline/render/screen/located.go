package screen

import (
	"strings"

	"sill/pipeline/analysis/located"
	"sill/pipeline/render/terminal"
)

// locatedWidth is how wide the list is with limits beside their numbers.
const locatedWidth = 108

// Located writes the answers for a person.
func Located(p *terminal.Printer, all, shown *located.Report, full bool) {
	p.Prose(terminal.Bold, "", "", all.Summary())
	if len(all.Rows) == 0 {
		return
	}
	p.Blank()
	switch {
	case len(shown.Rows) == 0:
		p.Prose(terminal.Plain, "", "", "None of them is among these pitch types, matchups and outcomes.")
	case full:
		for i := range shown.Rows {
			r := &shown.Rows[i]
			p.Prose(terminal.Bold, "", "  ", r.Title())
			p.Prose(terminal.Plain, "  ", "", r.Sentence())
			if filled := r.Filled(); filled != "" {
				p.Prose(terminal.Plain, "  ", "", "Filled in: "+filled+" of the weight stands on places where no such pitch was thrown.")
			}
			if moves := r.Moves(); moves != "" {
				p.Prose(terminal.Plain, "  ", "", moves)
			}
			p.Blank()
		}
	default:
		gain := func(text string) string { return text }
		if p.Width < locatedWidth {
			gain = func(text string) string { return strings.Replace(text, " (", "\n(", 1) }
		}
		group, tab := "", &terminal.Table{}
		flush := func() {
			if len(tab.Rows) > 0 {
				p.Line(terminal.Bold, "%s", group)
				p.Table(tab, 2)
				tab = &terminal.Table{}
			}
		}
		for i := range shown.Rows {
			r := &shown.Rows[i]
			if g := r.Type() + ", " + r.Quality(); g != group {
				flush()
				group = g
				tab.Add(terminal.Cell{Text: "matchup", Style: terminal.Dim}, terminal.Cell{Text: "better           ", Style: terminal.Dim}, terminal.Cell{Text: "outcome     ", Style: terminal.Dim},
					terminal.Cell{Text: "gain as thrown  ", Style: terminal.Dim}, terminal.Cell{Text: "with location held", Style: terminal.Dim}, terminal.Cell{Text: "filled in", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "answer", Style: terminal.Dim})
			}
			tab.Add(terminal.Cell{Text: r.Matchup()}, terminal.Cell{Text: r.Breakpoint()}, terminal.Cell{Text: r.Outcome().Title}, terminal.Cell{Text: gain(r.Thrown.Gain())}, terminal.Cell{Text: gain(r.Held.Gain())}, terminal.Cell{Text: r.Filled(), Right: true}, terminal.Cell{Text: r.InWords()})
		}
		flush()
		p.Blank()
	}
	p.Prose(terminal.Plain, "", "", all.Caution())
}
