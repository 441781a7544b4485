package screen

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// listedPitches is how many pitches of pitchers who moved are printed unasked.
const listedPitches = 12

// Trend writes a trend for a person: the rows shown, and of the league what the
// filters leave.
func Trend(p *terminal.Printer, found *trend.Trend, shown, keep func(*trend.Row) bool, all bool) {
	p.Line(terminal.Bold, "%s → %s", found.From, found.To)
	p.Blank()
	p.Prose(terminal.Bold, "", "", found.Summary())
	for _, n := range found.Notes {
		p.Prose(terminal.Dim, "", "  ", "Note: "+n)
	}
	p.Blank()
	printShifts(p, found, keep)
	pitches := movers(found, shown)
	switch {
	case len(pitches) == 0:
		p.Line(terminal.Plain, "No pitcher moved among these pitch types and qualities; --all lists everyone.")
		p.Blank()
	case all:
	case len(pitches) > listedPitches:
		p.Prose(terminal.Dim, "", "", fmt.Sprintf("The %d pitches that moved farthest, of %s; --all lists everyone, --pitcher KEY one of them, --csv prints every row.", listedPitches, words.Count(int64(len(pitches)))))
		p.Blank()
		pitches = pitches[:listedPitches]
	}
	for _, m := range pitches {
		m.print(p)
	}
	if len(pitches) > 0 {
		p.Prose(terminal.Dim, "", "", "Values are drawn toward the league's, the more the fewer the events. Beside a change of an outcome without a word nothing is shown. "+
			"Expected is his own change times what goes with it from pitch to pitch inside the same pitcher, over the league's pitchers of his hand, against that side; "+
			"not shown: the league does not show what this change does, with 10 % false discoveries among all that it is asked.")
		p.Blank()
	}
	printLaws(p, found, keep)
	printRelabelled(p, found)
	p.Prose(terminal.Plain, "", "", found.Caution())
}

// mover is one pitcher's pitch type with the qualities that are shown of it.
type mover struct {
	rows     []*trend.Row
	farthest float64 // change of his own over the smallest of interest, at most
}

// movers gathers rows by pitcher and pitch type, the farthest first.
func movers(found *trend.Trend, shown func(*trend.Row) bool) []*mover {
	var out []*mover
	at := map[[3]string]*mover{}
	for i := range found.Rows {
		r := &found.Rows[i]
		if !shown(r) {
			continue
		}
		k := [3]string{r.Pitcher, r.Hand, r.PitchType}
		m := at[k]
		if m == nil {
			m = &mover{}
			at[k] = m
			out = append(out, m)
		}
		m.rows = append(m.rows, r)
		if r.Own != nil {
			m.farthest = max(m.farthest, math.Abs(*r.Own)/r.Smallest)
		}
	}
	slices.SortStableFunc(out, func(a, b *mover) int { return cmp.Compare(b.farthest, a.farthest) })
	return out
}

// print writes the qualities of a pitch, and its outcomes with what the quality that
// moved farthest lets expect.
func (m *mover) print(p *terminal.Printer) {
	first := m.rows[0]
	p.Line(terminal.Bold, "%s, %s-handed · %s", first.Pitcher, first.Hand, TypeTitle(first.PitchType))
	t := &terminal.Table{Fit: 1}
	t.Add(terminal.Cell{Text: "quality", Style: terminal.Dim}, terminal.Cell{Text: "before", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "after", Style: terminal.Dim, Right: true},
		terminal.Cell{Text: "change", Style: terminal.Dim}, terminal.Cell{Text: "of it his own", Style: terminal.Dim}, terminal.Cell{})
	seen := ""
	for _, r := range m.rows {
		if r.Variable == seen {
			continue
		}
		seen = r.Variable
		v := variableOf(r.Variable, r.Unit)
		at := quantity(v)
		by := func(x float64) string { return words.Signed(x, v.Decimals) }
		said := map[string]string{trend.Moved: "moved", trend.Stayed: "stayed", trend.CannotTell: "cannot tell", trend.TooFew: "too few swings"}[r.Verdict]
		name := v.Title
		if v.Unit != "" {
			name += "," + words.NoBreak + v.Unit
		}
		t.Add(terminal.Cell{Text: name}, terminal.Cell{Text: words.OrDash(r.Before, at), Right: true}, terminal.Cell{Text: words.OrDash(r.After, at), Right: true},
			terminal.Cell{Text: solid(withLimits(r.Change, r.ChangeLo, r.ChangeHi, by))}, terminal.Cell{Text: solid(withLimits(r.Own, r.OwnLo, r.OwnHi, by))}, terminal.Cell{Text: r.Told(said)})
	}
	p.Table(t, 2)
	main := m.main()
	out := &terminal.Table{Fit: 1}
	out.Add(terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "before", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "after", Style: terminal.Dim, Right: true},
		terminal.Cell{Text: "change", Style: terminal.Dim}, terminal.Cell{}, terminal.Cell{Text: "expected from " + solid(variableOf(main, "").Title), Style: terminal.Dim})
	for _, r := range m.rows {
		if r.Variable != main {
			continue
		}
		went := map[string]string{trend.Rose: "rose", trend.Fell: "fell", trend.TooFew: solid("too few")}[r.Went]
		if r.Went == trend.NotShown && words.Apart(r.RateDLo, r.RateDHi) {
			went = "not shown"
		}
		went = r.ToldOutcome(went)
		out.Add(terminal.Cell{Text: strings.NewReplacer(" rate", "", "-against", "").Replace(metricOf(r.Outcome).Title) + " v" + words.NoBreak + r.Side}, terminal.Cell{Text: words.OrDash(r.RateA, words.Rate), Right: true}, terminal.Cell{Text: words.OrDash(r.RateB, words.Rate), Right: true},
			terminal.Cell{Text: solid(withLimits(r.RateD, r.RateDLo, r.RateDHi, words.SignedRate))}, terminal.Cell{Text: went}, terminal.Cell{Text: expectation(r)})
	}
	p.Table(out, 2)
	p.Blank()
}

// expectation writes what the league lets expect of an outcome.
func expectation(r *trend.Row) string {
	if r.Expects == trend.NotShown {
		return solid("not shown")
	}
	return solid(withLimits(r.Expect, r.ExpectLo, r.ExpectHi, words.SignedRate))
}

// main is the quality that moved farthest, by its smallest change of interest.
func (m *mover) main() string {
	best, farthest := m.rows[0].Variable, -1.0
	for _, r := range m.rows {
		if r.Own != nil && math.Abs(*r.Own)/r.Smallest > farthest {
			best, farthest = r.Variable, math.Abs(*r.Own)/r.Smallest
		}
	}
	return best
}

// withLimits writes a number with its interval, a dash where there is none.
func withLimits(x, lo, hi *float64, format func(float64) string) string {
	if x == nil {
		return "–"
	}
	return format(*x) + " " + words.Interval(lo, hi, format)
}

// solid keeps a text on one line.
func solid(s string) string { return strings.ReplaceAll(s, " ", words.NoBreak) }

// printShifts writes what the league moved by in common, where it is worth a look.
func printShifts(p *terminal.Printer, found *trend.Trend, keep func(*trend.Row) bool) {
	t := &terminal.Table{Fit: 2}
	t.Add(terminal.Cell{Text: "pitch", Style: terminal.Dim}, terminal.Cell{Text: "quality", Style: terminal.Dim}, terminal.Cell{Text: "the league", Style: terminal.Dim}, terminal.Cell{Text: "pitchers", Style: terminal.Dim, Right: true}, terminal.Cell{})
	for _, s := range found.Shifts {
		if s.Shift == nil || math.Abs(*s.Shift) < s.Smallest/2 || *s.ShiftLo <= 0 && *s.ShiftHi >= 0 ||
			!keepsLeague(found, keep, s) {
			continue
		}
		v := variableOf(s.Variable, s.Unit)
		by := func(x float64) string { return words.Signed(x, v.Decimals) }
		note := ""
		if s.Suspect {
			note = "check the instruments"
		}
		pitch := TypeTitle(s.PitchType)
		if s.Hand != "" {
			pitch += " of " + s.Hand + "-handers"
		}
		t.Add(terminal.Cell{Text: pitch}, terminal.Cell{Text: v.Title}, terminal.Cell{Text: solid(words.WithUnit(by(*s.Shift), v.Unit) + " " + words.Interval(s.ShiftLo, s.ShiftHi, by))},
			terminal.Cell{Text: words.Count(s.Pitchers), Right: true}, terminal.Cell{Text: note})
	}
	if len(t.Rows) == 1 {
		p.Prose(terminal.Plain, "", "", "The league as a whole stayed where it was: within the same pitchers, no quality of a pitch type shifted by half the smallest change of interest.")
		p.Blank()
		return
	}
	p.Line(terminal.Bold, "What the league moved by in common, within the same pitchers")
	p.Table(t, 2)
	p.Prose(terminal.Dim, "  ", "", "Pitchers are judged by what they moved beyond that.")
	p.Blank()
}

// keepsLeague tells whether the filters leave any row that a shift is told of.
func keepsLeague(found *trend.Trend, keep func(*trend.Row) bool, s trend.Shift) bool {
	return slices.ContainsFunc(found.Rows, func(r trend.Row) bool {
		return r.PitchType == s.PitchType && r.Variable == s.Variable && (s.Hand == "" || s.Hand == r.Hand) && keep(&r)
	})
}

// printLaws writes how outcomes went with the qualities in which most pitchers moved.
func printLaws(p *terminal.Printer, found *trend.Trend, keep func(*trend.Row) bool) {
	moved := map[[2]string]int64{}
	for _, s := range found.Shifts {
		moved[[2]string{s.PitchType, s.Variable}] += s.Moved
	}
	laws := slices.DeleteFunc(slices.Clone(found.Laws), func(l trend.Law) bool {
		return moved[[2]string{l.PitchType, l.Variable}] == 0 || l.Changes == nil || !slices.ContainsFunc(found.Rows, func(r trend.Row) bool {
			return r.PitchType == l.PitchType && r.Variable == l.Variable && r.Outcome == l.Outcome && keep(&r)
		})
	})
	if len(laws) == 0 {
		return
	}
	slices.SortStableFunc(laws, func(a, b trend.Law) int {
		return cmp.Compare(moved[[2]string{b.PitchType, b.Variable}], moved[[2]string{a.PitchType, a.Variable}])
	})
	laws = laws[:min(len(laws), 8)]
	p.Line(terminal.Bold, "What goes with a change, over the whole league")
	t := &terminal.Table{Fit: 1}
	t.Add(terminal.Cell{Text: "pitch, and what there is more of", Style: terminal.Dim}, terminal.Cell{Text: "outcome", Style: terminal.Dim}, terminal.Cell{Text: "from window to window", Style: terminal.Dim}, terminal.Cell{Text: "from pitch to pitch", Style: terminal.Dim})
	for _, l := range laws {
		v := variableOf(l.Variable, l.Unit)
		by := func(x float64) string { return words.SignedRate(x * step(v)) }
		t.Add(terminal.Cell{Text: TypeTitle(l.PitchType) + ", " + solid(words.WithUnit(tickLabel(step(v), 4), v.Unit)) + " " + v.Title}, terminal.Cell{Text: solid(metricOf(l.Outcome).Title)},
			terminal.Cell{Text: solid(withLimits(l.Changes, l.ChangesLo, l.ChangesHi, by))}, terminal.Cell{Text: solid(withLimits(l.Within, l.WithinLo, l.WithinHi, by))})
	}
	p.Table(t, 2)
	p.Prose(terminal.Dim, "  ", "", "From window to window: how the outcome changed with the quality over all pitchers in both. From pitch to pitch: inside the same pitcher and window, which is what is expected above.")
	p.Blank()
}

// step is a change of a variable in whose unit a rate stays readable.
func step(v shape.Variable) float64 {
	if v.Width == 0 {
		return 1
	}
	return v.Width
}

// printRelabelled names pitches that probably changed their name only.
func printRelabelled(p *terminal.Printer, found *trend.Trend) {
	if len(found.Relabelled) == 0 {
		return
	}
	p.Line(terminal.Bold, "Pitches that probably got another name")
	t := &terminal.Table{Fit: 2}
	for i, r := range found.Relabelled {
		if i == listedPitches {
			p.Table(t, 2)
			t = &terminal.Table{}
			p.Prose(terminal.Dim, "  ", "", fmt.Sprintf("and %d more; --json lists them", len(found.Relabelled)-i))
			break
		}
		t.Add(terminal.Cell{Text: r.Pitcher + ", " + r.Hand + "-handed"}, terminal.Cell{Text: fmt.Sprintf("%s (%s of his pitches) is now %s (%s), at the same speed and break",
			TypeTitle(r.From), words.Percent(r.ShareA), TypeTitle(r.To), words.Percent(r.ShareB))})
	}
	p.Table(t, 2)
	p.Blank()
}
