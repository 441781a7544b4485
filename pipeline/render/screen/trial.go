package screen

import (
	"strings"

	"sill/pipeline/analysis/trial"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Trial writes the trial for a person.
func Trial(p *terminal.Printer, t *trial.Trial, notes []string, brief bool) {
	p.Prose(terminal.Bold, "", "", t.Summary())
	for _, n := range notes {
		p.Prose(terminal.Plain, "", "  ", "Note: "+n)
	}
	if brief {
		p.Blank()
		printVerdicts(p, t)
	}
	shared := t.Source()
	for i := range t.Rows {
		if brief {
			break
		}
		r := &t.Rows[i]
		p.Blank()
		whole := func(s string) string { // numbers keep their units
			if r.Unit == "" {
				return s
			}
			return strings.ReplaceAll(s, " "+r.Unit, words.NoBreak+r.Unit)
		}
		p.Prose(terminal.Bold, "", "  ", whole(r.Title()))
		p.Prose(terminal.Plain, "  ", "", whole(r.Sentence))
		for _, s := range append([]string{r.Own(), r.Themselves()}, r.Cautions...) {
			if s != "" {
				p.Prose(terminal.Plain, "  ", "  ", s)
			}
		}
		single := r.Single()
		for i := range single {
			one := &single[i]
			p.Prose(terminal.Plain, "  ", "  ", whole(one.Measured()+": "+one.Sentence))
			if s := one.Themselves(); s != "" {
				p.Prose(terminal.Plain, "    ", "  ", s)
			}
			if s := one.Numbers(); s != "" {
				p.Prose(terminal.Dim, "    ", "  ", s)
			}
		}
		if s := r.Numbers(); s != "" {
			p.Prose(terminal.Dim, "  ", "  ", s)
		}
		if r.Source != "" && r.Source != shared {
			p.Prose(terminal.Dim, "  ", "  ", "From: "+r.Source)
		}
	}
	p.Blank()
	if shared != "" {
		p.Prose(terminal.Dim, "", "  ", "Where the claims come from: "+shared)
	}
	p.Prose(terminal.Plain, "", "", t.Caution())
}

// printVerdicts writes one line a claim.
func printVerdicts(p *terminal.Printer, t *trial.Trial) {
	tab := &terminal.Table{Fit: 1}
	tab.Add(terminal.Cell{Text: "claim", Style: terminal.Dim}, terminal.Cell{Text: "in", Style: terminal.Dim}, terminal.Cell{Text: "gain", Style: terminal.Dim}, terminal.Cell{Text: "verdict", Style: terminal.Dim})
	for i := range t.Rows {
		r := &t.Rows[i]
		gain := ""
		if r.Advantage != nil {
			gain = words.SignedRate(*r.Advantage) + " " + strings.ReplaceAll(words.Interval(r.AdvantageLo, r.AdvantageHi, words.SignedRate), " ", words.NoBreak)
		}
		tab.Add(terminal.Cell{Text: r.Subject()}, terminal.Cell{Text: words.OutcomeOf(r.Outcome).Short}, terminal.Cell{Text: gain}, terminal.Cell{Text: r.InWords()})
	}
	p.Table(tab, 0)
}
