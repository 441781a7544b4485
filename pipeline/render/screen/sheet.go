package screen

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/grade"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// listed pitchers, where not all are asked for.
const gradesShown = 20

// Grades lists pitchers, those with most pitches first.
func Grades(p *terminal.Printer, r *grade.Report, all bool) {
	type line struct {
		who     grade.Who
		pitches int64
		types   map[string]int64
	}
	var lines []*line
	by := map[[2]string]*line{}
	for i := range r.Arsenal {
		a := &r.Arsenal[i]
		k := [2]string{a.Pitcher, a.Hand}
		if by[k] == nil {
			by[k] = &line{who: a.Who, types: map[string]int64{}}
			lines = append(lines, by[k])
		}
		by[k].pitches += a.Pitches
		by[k].types[a.PitchType] += a.Pitches
	}
	slices.SortStableFunc(lines, func(a, b *line) int { return cmp.Compare(b.pitches, a.pitches) })
	p.Prose(terminal.Bold, "", "", fmt.Sprintf("%s of %s, graded by %s", words.Plural(int64(len(lines)), "pitcher"), r.League, r.Yardstick))
	printNotes(p, r)
	p.Blank()
	t := &terminal.Table{Fit: 4}
	t.Add(terminal.Cell{Text: "pitcher", Style: terminal.Dim}, terminal.Cell{Text: "hand", Style: terminal.Dim}, terminal.Cell{Text: "pitches", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "throws", Style: terminal.Dim},
		terminal.Cell{Text: "wOBA gap, other hand less own", Style: terminal.Dim})
	t.Limit = []int{0, 0, 0, 0, 24}
	for i, l := range lines {
		if !all && i == gradesShown {
			break
		}
		var types []string
		for _, name := range byCount(l.types) {
			types = append(types, strings.ReplaceAll(TypeTitle(name)+" "+words.Percent(float64(l.types[name])/float64(l.pitches)), " ", words.NoBreak))
		}
		t.Add(terminal.Cell{Text: l.who.Pitcher}, terminal.Cell{Text: l.who.Hand}, terminal.Cell{Text: words.Count(l.pitches), Right: true}, terminal.Cell{Text: words.Commas(types)},
			terminal.Cell{Text: strings.ReplaceAll(gapCell(r, l.who), " ", words.NoBreak)})
	}
	p.Table(t, 0)
	p.Blank()
	if n := len(lines) - gradesShown; n > 0 && !all {
		p.Prose(terminal.Plain, "", "", fmt.Sprintf("And %d more: --all lists them, --csv and --json hold every row.", n))
	}
	p.Prose(terminal.Plain, "", "", "A gap above 0: batters of the pitcher's own hand do worse against him. `sill grade PITCHER` prints one pitcher's sheet.")
	p.Prose(terminal.Plain, "", "", grade.Caution)
}

// byCount orders types by their pitches.
func byCount(types map[string]int64) []string {
	var names []string
	for name, n := range types {
		if name != "" && n > 0 {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Or(cmp.Compare(types[b], types[a]), pitch.CompareTypes(a, b)) })
	return names
}

func gapCell(r *grade.Report, who grade.Who) string {
	for i := range r.Platoon {
		g := &r.Platoon[i]
		if g.Pitcher == who.Pitcher && g.Hand == who.Hand && g.PitchType == "" && g.Outcome == outcome.Metrics[outcome.WOBA].Name {
			if g.Gap == nil {
				return "too few"
			}
			return words.SignedRate(*g.Gap) + " " + words.Interval(g.GapLo, g.GapHi, words.SignedRate)
		}
	}
	return ""
}

func printNotes(p *terminal.Printer, r *grade.Report) {
	for _, n := range r.Notes {
		p.Prose(terminal.Plain, "", "  ", "Note: "+n)
	}
}

// sides of a sheet: batters of the two hands.
var sides = []struct{ word, title string }{{"left", "left-handed batters"}, {"right", "right-handed batters"}}

// Sheet writes the sheet of the one pitcher that a report holds.
func Sheet(p *terminal.Printer, r *grade.Report) {
	for _, hand := range pitch.Words("hand") {
		rows := r.Arsenal
		rows = slices.DeleteFunc(slices.Clone(rows), func(a grade.Arsenal) bool { return a.Hand != hand })
		if len(rows) > 0 {
			printHand(p, r, hand, rows)
		}
	}
}

func printHand(p *terminal.Printer, r *grade.Report, hand string, rows []grade.Arsenal) {
	types, all := map[string]int64{}, int64(0)
	for i := range rows {
		types[rows[i].PitchType] += rows[i].Pitches
		all += rows[i].Pitches
	}
	title := fmt.Sprintf("%s, %s-handed: %s pitches", rows[0].Pitcher, hand, words.Count(all))
	if r.League != r.Yardstick {
		title += " in " + r.League
	}
	p.Prose(terminal.Bold, "", "", title+", graded by "+r.Yardstick)
	printNotes(p, r)
	p.Blank()
	for _, s := range sides {
		printUsage(p, r, rows, s.word, s.title)
	}
	printGap(p, r, hand)
	p.Prose(terminal.Plain, "", "", grade.UsageCaution)
	p.Blank()
	if slices.ContainsFunc(r.Qualities, func(q grade.Quality) bool { return q.Hand == hand && shownOnSheet(&q) }) {
		p.Prose(terminal.Dim, "", "", "Below: of each quality that has a breakpoint, where his own lies among like pitchers (percentile), which part of his pitches surely beats the line (good) or "+
			"falls behind it (bad), and what the league's curve expects at his pitches: as a rate over the line, in standard deviations between like pitchers from their mean (SD) and as a "+
			"percentile among them, with what the 95 % limits of the curve make of both. Like pitchers throw that pitch with that hand against that side.")
		p.Blank()
	}
	for i, name := range byCount(types) {
		if i > 0 {
			p.Blank()
		}
		p.Prose(terminal.Bold, "", "", fmt.Sprintf("%s · %s of his pitches", TypeTitle(name), words.Percent(float64(types[name])/float64(all))))
		printType(p, r, hand, name, rows)
	}
	p.Blank()
	if slices.ContainsFunc(rows, func(a grade.Arsenal) bool { return a.Below != nil || a.OffArm != nil }) {
		p.Prose(terminal.Plain, "", "", grade.LocationCaution)
	}
	p.Prose(terminal.Plain, "", "", grade.Caution)
}

// printUsage writes what came of the arsenal against one side.
func printUsage(p *terminal.Printer, r *grade.Report, rows []grade.Arsenal, side, title string) {
	woba, whiff := outcome.Metrics[outcome.WOBA], outcome.Metrics[outcome.Whiff]
	u := grade.RankOf(rows, r.Pairs, side, woba.Name)
	lines := slices.Concat(u.Ranked, u.Without)
	if len(lines) == 0 {
		return
	}
	p.Prose(terminal.Bold, "", "", "Against "+title+", lowest wOBA first")
	t := &terminal.Table{}
	head := []terminal.Cell{{}, {Text: "thrown", Style: terminal.Dim, Right: true}}
	early := slices.ContainsFunc(lines, func(a *grade.Arsenal) bool { return a.EarlyShare != nil })
	late := slices.ContainsFunc(lines, func(a *grade.Arsenal) bool { return a.TwoStrikeShare != nil })
	if early {
		head = append(head, terminal.Cell{Text: "early", Style: terminal.Dim, Right: true})
	}
	if late {
		head = append(head, terminal.Cell{Text: "two strikes", Style: terminal.Dim, Right: true})
	}
	t.Add(append(head, terminal.Cell{Text: woba.Title, Style: terminal.Dim}, terminal.Cell{Text: whiff.Title, Style: terminal.Dim})...)
	for _, a := range lines {
		line := []terminal.Cell{{Text: TypeTitle(a.PitchType)}, {Text: grade.Percent(a.Share), Right: true}}
		if early {
			line = append(line, terminal.Cell{Text: words.OrDash(a.EarlyShare, grade.Percent), Right: true})
		}
		if late {
			line = append(line, terminal.Cell{Text: words.OrDash(a.TwoStrikeShare, grade.Percent), Right: true})
		}
		t.Add(append(line, terminal.Cell{Text: rateWords(a.WOBA, a.WOBALo, a.WOBAHi)}, terminal.Cell{Text: rateWords(a.Whiff, a.WhiffLo, a.WhiffHi)})...)
	}
	p.Table(t, 2)
	for _, m := range []outcome.Metric{woba, whiff} {
		if s := grade.RankOf(rows, r.Pairs, side, m.Name).Verdict; s != "" {
			p.Prose(terminal.Plain, "  ", "  ", "By "+m.Title+", "+s)
		}
	}
	if s := expected(r, lines); s != "" {
		p.Prose(terminal.Plain, "  ", "  ", "What the league's curves expect of single qualities, in whiffs over the line: "+s+".")
	}
	p.Blank()
}

// expected says of each pitch which of its qualities the curves expect most of, and
// least. They are not to be added up: qualities travel together.
func expected(r *grade.Report, lines []*grade.Arsenal) string {
	var out []string
	for _, a := range lines {
		var best, worst *grade.Quality
		for i := range r.Qualities {
			q := &r.Qualities[i]
			if q.Who != a.Who || q.Side != a.Side || q.Outcome != outcome.Metrics[outcome.Whiff].Name || q.Advantage == nil || !shownOnSheet(q) {
				continue
			}
			if *q.Advantage > 0 && (best == nil || *q.Advantage > *best.Advantage) {
				best = q
			}
			if *q.Advantage < 0 && (worst == nil || *q.Advantage < *worst.Advantage) {
				worst = q
			}
		}
		var parts []string
		for _, q := range []*grade.Quality{best, worst} {
			if q != nil {
				parts = append(parts, words.SignedRate(*q.Advantage)+words.NoBreak+"by "+variableOf(q.Variable, q.Unit).Title)
			}
		}
		if len(parts) > 0 {
			out = append(out, TypeTitle(a.PitchType)+" "+strings.Join(parts, " and "))
		}
	}
	return strings.Join(out, "; ")
}

func rateWords(x, lo, hi *float64) string {
	if x == nil {
		return "too few"
	}
	return words.Rate(*x) + " " + words.Interval(lo, hi, words.Rate)
}

// printGap says how the pitcher does against batters of his own and the other hand.
func printGap(p *terminal.Printer, r *grade.Report, hand string) {
	for i := range r.Platoon {
		g := &r.Platoon[i]
		if g.Hand != hand || g.PitchType != "" || g.Outcome != outcome.Metrics[outcome.WOBA].Name {
			continue
		}
		if g.Gap == nil {
			p.Prose(terminal.Plain, "", "", "Platoon gap: too few plate appearances on one side.")
			return
		}
		said := map[string]string{grade.BetterSame: "he does better against batters of his own hand", grade.BetterOther: "he does better against batters of the other hand",
			grade.NotShown: "no difference is shown"}[g.Verdict]
		text := fmt.Sprintf("Platoon gap in wOBA, batters of the other hand less those of his own: %s %s; %s.", words.SignedRate(*g.Gap), words.Interval(g.GapLo, g.GapHi, words.SignedRate), said)
		if g.GapOfLike != nil {
			text += fmt.Sprintf(" The mean of %s-handed pitchers is %s.", hand, words.SignedRate(*g.GapOfLike))
		}
		p.Prose(terminal.Plain, "", "", text)
		return
	}
}

// printType writes the block of one pitch type: its qualities, and where it went.
func printType(p *terminal.Printer, r *grade.Report, hand, name string, rows []grade.Arsenal) {
	const label = 24
	t := &terminal.Table{Limit: []int{label, (p.Width - label - 2*len(terminal.Gap)) / 2, (p.Width - label - 2*len(terminal.Gap)) / 2}}
	t.Add(terminal.Cell{}, terminal.Cell{Text: sides[0].title, Style: terminal.Dim}, terminal.Cell{Text: sides[1].title, Style: terminal.Dim})
	var told []*grade.Quality
	for _, v := range shape.Names(shape.Variables) {
		var pinned []*grade.Quality
		sum, n := 0.0, 0.0
		for i := range r.Qualities {
			q := &r.Qualities[i]
			if q.Hand != hand || q.PitchType != name || q.Variable != v || q.Mean == nil {
				continue
			}
			sum += *q.Mean * float64(q.Pitches)
			n += float64(q.Pitches)
			if shownOnSheet(q) {
				pinned = append(pinned, q)
			}
		}
		if len(pinned) == 0 {
			continue
		}
		told = append(told, pinned...)
		line := []terminal.Cell{{Text: variableOf(v, "").Title + ", " + grade.Value(v, sum/n)}}
		for _, s := range sides {
			line = append(line, terminal.Cell{Text: qualityWords(pinned, s.word)})
		}
		t.Add(line...)
	}
	if len(told) == 0 {
		p.Prose(terminal.Plain, "  ", "", "None of its qualities has a confirmed breakpoint, or too few were thrown.")
	}
	place := func(label string, of func(a *grade.Arsenal) string) {
		line := []terminal.Cell{{Text: label}}
		for _, s := range sides {
			text := ""
			for i := range rows {
				if rows[i].Side == s.word && rows[i].PitchType == name {
					text = of(&rows[i])
				}
			}
			line = append(line, terminal.Cell{Text: text})
		}
		if line[1].Text+line[2].Text != "" {
			t.Add(line...)
		}
	}
	place("went: height of the zone", func(a *grade.Arsenal) string {
		return places([]string{"below", "lower", "middle", "upper", "above"}, a.Below, a.Lower, a.Middle, a.Upper, a.Above)
	})
	place("went: across the plate", func(a *grade.Arsenal) string {
		return places([]string{"off glove side", "glove", "middle", "arm", "off arm side"}, a.OffGlove, a.Glove, a.Centre, a.Arm, a.OffArm)
	})
	if len(t.Rows) > 1 {
		p.Table(t, 0)
	}
	for _, q := range telling(told) {
		p.Prose(terminal.Plain, "  ", "  ", "Against "+sideTitle(q.Side)+": "+q.Sentence)
	}
}

// shownOnSheet tells whether a quality has a breakpoint and so a line on the sheet;
// where a pitch went has lines of its own.
func shownOnSheet(q *grade.Quality) bool {
	return q.Breakpoint != nil && !strings.HasPrefix(q.Variable, "plate_")
}

func sideTitle(side string) string {
	for _, s := range sides {
		if s.word == side {
			return s.title
		}
	}
	return side
}

// telling picks the sentences of a block: the qualities whose curves expect most, for
// good or ill, one for each variable and two in all.
func telling(all []*grade.Quality) []*grade.Quality {
	var out []*grade.Quality
	list := slices.DeleteFunc(slices.Clone(all), func(q *grade.Quality) bool { return q.Advantage == nil })
	slices.SortStableFunc(list, func(a, b *grade.Quality) int { return cmp.Compare(math.Abs(*b.Advantage), math.Abs(*a.Advantage)) })
	for _, q := range list {
		if len(out) < 2 && !slices.ContainsFunc(out, func(o *grade.Quality) bool { return o.Variable == q.Variable }) {
			out = append(out, q)
		}
	}
	return out
}

func places(names []string, shares ...*float64) string {
	var parts []string
	for i, s := range shares {
		if s == nil {
			return ""
		}
		parts = append(parts, strings.ReplaceAll(names[i]+" "+words.Number(100**s, 0), " ", words.NoBreak))
	}
	return words.Commas(parts) + words.NoBreak + "%"
}

// qualityWords says in a cell how one quality fares against one side, a line for
// each outcome with a breakpoint.
func qualityWords(list []*grade.Quality, side string) string {
	var lines []string
	for _, q := range list {
		if q.Side != side {
			continue
		}
		if len(lines) == 0 {
			lines = append(lines, q.Among())
		}
		kind := map[string]string{outcome.Metrics[outcome.Whiff].Name: "whiffs", outcome.Metrics[outcome.WOBA].Name: "wOBA", thresholds.Joint: "both"}[q.Outcome]
		parts := []string{kind + " " + grade.Percent(*q.CertainShare) + " good"}
		if *q.BehindShare >= .005 {
			parts = append(parts, grade.Percent(*q.BehindShare)+" bad")
		}
		if q.Advantage != nil {
			parts = append(parts, words.SignedRate(*q.Advantage))
		}
		for _, c := range words.Marks(q.Warnings) {
			parts = append(parts, c.Word)
		}
		for i := range parts {
			parts[i] = strings.ReplaceAll(parts[i], " ", words.NoBreak)
		}
		lines = append(lines, strings.Join(parts, ", "))
		if s := q.Standing(); q.Advantage != nil && s != "" {
			lines = append(lines, s)
		}
	}
	return strings.Join(lines, "\n")
}
