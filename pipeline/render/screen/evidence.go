package screen

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// Evidence is all that a version holds about one threshold.
type Evidence struct {
	League    string                  `json:"league"`
	Version   string                  `json:"version"`
	Verdict   BoardRow                `json:"verdict"`
	Others    []BoardRow              `json:"others" doc:"the other outcomes of the same pitches against the same line, both at once among them"`
	Line      *thresholds.Reference   `json:"line"`
	Curve     []thresholds.CurvePoint `json:"curve"`
	Bins      []thresholds.Bin        `json:"bins"`
	Contrasts []thresholds.Contrast   `json:"contrasts"`
	Slope     *thresholds.Slope       `json:"slope" doc:"how much of the pattern is seen inside the same pitcher; null where the version does not tell"`
	Tested    *thresholds.Tested      `json:"tested" doc:"what was tested together with it; null where the version does not tell the families"`
	Warnings  []thresholds.Warning    `json:"warnings"`
}

// Gather collects the evidence for a selection of exactly one threshold; nil where
// the version has no row on it.
func Gather(league, version string, tables *thresholds.Tables, manifest thresholds.Manifest, s Selection) *Evidence {
	b := NewBoard(tables, s)
	if len(b.Rows) == 0 {
		return nil
	}
	r := b.Rows[0]
	s.Outcomes, s.Verdicts = nil, nil
	others := slices.DeleteFunc(NewBoard(tables, s).Rows, func(o BoardRow) bool { return o.Outcome == r.Outcome })
	e := &Evidence{League: league, Version: version, Verdict: r, Others: append([]BoardRow{}, others...),
		Curve: []thresholds.CurvePoint{}, Bins: []thresholds.Bin{}, Contrasts: []thresholds.Contrast{}, Warnings: []thresholds.Warning{}}
	for _, c := range tables.Curves {
		if c.Key == r.Key && c.Reference == r.Reference {
			e.Curve = append(e.Curve, c)
		}
	}
	codes := slices.Clone(r.Warnings)
	for _, bin := range tables.Bins {
		if bin.Key == r.Key {
			e.Bins = append(e.Bins, bin)
			for _, w := range bin.Warnings {
				codes = appendNew(codes, w)
			}
		}
	}
	for _, c := range tables.Contrasts {
		if concerns(c, r) {
			e.Contrasts = append(e.Contrasts, c)
		}
	}
	for i, ref := range tables.References {
		if ref.Reference == r.Reference && ref.Outcome == r.Outcome && (ref.PitchType == r.PitchType || ref.PitchType == "") &&
			(ref.Hand == r.Hand || ref.Hand == "") && (ref.Side == r.Side || ref.Side == "") {
			e.Line = &tables.References[i]
		}
	}
	for i := range tables.Slopes {
		if tables.Slopes[i].Key == r.Key {
			e.Slope = &tables.Slopes[i]
		}
	}
	e.Tested = manifest.TestedWith(r.Stratum)
	for _, code := range codes {
		e.Warnings = append(e.Warnings, warningOf(code, manifest))
	}
	return e
}

// concerns tells whether a contrast of breakpoints has the row as one side.
func concerns(c thresholds.Contrast, r BoardRow) bool {
	first := c.HandA == r.Hand && c.SideA == r.Side && c.TypeA == r.PitchType
	second := c.HandB == r.Hand && c.SideB == r.Side && c.TypeB == r.PitchType
	return (first || second) && c.Stratum == r.Stratum && c.Variable == r.Variable && c.Outcome == r.Outcome &&
		(c.Reference == r.Reference || c.Reference == "")
}

// Print writes the evidence for a person.
func (e *Evidence) Print(p *terminal.Printer) {
	r := e.Verdict
	v, m := variableOf(r.Variable, r.Unit), metricOf(r.Outcome)
	matchup := words.Matchup(r.Key.Hand, r.Key.Side)
	title := []string{TypeTitle(r.PitchType), matchup, v.Title, m.Title}
	if r.Stratum != "" {
		title = append(title, stratumTitle(r.Stratum))
	}
	p.Line(terminal.Bold, "%s", strings.Join(title, " · "))
	p.Line(terminal.Dim, "%s %s", e.League, e.Version)
	p.Blank()
	p.Prose(terminal.Bold, "", "", e.answer(v))
	for _, why := range e.why(v) {
		p.Prose(terminal.Plain, "", "", why)
	}
	p.Blank()
	if lines := e.chart(v).Render(p, 12, matchupStyle(matchup)); lines != nil {
		p.Lines(lines)
		p.Prose(terminal.Dim, "", "", e.key(p))
		p.Blank()
	}
	e.facts(p, v)
	e.sure(p, v)
	e.slopes(p, v)
	e.binTable(p, v)
	e.contrasts(p, v)
	e.caveats(p)
	p.Prose(terminal.Plain, "", "", caution)
}

// answer says in one sentence what the verdict is.
func (e *Evidence) answer(v shape.Variable) string {
	r := e.Verdict
	who, its := fmt.Sprintf("the %s %s", TypeTitle(r.PitchType), metricOf(r.Outcome).Title), "the line"
	if r.Outcome == thresholds.Joint {
		who, its = "the "+TypeTitle(r.PitchType), "both lines"
	}
	format := quantity(v)
	united := func(x float64) string { return words.WithUnit(format(x), v.Unit) }
	var where []string
	for _, sign := range []int64{1, -1} {
		for _, z := range r.Zones {
			if z.Sign != sign || sign < 0 && len(where) > 0 {
				continue
			}
			words := inline(zoneWords(z, united, format))
			if strings.HasPrefix(words, "≥") || strings.HasPrefix(words, "≤") {
				words = "at " + words
			}
			if sign > 0 {
				where = append(where, "beats "+its+" "+words)
			} else {
				where = append(where, "falls behind the line "+words)
			}
		}
	}
	edges := ""
	if zonesShown(&r.Verdict, r.Zones) {
		edges = strings.Join(where, " and ")
	}
	switch r.Verdict.Verdict {
	case locate.Found:
		return sentence(who + " " + edges)
	case locate.AlwaysBeats:
		return sentence(who + " beats " + its + " over " + breadth(r) + ", " + words.ExceptSliver + join("; yet it ", edges))
	case locate.NeverBeats:
		return sentence(who + " stays behind the line over " + breadth(r) + ", " + words.ExceptSliver + join("; yet it ", edges))
	case locate.EdgeUnresolved:
		if r.Outcome == thresholds.Joint {
			return sentence(who + " changes along " + v.Title + " in both outcomes, but no stretch is shown to beat both lines")
		}
		return sentence(who + " changes along " + v.Title + ", but where it passes the line cannot be told")
	case locate.TooFew:
		if r.Untyped() {
			return "No verdict."
		}
		return "Too few pitches or pitchers for a verdict."
	}
	return sentence("no threshold could be shown for " + who + " along " + v.Title)
}

func join(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}

func breadth(r BoardRow) string {
	if r.Everywhere {
		return "every value seen"
	}
	return "the central 90 % of the pitches thrown"
}

// why says what the verdict rests on.
func (e *Evidence) why(v shape.Variable) []string {
	r := e.Verdict
	var out []string
	if r.Q != nil && r.P != nil {
		out = append(out, sentence(fmt.Sprintf("if the rate did not depend on %s at all, a curve this uneven would turn up with probability %s; "+
			"after allowing for all tests of the table q is %s, %s the limit of .100", v.Title, words.Probability(*r.P), words.Probability(*r.Q), within(*r.Q))))
		if t := e.Tested; t != nil && r.FamilyQ != nil {
			out = append(out, sentence(e.family(v)))
		}
	}
	if r.Outcome == thresholds.Joint {
		out = append(out, "This follows from the two outcomes below and adds no test: a breakpoint of both is the further of theirs, "+
			"and its limits hold where each of theirs does.")
		if r.Settle != "" {
			out = append(out, sentence(r.Settle))
		}
		return out
	}
	switch r.Verdict.Verdict {
	case locate.Found:
		out = append(out, "On one side of each edge some stretch has its 95 % interval ahead of the line, on the other one behind it.")
	case locate.EdgeUnresolved:
		out = append(out, "No stretch with its 95 % interval ahead of the line neighbours one with its interval behind it.")
	case locate.AlwaysBeats, locate.NeverBeats:
		out = append(out, "Every stretch that holds a tenth of the "+metricOf(r.Outcome).Events+
			", but for the last fortieth at either end, has a rate beyond the line by more than chance explains.")
	}
	if r.Settle != "" {
		out = append(out, sentence(r.Settle))
	}
	return out
}

// within says on which side of the limit a q lies.
func within(q float64) string {
	if q <= .10 {
		return "within"
	}
	return "beyond"
}

// family says how the tests of the row's quality and outcome fare as a whole.
func (e *Evidence) family(v shape.Variable) string {
	r, t := e.Verdict, e.Tested
	s := fmt.Sprintf("all cells of %s and %s together have q %s, %s the limit", v.Title, metricOf(r.Outcome).Title, words.Probability(*r.FamilyQ), within(*r.FamilyQ))
	of := fmt.Sprintf("%d of the %d families (a quality and an outcome each)", t.Selected, t.Families)
	if *r.FamilyQ > .10 {
		return s + ", so that none of them is said to change; " + of + " are within it"
	}
	return s + ", as " + of + " do; the fewer these are, the more strictly single cells are judged"
}

// facts writes the numbers behind the verdict.
func (e *Evidence) facts(p *terminal.Printer, v shape.Variable) {
	r := e.Verdict
	m := metricOf(r.Outcome)
	t := &terminal.Table{Fit: 2}
	fact := func(name, format string, values ...any) {
		t.Add(terminal.Cell{Text: name, Style: terminal.Bold}, terminal.Cell{Text: fmt.Sprintf(format, values...)})
	}
	for _, o := range e.Others {
		fact(words.OutcomeOf(o.Outcome).Short, "%s", otherFact(o))
	}
	switch {
	case r.Outcome == thresholds.Joint:
		fact("lines", "%s", words.Line(r.Reference))
	case r.Line == nil:
		fact("line", "none: fewer than 5 qualified pitchers (%s)", words.Line(r.Reference))
	default:
		text := fmt.Sprintf("%s %s: %s, %s qualified", words.Rate(*r.Line), words.Interval(r.LineLo, r.LineHi, words.Rate), words.Line(r.Reference), words.Plural(r.Qualified, "pitcher"))
		if e.Line != nil && e.Line.RateMinusMedian != nil {
			text += fmt.Sprintf("; pooled rate less median %s", words.SignedRate(*e.Line.RateMinusMedian))
		}
		fact("line", "%s", text)
	}
	if r.Level != nil {
		verdict := map[string]string{locate.Above: "better than the line", locate.Below: "worse than the line"}[r.LevelVerdict]
		if verdict == "" {
			verdict = "not shown to differ from the line"
		}
		fact("all pitches", "%s, an advantage of %s %s: %s", words.Rate(r.Rate), words.SignedRate(*r.Level), words.Interval(r.LevelLo, r.LevelHi, words.SignedRate), verdict)
	} else if r.Outcome != thresholds.Joint {
		fact("all pitches", "%s", words.Rate(r.Rate))
	}
	for _, b := range edgesOf(zonesIf(r)) {
		fact("edge", "%s", b.words(v))
	}
	for _, z := range zonesIf(r) {
		fact("zone", "%s", zoneFact(z, v, m.Events))
	}
	sample := fmt.Sprintf("%s on %s by %s (as telling as %s equal ones; the busiest throws %s)", plainCount(r.Events, m.Events),
		Pitches(r.Pitches), words.Plural(r.Pitchers, "pitcher"), words.Number(r.EffectivePitchers, 1), words.Percent(r.LargestShare))
	if r.Known < r.Pitches {
		sample += fmt.Sprintf("; %s unknown for %s", v.Title, Pitches(r.Pitches-r.Known))
	}
	fact("sample", "%s", sample)
	if r.Batters > 0 {
		text := words.Plural(r.Batters, "batter")
		if r.EffectiveBatters != nil {
			text += fmt.Sprintf(" (as telling as %s equal ones)", words.Number(*r.EffectiveBatters, 1))
		}
		fact("batters", "%s", text)
	}
	if r.Lambda != nil {
		fact("smoothing", "λ %s (replicates %s to %s); the larger, the smoother", lambda(r.Lambda), lambda(r.LambdaLo), lambda(r.LambdaHi))
	}
	if r.Trend != "" && r.Outcome != thresholds.Joint {
		fact("trend", "%s", trendFact(r.Trend))
	}
	p.Table(t, 0)
	p.Blank()
}

// otherFact says in a line what another outcome of the same pitches tells, and by which
// q.
func otherFact(o BoardRow) string {
	text := strings.ReplaceAll(cellWords(&o.Verdict, o.Zones), "\n", " ")
	if o.Q != nil && (o.Verdict.Verdict == locate.Found || o.Verdict.Verdict == locate.EdgeUnresolved || o.Verdict.Verdict == locate.Inconclusive) {
		text += ", q " + words.Probability(*o.Q)
	}
	return text
}

// trendFact says what the word of a trend means.
func trendFact(word string) string {
	for _, t := range words.Trends {
		if t.Word == word {
			return word + ": " + t.Meaning
		}
	}
	return words.Spaced(word)
}

func lambda(p *float64) string {
	return words.OrDash(p, func(x float64) string {
		if x >= 100 {
			return words.Count(int64(math.Round(x)))
		}
		return fmt.Sprintf("%.3g", x)
	})
}

func plainCount(n int64, what string) string {
	if n == 1 {
		what = strings.TrimSuffix(what, "s")
	}
	return words.Count(n) + " " + what
}

// Pitches counts pitches in words.
func Pitches(n int64) string {
	if n == 1 {
		return "1 pitch"
	}
	return words.Count(n) + " pitches"
}

// zonesIf returns the zones that say where, for a verdict that does.
func zonesIf(r BoardRow) []thresholds.Zone {
	if zonesShown(&r.Verdict, r.Zones) {
		return r.Zones
	}
	return nil
}

// zoneFact says how far a zone is certain and possible.
func zoneFact(z thresholds.Zone, v shape.Variable, events string) string {
	format := quantity(v)
	what := "beats the line"
	if z.Sign < 0 {
		what = "behind the line"
	}
	s := fmt.Sprintf("%s, %s of the %s", what, words.Percent(z.EventShare), events)
	for i, c := range z.Certain {
		s += [2]string{"; certain ", " and "}[min(i, 1)] + rangeWords(&c.Lo, &c.Hi, format)
	}
	if len(z.Certain) == 0 {
		s += "; certain nowhere"
	}
	if z.PossibleLo != nil || z.PossibleHi != nil {
		s += "; possible " + rangeWords(z.PossibleLo, z.PossibleHi, format)
	}
	if z.Weak {
		s += "; confirmed at low power"
	}
	return s
}

func rangeWords(lo, hi *float64, format func(float64) string) string {
	switch {
	case lo != nil && hi != nil:
		return "from " + format(*lo) + " to " + format(*hi)
	case lo != nil:
		return "from " + format(*lo)
	case hi != nil:
		return "to " + format(*hi)
	}
	return "everywhere"
}

// contrasts writes how the curve and its breakpoint differ from those of other
// matchups and pitch types.
func (e *Evidence) contrasts(p *terminal.Printer, v shape.Variable) {
	m := metricOf(e.Verdict.Outcome)
	unit := func(x float64) string {
		s := words.Number(x, v.Decimals)
		if x > 0 {
			s = "+" + s
		}
		return s
	}
	levels, edges := &terminal.Table{Fit: 4}, &terminal.Table{Fit: 4}
	near := e.place()
	best := map[string]thresholds.Contrast{} // by pair, the published point nearest to near
	var pairs []string
	for _, c := range e.Contrasts {
		pair := contrastSide(c, true) + " less " + contrastSide(c, false)
		switch {
		case c.Kind == locate.KindPlatoon:
		case c.Kind == "level":
			old, seen := best[pair]
			if !seen {
				pairs = append(pairs, pair)
			}
			if !seen || c.X != nil && old.X != nil && math.Abs(*c.X-near) < math.Abs(*old.X-near) {
				best[pair] = c
			}
		case c.Estimate != nil:
			edges.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: words.WithUnit(unit(*c.Estimate), v.Unit), Right: true}, terminal.Cell{Text: words.Interval(c.Lo, c.Hi, unit)}, terminal.Cell{Text: toldOf(c)})
		default:
			edges.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: "–", Right: true}, terminal.Cell{}, terminal.Cell{Text: orWord(c.Note, words.Spaced(c.Verdict))})
		}
	}
	for _, pair := range pairs {
		if c := best[pair]; c.Estimate != nil && c.X != nil {
			levels.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: words.SignedRate(*c.Estimate), Right: true}, terminal.Cell{Text: words.Interval(c.Lo, c.Hi, words.SignedRate)},
				terminal.Cell{Text: toldOf(c)})
		}
	}
	if len(levels.Rows) > 0 {
		p.Line(terminal.Bold, "Curves compared")
		p.Prose(terminal.Dim, "  ", "", "difference in "+m.Title+" near "+words.WithUnit(quantity(v)(near), v.Unit)+", plus is better for the pitcher in the first; the verdict is on the whole curve")
		p.Table(levels, 2)
		p.Blank()
	}
	if len(edges.Rows) > 0 {
		p.Line(terminal.Bold, "Breakpoints compared")
		p.Table(edges, 2)
		p.Blank()
	}
	for _, g := range GapsOf(e.Contrasts) {
		p.Line(terminal.Bold, "Across hands")
		p.Prose(terminal.Plain, "  ", "", fmt.Sprintf("%s, same-handed less opposite-handed batters: %s; %s", handTitle(g.Hand), words.Spaced(g.Verdict), gapWords(g, v)))
		p.Blank()
	}
}

// place is the value of the variable that comparisons look at: the first
// breakpoint, else the middle of the curve.
func (e *Evidence) place() float64 {
	if at := edgesOf(zonesIf(e.Verdict)); len(at) > 0 {
		return at[0].at
	}
	if n := len(e.Curve); n > 0 {
		return e.Curve[n/2].X
	}
	return 0
}

// contrastSide names one side of a contrast; the pitch type only where the two
// differ.
func contrastSide(c thresholds.Contrast, first bool) string {
	hand, side, typ := c.HandA, c.SideA, c.TypeA
	if !first {
		hand, side, typ = c.HandB, c.SideB, c.TypeB
	}
	s := words.Matchup(hand, side)
	if c.TypeA != c.TypeB {
		s = TypeTitle(typ) + " " + s
	}
	return s
}
