package screen

import (
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// GapRow is one quality of one pitch type for pitchers of one hand: how much better
// they fare against same-handed than against opposite-handed batters along it.
type GapRow struct {
	PitchType string     `json:"pitch_type"`
	Hand      string     `json:"hand" doc:"of the pitcher"`
	Stratum   string     `json:"stratum" doc:"extra split, empty for all pitches"`
	Variable  string     `json:"variable"`
	Outcome   string     `json:"outcome"`
	Verdict   string     `json:"verdict" doc:"splits, travels, cannot_tell or not_estimable"`
	Note      string     `json:"note" doc:"why it cannot be told"`
	P         *float64   `json:"p" doc:"of a gap that does not change along the quality"`
	Q         *float64   `json:"q" doc:"p after Benjamini-Hochberg over all of the kind"`
	Together  int64      `json:"together" doc:"how many of the kind q allows for; 0 where q is null, and in a version older than schema 1.4"`
	Change    *gapThird  `json:"change" doc:"of the gap, highest third less lowest third; null where not estimable"`
	Thirds    []gapThird `json:"thirds" doc:"the gap in the lowest, middle and highest third of the events, positive: better against same-handed batters"`
}

// gapThird is a gap, or its change, with 95 % limits.
type gapThird struct {
	X   *float64 `json:"x" doc:"mean of the quality over the third, null for the change"`
	Gap *float64 `json:"gap"`
	Lo  *float64 `json:"lo"`
	Hi  *float64 `json:"hi"`
}

// GapsOf gathers the rows of the kind platoon, in their order.
func GapsOf(all []thresholds.Contrast) []GapRow {
	out := []GapRow{}
	for i := range all {
		c := &all[i]
		if c.Kind != locate.KindPlatoon {
			continue
		}
		third := gapThird{c.X, c.Estimate, c.Lo, c.Hi}
		if c.X == nil { // the first of its rows
			r := GapRow{PitchType: c.TypeA, Hand: c.HandA, Stratum: c.Stratum, Variable: c.Variable, Outcome: c.Outcome,
				Verdict: c.Verdict, Note: c.Note, P: c.P, Q: c.Q, Together: c.Together, Thirds: []gapThird{}}
			if c.Estimate != nil {
				r.Change = &third
			}
			out = append(out, r)
			continue
		}
		last := &out[len(out)-1]
		last.Thirds = append(last.Thirds, third)
	}
	return out
}

// Gaps writes a block for each pitch type and outcome.
func Gaps(p *terminal.Printer, rows []GapRow, all bool) {
	if len(rows) == 0 {
		p.Prose(terminal.Plain, "", "", "No row matches these filters. Versions made before the kind platoon have none: publish anew with sill run.")
		return
	}
	type blockOf struct{ pitchType, outcome string }
	blocks := map[blockOf][]GapRow{}
	var order []blockOf
	for _, r := range rows {
		k := blockOf{r.PitchType, r.Outcome}
		if blocks[k] == nil {
			order = append(order, k)
		}
		blocks[k] = append(blocks[k], r)
	}
	var silent []string
	for _, k := range order {
		told := func(r GapRow) bool { return all || r.Verdict == locate.Splits || r.Verdict == locate.Travels }
		if !slices.ContainsFunc(blocks[k], told) {
			silent = append(silent, TypeTitle(k.pitchType)+" by "+metricOf(k.outcome).Title)
			continue
		}
		p.Line(terminal.Bold, "%s · %s", TypeTitle(k.pitchType), metricOf(k.outcome).Title)
		t := &terminal.Table{Fit: 4, Limit: []int{18, 12}}
		for _, r := range blocks[k] {
			if !told(r) {
				continue
			}
			v := variableOf(r.Variable, "")
			t.Add(terminal.Cell{Text: v.Title}, terminal.Cell{Text: handTitle(r.Hand)}, terminal.Cell{Text: words.Spaced(r.Verdict), Style: verdictStyle(r.Verdict)}, terminal.Cell{Text: gapWords(r, v)})
		}
		p.Table(t, 2)
		if !all {
			p.Prose(terminal.Dim, "  ", "  ", "of every other quality it cannot be told")
		}
		p.Blank()
	}
	if len(silent) > 0 {
		p.Prose(terminal.Plain, "", "  ", "Cannot be told for any quality: "+words.Commas(silent)+". --all shows the gaps.")
		p.Blank()
	}
	p.Line(terminal.Bold, "How to read it")
	meanings := &terminal.Table{Fit: 2}
	for _, w := range words.Platoon {
		meanings.Add(terminal.Cell{Text: words.Spaced(w.Word)}, terminal.Cell{Text: w.Meaning})
	}
	p.Table(meanings, 2)
	p.Prose(terminal.Plain, "  ", "", "The gap is how much better the pitcher fares against same-handed batters than against opposite-handed ones; "+
		"plus is better against same-handed ones. Three values: in the lowest, middle and highest third of the pitches, at their mean. "+
		"Intervals are 95 %, from whole pitchers drawn anew who face both sides.")
	p.Prose(terminal.Plain, "  ", "", caution)
}

func verdictStyle(word string) terminal.Style {
	if word == locate.CannotTell || word == locate.NotEstimable {
		return terminal.Dim
	}
	return terminal.Bold
}

// handTitle names the pitchers of one hand.
func handTitle(hand string) string {
	return map[string]string{"left": "left-handed pitchers", "right": "right-handed pitchers"}[hand]
}

// gapWords says in a sentence how the gap runs along a quality.
func gapWords(r GapRow, v shape.Variable) string {
	if r.Change == nil || r.Change.Gap == nil || len(r.Thirds) != 3 {
		return orWord(r.Note, "not estimable")
	}
	format := quantity(v)
	var values []string
	for _, t := range r.Thirds {
		values = append(values, fmt.Sprintf("%s at %s", words.OrDash(t.Gap, words.SignedRate), words.OrDash(t.X, format)))
	}
	values[2] = words.WithUnit(values[2], v.Unit)
	text := "gap " + strings.Join(values, ", ")
	change := fmt.Sprintf("%s %s", words.SignedRate(*r.Change.Gap), words.Interval(r.Change.Lo, r.Change.Hi, words.SignedRate))
	splits, apart := r.Verdict == locate.Splits, words.Apart(r.Change.Lo, r.Change.Hi)
	var told string
	switch {
	case splits && apart && *r.Change.Gap > 0:
		told = ": higher values are worth more against same-handed batters, " + change + " from low to high"
	case splits && apart:
		told = ": higher values are worth more against opposite-handed batters, " + change + " from low to high"
	case splits:
		told = ": it changes along the quality, most in the middle third; from low to high " + change
	default:
		told = "; from low to high " + change + ", a change not shown"
	}
	return text + words.Told(told, splits || !apart, r.Q, r.Together)
}
