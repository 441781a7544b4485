package screen

import (
	"fmt"
	"math"
	"strings"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Opponents writes the answers for a person.
func Opponents(p *terminal.Printer, cells []opponents.Faced, along []opponents.Stretch, full bool) {
	told, clear, largest := 0, 0, 0.0
	for i := range cells {
		if f := &cells[i]; !math.IsNaN(f.Difference) {
			told++
			if f.Clear() {
				clear++
			}
			if f.Lo > 0 || f.Hi < 0 {
				largest = max(largest, math.Abs(f.Difference))
			}
		}
	}
	text := fmt.Sprintf("Of %s of pitch type, matchup and outcome, ", words.Plural(int64(told), "combination"))
	switch {
	case told == 0:
		text = "Nothing can be told of the batters faced: too few pitchers, or no batter is known."
	case clear == 0:
		text += "in none were the batters faced clearly better or worse than the league's by .010 or more"
		if largest > 0 {
			text += "; the largest difference that is shown is " + words.Rate(largest)
		}
		text += "."
	default:
		text += fmt.Sprintf("in %d the batters faced were clearly better or worse than the league's by .010 or more.", clear)
	}
	p.Prose(terminal.Bold, "", "", text)
	for i := range cells {
		if cells[i].Clear() {
			p.Prose(terminal.Plain, "  ", "  ", words.Sentence(cells[i].Sentence()))
		}
	}
	if full && told > 0 {
		p.Blank()
		tab, apart := &terminal.Table{}, " "
		if p.Width < 88 {
			apart = "\n"
		}
		tab.Add(terminal.Cell{Text: "pitch", Style: terminal.Dim}, terminal.Cell{Text: "matchup", Style: terminal.Dim}, terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "events", Style: terminal.Dim, Right: true},
			terminal.Cell{Text: "batters", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "against the league's", Style: terminal.Dim}, terminal.Cell{Text: "rate", Style: terminal.Dim}, terminal.Cell{Text: "adjusted", Style: terminal.Dim})
		for i := range cells {
			f := &cells[i]
			limits, adjusted := "too few", ""
			if !math.IsNaN(f.Difference) {
				limits = words.SignedRate(f.Difference) + apart + strings.ReplaceAll(words.Interval(&f.Lo, &f.Hi, words.SignedRate), " ", words.NoBreak)
				adjusted = words.Rate(f.Adjusted)
			}
			tab.Add(terminal.Cell{Text: TypeTitle(f.Type.String())}, terminal.Cell{Text: f.Matchup().String()}, terminal.Cell{Text: outcome.Metrics[f.Metric].Title},
				terminal.Cell{Text: words.Count(f.Events), Right: true}, terminal.Cell{Text: words.Count(f.Batters), Right: true}, terminal.Cell{Text: limits}, terminal.Cell{Text: words.Rate(f.Rate)}, terminal.Cell{Text: adjusted})
		}
		p.Table(tab, 0)
	}
	if len(along) > 0 {
		p.Blank()
		printStretches(p, along)
	}
	p.Blank()
	p.Prose(terminal.Plain, "", "", "A batter is compared with those who face the same hand from the same side; whether all of these are better than other batters is not asked. "+
		"Thresholds are found on the rates as they were: those that this concerns are marked "+words.CaveatOf(locate.WarnOpponents).Word+".")
}

// printStretches lists the bins whose batters are clearly better or worse.
func printStretches(p *terminal.Printer, along []opponents.Stretch) {
	told, clear := 0, 0
	for i := range along {
		if !math.IsNaN(along[i].Q) {
			told++
		}
		if along[i].Clear() {
			clear++
		}
	}
	text := fmt.Sprintf("Along the qualities %s were asked about, ", words.Plural(int64(told), "bin"))
	if clear == 0 {
		p.Prose(terminal.Bold, "", "", text+"and in none were the batters clearly better or worse by .010 or more: no curve is bent by who was facing, as far as can be told.")
		return
	}
	p.Prose(terminal.Bold, "", "", text+fmt.Sprintf("and in %d the batters were clearly better or worse by .010 or more:", clear))
	for i := range along {
		if along[i].Clear() {
			p.Prose(terminal.Plain, "  ", "  ", words.Sentence(along[i].Sentence()))
		}
	}
}
