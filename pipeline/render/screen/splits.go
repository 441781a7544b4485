package screen

import (
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// SplitName is the stratum that a row's stratum is a value of.
func SplitName(stratum string) string {
	name, _, _ := strings.Cut(stratum, ":")
	return name
}

// valueTitle returns the value of a row's stratum for people.
func valueTitle(stratum string) string {
	_, value, _ := strings.Cut(stratum, ":")
	return words.Spaced(value)
}

// splitOf describes a stratum; one that this program does not know gets its name.
func splitOf(name string) tally.Stratum {
	for _, s := range tally.Strata {
		if s.Name == name {
			return s
		}
	}
	return tally.Stratum{Name: name, Title: words.Spaced(name)}
}

// stratumTitle returns a row's stratum for people: "count: two strikes".
func stratumTitle(stratum string) string {
	return splitOf(SplitName(stratum)).Title + ": " + valueTitle(stratum)
}

// orderValues sorts values of one stratum as the stratum orders them; others
// follow by name.
func orderValues(strata []string) {
	if len(strata) == 0 {
		return
	}
	known := splitOf(SplitName(strata[0])).Values
	place := func(s string) int {
		_, value, _ := strings.Cut(s, ":")
		if i := slices.Index(known, value); i >= 0 {
			return i
		}
		return len(known)
	}
	slices.SortFunc(strata, func(a, b string) int {
		if d := place(a) - place(b); d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
}

// StratumWords lists what --stratum may name in a version: every stratum and
// every value of one.
func StratumWords(t *thresholds.Tables) []string {
	seen := map[string]bool{"": true}
	var names []string
	for i := range t.Verdicts {
		for _, n := range []string{SplitName(t.Verdicts[i].Stratum), t.Verdicts[i].Stratum} {
			if !seen[n] {
				seen[n] = true
				names = append(names, n)
			}
		}
	}
	return names
}

// FirstValue is the first value of a stratum of a version.
func FirstValue(t *thresholds.Tables, name string) string {
	values := slices.DeleteFunc(StratumWords(t), func(n string) bool { return n == name || SplitName(n) != name })
	orderValues(values)
	return strings.Join(values[:min(1, len(values))], "")
}

// SplitSummary says how far the data of a version reach into one stratum: which
// of its values ran out.
type SplitSummary struct {
	Stratum string         `json:"stratum"`
	Title   string         `json:"title"`
	Values  []valueSummary `json:"values"`
}

// valueSummary counts the verdicts on one value against the headline line: a
// cell is one matchup, pitch type, variable and outcome.
type valueSummary struct {
	Value  string `json:"value"`
	Cells  int64  `json:"cells"`
	TooFew int64  `json:"too_few"`
	Shown  int64  `json:"shown" doc:"cells with a threshold, an always, a never, or a change along the variable"`
}

func (s *SplitSummary) sum() (v valueSummary) {
	for _, x := range s.Values {
		v.Cells, v.TooFew, v.Shown = v.Cells+x.Cells, v.TooFew+x.TooFew, v.Shown+x.Shown
	}
	return v
}

// SplitsOf summarises every stratum of a version.
func SplitsOf(t *thresholds.Tables) []SplitSummary {
	byValue := map[string]*valueSummary{}
	values := map[string][]string{} // by stratum
	var names []string
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		if v.Stratum == "" || v.Reference != thresholds.HeadlineReference || v.Untyped() {
			continue
		}
		s := byValue[v.Stratum]
		if s == nil {
			name, value, _ := strings.Cut(v.Stratum, ":")
			s = &valueSummary{Value: value}
			byValue[v.Stratum] = s
			names = appendNew(names, name)
			values[name] = append(values[name], v.Stratum)
		}
		s.Cells++
		switch v.Verdict {
		case locate.TooFew:
			s.TooFew++
		case locate.Inconclusive:
		default:
			s.Shown++
		}
	}
	place := rank(nil)
	for i, s := range tally.Strata {
		place[s.Name] = i - len(tally.Strata)
	}
	slices.SortStableFunc(names, func(a, b string) int { return place[a] - place[b] })
	out := []SplitSummary{}
	for _, name := range names {
		s := SplitSummary{Stratum: name, Title: splitOf(name).Title}
		orderValues(values[name])
		for _, v := range values[name] {
			s.Values = append(s.Values, *byValue[v])
		}
		out = append(out, s)
	}
	return out
}

// Splits writes a table of how far the data reach into each stratum.
func Splits(p *terminal.Printer, splits []SplitSummary) {
	if len(splits) == 0 {
		p.Prose(terminal.Plain, "", "", "No stratum was counted. Ask for some with the setting strata, such as sill run --strata count,season.")
		return
	}
	right := func(format string, args ...any) terminal.Cell {
		return terminal.Cell{Text: fmt.Sprintf(format, args...), Right: true}
	}
	for _, s := range splits {
		p.Line(terminal.Bold, "%s · %s", s.Stratum, s.Title)
		if m := splitOf(s.Stratum).Meaning; m != "" {
			p.Prose(terminal.Dim, "", "", m)
		}
		t := &terminal.Table{}
		t.Add(terminal.Cell{}, terminal.Cell{Text: "cells", Style: terminal.Bold, Right: true}, terminal.Cell{Text: "too few", Style: terminal.Bold, Right: true},
			terminal.Cell{Text: "shown", Style: terminal.Bold, Right: true}, terminal.Cell{})
		for _, v := range s.Values {
			t.Add(terminal.Cell{Text: words.Spaced(v.Value)}, right("%s", words.Count(v.Cells)), right("%s", words.Count(v.TooFew)),
				right("%s", words.Count(v.Shown)), terminal.Cell{Text: ranOut(v), Style: terminal.Dim})
		}
		p.Table(t, 2)
		p.Blank()
	}
	p.Prose(terminal.Dim, "", "", "A cell is one matchup, pitch type, quality and outcome; it is shown where it has a threshold, an always, a never, or a change "+
		"along the quality. Each split has families of tests of its own: no other verdict depends on it. Read one with --stratum NAME.")
}

// ranOut says in words how a value of a stratum is off for data.
func ranOut(v valueSummary) string {
	switch {
	case v.TooFew == v.Cells:
		return "ran out of data everywhere"
	case 2*v.TooFew > v.Cells:
		return "ran out of data in most cells"
	}
	return ""
}

// SplitsSentence says in one line how far the data reach into a stratum.
func SplitsSentence(s SplitSummary) string {
	all := s.sum()
	text := fmt.Sprintf("By %s (--stratum %s): %s of %s too few", s.Title, s.Stratum, words.Count(all.TooFew), words.Plural(all.Cells, "cell"))
	var out []string
	for _, v := range s.Values {
		if ranOut(v) != "" {
			out = append(out, fmt.Sprintf("%s %s of %s", words.Spaced(v.Value), words.Count(v.TooFew), words.Count(v.Cells)))
		}
	}
	if len(out) > 0 {
		text += "; ran out of data: " + words.Commas(out)
	}
	return text
}

// splitLines are the rows of a board that are split by one stratum, to stand
// under the rows that are not.
type splitLines struct {
	name string
	full bool // every value is listed, with its rate
	rows map[lineKey][]BoardRow
}

// lineKey names a line of the board.
type lineKey struct {
	blockKey
	variable string
}

// values lists the values of the rows in their order, and the rows of each.
func (l *splitLines) values(k lineKey) (names []string, rows map[string][]BoardRow) {
	rows = map[string][]BoardRow{}
	for _, r := range l.rows[k] {
		names = appendNew(names, r.Stratum)
		rows[r.Stratum] = append(rows[r.Stratum], r)
	}
	orderValues(names)
	return names, rows
}

// add adds a line for each value under the line of a variable; where not all are
// wanted, those that tell something.
func (l *splitLines) add(t *terminal.Table, b *board, k lineKey, matchups, common []string) {
	names, rows := l.values(k)
	for _, n := range names {
		if l.full || slices.ContainsFunc(rows[n], shows) {
			t.Add(b.across("  "+valueTitle(n), rows[n], matchups, func(r BoardRow) terminal.Cell { return verdictCell(r, common) })...)
		}
	}
}

// addRates adds the rate of each value under the rate of all pitches.
func (l *splitLines) addRates(t *terminal.Table, b *board, k blockKey, matchups []string) {
	var all []BoardRow
	for key, rows := range l.rows {
		if key.blockKey == k {
			all = append(all, rows...)
		}
	}
	// A rate differs by variable where the variable is unknown for some pitches:
	// that of the first variable is shown, as it is for all pitches.
	slices.SortStableFunc(all, func(x, y BoardRow) int {
		place := rank(shape.Names(shape.Variables))
		return place[x.Variable] - place[y.Variable]
	})
	var names []string
	for _, r := range all {
		names = appendNew(names, r.Stratum)
	}
	orderValues(names)
	for _, n := range names {
		of := slices.DeleteFunc(slices.Clone(all), func(r BoardRow) bool { return r.Stratum != n })
		t.Add(b.across("  "+valueTitle(n), of, matchups, func(r BoardRow) terminal.Cell {
			c := wholeWords(r)
			c.Text += words.NoBreak + "(" + words.Count(r.Events) + ")"
			return c
		})...)
	}
}
