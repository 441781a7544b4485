package screen

import (
	"strings"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Stacked writes the answers for a person.
func Stacked(p *terminal.Printer, all, shown *stacked.Report, full bool) {
	p.Prose(terminal.Bold, "", "", all.Summary())
	if len(all.Stacks) == 0 {
		return
	}
	p.Blank()
	switch {
	case len(shown.Stacks) == 0:
		p.Prose(terminal.Plain, "", "", "None of them is among these pitch types, matchups and outcomes.")
	case full:
		for i := range shown.Stacks {
			printStack(p, all, &shown.Stacks[i])
		}
	default:
		t := &terminal.Table{Fit: 4}
		t.Add(terminal.Cell{Text: "pitch", Style: terminal.Dim}, terminal.Cell{Text: "matchup", Style: terminal.Dim}, terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "good zones of", Style: terminal.Dim}, terminal.Cell{Text: "answer", Style: terminal.Dim})
		for i := range shown.Stacks {
			s := &shown.Stacks[i]
			t.Add(terminal.Cell{Text: s.Type()}, terminal.Cell{Text: s.Matchup()}, terminal.Cell{Text: s.Outcome().Title}, terminal.Cell{Text: strings.Join(s.Names(), ", ")}, terminal.Cell{Text: s.InWords()})
		}
		p.Table(t, 0)
		p.Blank()
	}
	p.Prose(terminal.Plain, "", "", all.Caution())
}

// stackedWidth is how wide the rates of a stack are with their limits beside them.
const stackedWidth = 116

func printStack(p *terminal.Printer, all *stacked.Report, s *stacked.Stack) {
	p.Prose(terminal.Bold, "", "  ", s.Title())
	p.Prose(terminal.Plain, "  ", "", s.Sentence())
	if text := s.Trend(); text != "" {
		p.Prose(terminal.Plain, "  ", "", text)
	}
	of := map[string]map[int]stacked.Comparison{}
	var alone []stacked.Comparison
	for _, c := range s.Comparisons() {
		if c.Of == stacked.Alone {
			alone = append(alone, c)
			continue
		}
		if of[c.Of] == nil {
			of[c.Of] = map[int]stacked.Comparison{}
		}
		of[c.Of][c.Good] = c
	}
	apart := words.NoBreak // between a number and its limits
	tab := &terminal.Table{}
	if p.Width < stackedWidth {
		apart, tab.Limit = "\n", []int{16}
	}
	gain := func(c stacked.Comparison) string {
		if c.Gain == nil {
			return ""
		}
		return words.SignedRate(*c.Gain) + apart + strings.ReplaceAll(words.Interval(c.Lo, c.Hi, words.SignedRate), " ", words.NoBreak)
	}
	tab.Add(terminal.Cell{Text: "good", Style: terminal.Dim}, terminal.Cell{Text: s.Outcome().Events, Style: terminal.Dim, Right: true}, terminal.Cell{Text: "pitchers", Style: terminal.Dim, Right: true},
		terminal.Cell{Text: s.Outcome().Title, Style: terminal.Dim}, terminal.Cell{Text: "gain on none", Style: terminal.Dim}, terminal.Cell{Text: "gain on one fewer", Style: terminal.Dim})
	for _, l := range s.Levels() {
		rate := "too few"
		if l.Rate != nil {
			rate = words.Rate(*l.Rate) + apart + words.Interval(l.Lo, l.Hi, words.Rate)
		}
		name := s.LevelName(l.Good)
		tab.Add(terminal.Cell{Text: name}, terminal.Cell{Text: words.Count(l.Events), Right: true}, terminal.Cell{Text: words.Count(l.Pitchers), Right: true}, terminal.Cell{Text: rate},
			terminal.Cell{Text: gain(of[stacked.None][l.Good])}, terminal.Cell{Text: gain(of[stacked.Step][l.Good])})
	}
	if len(alone) > 1 {
		for _, c := range alone {
			text := gain(c)
			if text == "" {
				text = "too few"
			}
			tab.Add(terminal.Cell{Text: "only " + variableOf(c.Quality, "").Title}, terminal.Cell{}, terminal.Cell{}, terminal.Cell{}, terminal.Cell{Text: text})
		}
	}
	p.Table(tab, 2)
	for _, z := range s.Zones(all.Qualities) {
		p.Prose(terminal.Dim, "  ", "  ", words.Sentence(z)+".")
	}
	if n := s.Unknown(); n > 0 {
		p.Prose(terminal.Dim, "  ", "  ", "Left out: "+words.Count(n)+" pitches within the limits of a breakpoint, or of which a quality is unknown.")
	}
	p.Blank()
}
