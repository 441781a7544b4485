package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newExplain is the command that shows one threshold with all its evidence.
func newExplain(t *terminal.Terminal) *cobra.Command {
	var at place
	var outcomeName, reference, stratum string
	var gate, asJSON bool
	cmd := &cobra.Command{
		Use:   "explain TYPE MATCHUP VARIABLE",
		Short: "Show one threshold with its evidence",
		Long: `explain shows one threshold: its answer in a sentence, the curve, the line with
its interval, the edges, the sample, every bin, the caveats with their meaning,
and why a threshold was found or not.`,
		Example: `  sill explain four_seam L-v-L velocity
  sill explain sinker L-v-R horizontal_break --outcome woba_against
  sill explain cutter R-v-L velocity --json
  sill explain four_seam L-v-L velocity --gate && echo "a threshold was found"`,
		Args: args("TYPE", "MATCHUP", "VARIABLE"),
		RunE: func(_ *cobra.Command, args []string) error {
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			s, err := parseSelection(v.tables, args[:1], args[1:2], args[2:3], []string{outcomeName}, nil, reference, stratum)
			if err != nil {
				return err
			}
			if stratum != "" && !strings.Contains(stratum, ":") {
				return usagef("explain: stratum %s has several values: name one, such as --stratum %s", stratum, firstValue(v.tables, stratum))
			}
			if err := v.more(); err != nil {
				return err
			}
			e := gather(v.league, v.version, v.tables, v.manifest, s)
			if e == nil {
				err := usagef("explain: %s %s holds nothing on %s, %s, %s, %s: no such pitch was thrown, or the variable is not in the data",
					v.league, v.version, typeTitle(s.types[0]), s.matchups[0], words.Spaced(s.variables[0]), words.Spaced(s.outcomes[0]))
				if gate {
					return fmt.Errorf("%w: %w", errNo, err)
				}
				return err
			}
			if asJSON {
				err = writeJSON(t.Out, explainDocument{head("explain"), *e})
			} else {
				p := terminal.NewPrinter(t)
				e.print(p)
				err = p.Close()
			}
			if err == nil && gate && e.Verdict.Verdict.Verdict != locate.Found {
				return fmt.Errorf("%w: %s", errNo, words.Spaced(e.Verdict.Verdict.Verdict))
			}
			return err
		},
		ValidArgsFunction: func(_ *cobra.Command, got []string, _ string) ([]string, cobra.ShellCompDirective) {
			choices := [][]string{typeWords(), pitch.MatchupNames(), shape.Names(shape.Variables)}
			if len(got) < len(choices) {
				return choices[len(got)], cobra.ShellCompDirectiveNoFileComp
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
	}
	f := cmd.Flags()
	at.flags(f)
	f.StringVar(&outcomeName, "outcome", outcome.Names()[0], "`outcome`: "+words.Commas(outcome.Names()))
	f.StringVar(&reference, "reference", defaultReference, "`line` compared with")
	f.StringVar(&stratum, "stratum", "", "one value of an extra split, such as `count:two_strikes`")
	f.BoolVar(&gate, "gate", false, fmt.Sprintf("exit %d unless a threshold was found, for scripts", exitNo))
	f.BoolVar(&asJSON, "json", false, "print JSON")
	complete(cmd, "outcome", outcome.Names())
	return cmd
}

// explainDocument is what `explain --json` prints.
type explainDocument struct {
	document
	evidence
}

// evidence is all that a version holds about one threshold.
type evidence struct {
	League    string                  `json:"league"`
	Version   string                  `json:"version"`
	Verdict   boardRow                `json:"verdict"`
	Line      *thresholds.Reference   `json:"line"`
	Curve     []thresholds.CurvePoint `json:"curve"`
	Bins      []thresholds.Bin        `json:"bins"`
	Contrasts []thresholds.Contrast   `json:"contrasts"`
	Slope     *thresholds.Slope       `json:"slope" doc:"how much of the pattern is seen inside the same pitcher; null where the version does not tell"`
	Tested    *thresholds.Tested      `json:"tested" doc:"what was tested together with it; null where the version does not tell the families"`
	Warnings  []meaning               `json:"warnings"`
}

// meaning is a code of a caveat with what it says.
type meaning struct {
	Code    string `json:"code"`
	Meaning string `json:"meaning"`
}

// gather collects the evidence for a selection of exactly one threshold; nil where
// the version has no row on it.
func gather(league, version string, tables *thresholds.Tables, manifest thresholds.Manifest, s selection) *evidence {
	b := newBoard(tables, s)
	if len(b.rows) == 0 {
		return nil
	}
	r := b.rows[0]
	e := &evidence{League: league, Version: version, Verdict: r,
		Curve: []thresholds.CurvePoint{}, Bins: []thresholds.Bin{}, Contrasts: []thresholds.Contrast{}, Warnings: []meaning{}}
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
		e.Warnings = append(e.Warnings, meaning{code, warningMeaning(code)})
	}
	return e
}

// concerns tells whether a contrast of breakpoints has the row as one side.
func concerns(c thresholds.Contrast, r boardRow) bool {
	first := c.HandA == r.Hand && c.SideA == r.Side && c.TypeA == r.PitchType
	second := c.HandB == r.Hand && c.SideB == r.Side && c.TypeB == r.PitchType
	return (first || second) && c.Stratum == r.Stratum && c.Variable == r.Variable && c.Outcome == r.Outcome &&
		(c.Reference == r.Reference || c.Reference == "")
}

// warningMeaning returns what a code says.
func warningMeaning(code string) string {
	for _, w := range locate.Warnings() {
		if w.Code == code {
			return w.Meaning
		}
	}
	return words.Spaced(code)
}

// print writes the evidence for a person.
func (e *evidence) print(p *terminal.Printer) {
	r := e.Verdict
	v, m := variableOf(r.Variable, r.Unit), metricOf(r.Outcome)
	matchup := words.Matchup(r.Key.Hand, r.Key.Side)
	title := []string{typeTitle(r.PitchType), matchup, v.Title, m.Title}
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
	if len(e.Warnings) > 0 {
		p.Line(terminal.Bold, "Caveats")
		for _, w := range e.Warnings {
			p.Prose(terminal.Plain, "  ", "  ", w.Code+": "+w.Meaning)
		}
		p.Blank()
	}
	p.Prose(terminal.Plain, "", "", caution)
}

// answer says in one sentence what the verdict is.
func (e *evidence) answer(v shape.Variable) string {
	r := e.Verdict
	who := fmt.Sprintf("the %s %s", typeTitle(r.PitchType), metricOf(r.Outcome).Title)
	format := quantity(v)
	united := func(x float64) string { return words.WithUnit(format(x), v.Unit) }
	var where []string
	for _, sign := range []int64{1, -1} {
		for _, z := range r.Zones {
			if z.Sign != sign || sign < 0 && len(where) > 0 {
				continue
			}
			words := inline(zoneWords(z, united, format))
			if z.Weak {
				words += ", weakly supported"
			}
			if strings.HasPrefix(words, "≥") || strings.HasPrefix(words, "≤") {
				words = "at " + words
			}
			if sign > 0 {
				where = append(where, "beats the line "+words)
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
		return sentence(who + " beats the line over " + breadth(r) + ", " + words.ExceptSliver + join("; yet it ", edges))
	case locate.NeverBeats:
		return sentence(who + " stays behind the line over " + breadth(r) + ", " + words.ExceptSliver + join("; yet it ", edges))
	case locate.EdgeUnresolved:
		return sentence(who + " changes along " + v.Title + ", but where it passes the line cannot be told")
	case locate.TooFew:
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

func breadth(r boardRow) string {
	if r.Everywhere {
		return "every value seen"
	}
	return "the central 90 % of the pitches thrown"
}

// why says what the verdict rests on.
func (e *evidence) why(v shape.Variable) []string {
	r := e.Verdict
	var out []string
	if r.Q != nil && r.P != nil {
		out = append(out, sentence(fmt.Sprintf("if the rate did not depend on %s at all, a curve this uneven would turn up with probability %s; "+
			"after allowing for all tests of the table q is %s, %s the limit of .100", v.Title, words.Probability(*r.P), words.Probability(*r.Q), within(*r.Q))))
		if t := e.Tested; t != nil && r.FamilyQ != nil {
			out = append(out, sentence(e.family(v)))
		}
	}
	switch r.Verdict.Verdict {
	case locate.Found:
		out = append(out, "On one side of each edge some stretch has its 95 % interval ahead of the line, on the other one behind it.")
	case locate.EdgeUnresolved:
		out = append(out, "No stretch with its 95 % interval ahead of the line neighbours one with its interval behind it.")
	case locate.AlwaysBeats, locate.NeverBeats:
		out = append(out, "Every stretch that holds a tenth of the pitches, but for the last fortieth at either end, has a rate beyond the line by more than chance explains.")
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
func (e *evidence) family(v shape.Variable) string {
	r, t := e.Verdict, e.Tested
	s := fmt.Sprintf("all cells of %s and %s together have q %s, %s the limit", v.Title, metricOf(r.Outcome).Title, words.Probability(*r.FamilyQ), within(*r.FamilyQ))
	of := fmt.Sprintf("%d of the %d families (a quality and an outcome each)", t.Selected, t.Families)
	if *r.FamilyQ > .10 {
		return s + ", so that none of them is said to change; " + of + " are within it"
	}
	return s + ", as " + of + " do; the fewer these are, the more strictly single cells are judged"
}

// chart draws the curve of the evidence.
func (e *evidence) chart(v shape.Variable) *terminal.Chart {
	c := &terminal.Chart{Line: math.NaN(), FormatX: func(x float64) string { return tickLabel(x, v.Decimals) }, FormatY: words.Rate,
		Events: strings.Fields(metricOf(e.Verdict.Outcome).Events)[0]}
	for _, pt := range e.Curve {
		c.X, c.Rate = append(c.X, pt.X), append(c.Rate, pt.Rate)
		c.Lo, c.Hi = append(c.Lo, pt.Lo), append(c.Hi, pt.Hi)
	}
	if e.Verdict.Line != nil {
		c.Line = *e.Verdict.Line
	}
	for _, b := range e.Bins {
		if b.Mean == nil || b.Kind == "missing" {
			continue
		}
		c.Weight = append(c.Weight, terminal.Point{X: *b.Mean, Y: float64(b.Events)})
		if b.Rate != nil {
			c.Points = append(c.Points, terminal.Point{X: *b.Mean, Y: *b.Rate})
		}
	}
	if zonesShown(&e.Verdict.Verdict, e.Verdict.Zones) {
		for _, at := range edgesOf(e.Verdict.Zones) {
			c.Edges = append(c.Edges, terminal.Mark{At: at.at, Lo: orNaN(at.lo), Hi: orNaN(at.hi)})
		}
	}
	return c
}

// tickLabel formats a round value with no more decimals than it needs.
func tickLabel(x float64, decimals int) string {
	s := words.Number(x, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func orNaN(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}

// breakpoint is one edge of the zones, with its ends at the line ± delta and
// how the advantage goes on past it.
type breakpoint struct {
	at                      float64
	lo, hi, minus, plus     *float64
	rising                  bool // whether the outcome beats the line above it
	beyondGood, beyondWorse string
	share, without          *float64 // of single pitchers (see thresholds.Zone)
	support                 *float64 // of the zone that beats the line, else of the other
	weak, good              bool     // good: it ends a zone that beats the line
}

// edgesOf lists the breakpoints of zones, each once, in their order: one that
// ends a zone and starts the next is one breakpoint.
func edgesOf(zones []thresholds.Zone) []breakpoint {
	var out []breakpoint
	put := func(b breakpoint) {
		for i := range out {
			if out[i].at == b.at {
				out[i].beyondGood += b.beyondGood
				out[i].beyondWorse += b.beyondWorse
				out[i].weak = out[i].weak || b.weak
				if out[i].minus == nil && out[i].plus == nil {
					out[i].minus, out[i].plus = b.minus, b.plus
				}
				if b.good || out[i].support == nil {
					out[i].support = b.support
				}
				return
			}
		}
		out = append(out, b)
	}
	for _, z := range zones {
		add := func(kind string, at, lo, hi, minus, plus, share, without *float64, rising bool, beyond string) {
			if kind != "edge" || at == nil {
				return
			}
			b := breakpoint{at: *at, lo: lo, hi: hi, minus: minus, plus: plus, rising: rising,
				share: share, without: without, support: z.Support, weak: z.Weak, good: z.Sign > 0}
			if z.Sign > 0 {
				b.beyondGood = beyond
			} else {
				b.beyondWorse = beyond
			}
			put(b)
		}
		add(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.LowerMinus, z.LowerPlus, z.LowerLargestShare, z.LowerWithoutOne, z.Sign > 0, z.BeyondLower)
		add(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.UpperMinus, z.UpperPlus, z.UpperLargestShare, z.UpperWithoutOne, z.Sign < 0, z.BeyondUpper)
	}
	slices.SortFunc(out, func(a, b breakpoint) int {
		if a.at < b.at {
			return -1
		}
		return 1
	})
	return out
}

// key explains the chart's characters.
func (e *evidence) key(p *terminal.Printer) string {
	g := terminal.UnicodeGlyphs
	if p.ASCII {
		g = terminal.PlainGlyphs
	}
	parts := []string{string(g.Curve[1]) + " smooth rate", string(g.Band) + " its 95 % band", string(g.Point) + " rate of a bin", string(g.Line) + " line"}
	if len(edgesOf(e.Verdict.Zones)) > 0 && zonesShown(&e.Verdict.Verdict, e.Verdict.Zones) {
		parts = append(parts, string(g.Left)+string(g.Break)+string(g.Right)+" breakpoint with its interval")
	}
	return strings.ReplaceAll(strings.ReplaceAll(strings.Join(parts, "\n"), " ", words.NoBreak), "\n", "  ")
}

// facts writes the numbers behind the verdict.
func (e *evidence) facts(p *terminal.Printer, v shape.Variable) {
	r := e.Verdict
	m := metricOf(r.Outcome)
	t := &terminal.Table{Fit: 2}
	fact := func(name, format string, values ...any) {
		t.Add(terminal.Cell{Text: name, Style: terminal.Bold}, terminal.Cell{Text: fmt.Sprintf(format, values...)})
	}
	if r.Line == nil {
		fact("line", "none: fewer than 5 qualified pitchers (%s)", words.Line(r.Reference))
	} else {
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
	} else {
		fact("all pitches", "%s", words.Rate(r.Rate))
	}
	for _, b := range edgesOf(zonesIf(r)) {
		fact("edge", "%s", b.words(v))
	}
	for _, z := range zonesIf(r) {
		fact("zone", "%s", zoneFact(z, v, m.Events))
	}
	sample := fmt.Sprintf("%s on %s by %s (as telling as %s equal ones; the busiest throws %s)", plainCount(r.Events, m.Events),
		pitches(r.Pitches), words.Plural(r.Pitchers, "pitcher"), words.Number(r.EffectivePitchers, 1), words.Percent(r.LargestShare))
	if r.Known < r.Pitches {
		sample += fmt.Sprintf("; %s unknown for %s", v.Title, pitches(r.Pitches-r.Known))
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
	if r.Trend != "" {
		fact("trend", "%s", trendFact(r.Trend))
	}
	p.Table(t, 0)
	p.Blank()
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

func pitches(n int64) string {
	if n == 1 {
		return "1 pitch"
	}
	return words.Count(n) + " pitches"
}

// zonesIf returns the zones that say where, for a verdict that does.
func zonesIf(r boardRow) []thresholds.Zone {
	if zonesShown(&r.Verdict, r.Zones) {
		return r.Zones
	}
	return nil
}

// words says where a breakpoint lies and how it behaves.
func (b breakpoint) words(v shape.Variable) string {
	format := quantity(v)
	s := words.WithUnit(format(b.at), v.Unit) + " " + words.Interval(b.lo, b.hi, format)
	if b.rising {
		s += ", better above"
	} else {
		s += ", better below"
	}
	if b.beyondGood != "" {
		s += "; further in, the advantage " + beyondWords(b.beyondGood)
	}
	return s
}

func beyondWords(code string) string {
	if code == "cannot_tell" {
		return "may rise or fall: cannot tell"
	}
	return words.Spaced(code)
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
		s += "; weak"
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

// binTable writes every bin.
func (e *evidence) binTable(p *terminal.Printer, v shape.Variable) {
	if len(e.Bins) == 0 {
		return
	}
	m := metricOf(e.Verdict.Outcome)
	t := &terminal.Table{}
	right := func(s string) terminal.Cell { return terminal.Cell{Text: s, Right: true} }
	title := func(s string) terminal.Cell { return terminal.Cell{Text: s, Style: terminal.Bold, Right: true} }
	t.Add(title(words.WithUnit(v.Title, parens(v.Unit))), title(m.Events), title("pitchers"), title("rate"), title("95 % interval"), terminal.Cell{})
	for _, b := range e.Bins {
		note, st := "", terminal.Plain
		switch {
		case b.Thin:
			note, st = "thin", terminal.Dim
		case b.Rate != nil && e.Verdict.Line != nil && b.Lo != nil && b.Hi != nil:
			note = sideOfLine(*b.Lo, *b.Hi, *e.Verdict.Line, m.Sign)
		}
		cells := []terminal.Cell{right(binRange(b, quantity(v))), right(words.Count(b.Events)), right(words.Count(b.Pitchers)),
			right(words.OrDash(b.Rate, words.Rate)), right(""), {Text: note}}
		if b.Rate != nil {
			cells[4] = right(strings.Trim(words.Interval(b.Lo, b.Hi, words.Rate), "()"))
		}
		for i := range cells {
			cells[i].Style = st
		}
		t.Add(cells...)
	}
	p.Line(terminal.Bold, "Bins")
	p.Table(t, 0)
	p.Blank()
}

func parens(s string) string {
	if s == "" {
		return ""
	}
	return "(" + s + ")"
}

// sideOfLine says whether an interval lies on one side of the line.
func sideOfLine(lo, hi, line float64, sign int) string {
	switch {
	case lo > line && sign > 0, hi < line && sign < 0:
		return "better"
	case lo > line && sign < 0, hi < line && sign > 0:
		return "worse"
	}
	return ""
}

// binRange says which values a bin holds: its lower edge belongs to it, its
// upper edge does not.
func binRange(b thresholds.Bin, format func(float64) string) string {
	switch {
	case b.Kind == "missing":
		return "unknown"
	case b.Lower == nil && b.Upper == nil:
		return "all"
	case b.Lower == nil:
		return "below " + format(*b.Upper)
	case b.Upper == nil:
		return format(*b.Lower) + " and above"
	}
	return format(*b.Lower) + " to " + format(*b.Upper)
}

// contrasts writes how the curve and its breakpoint differ from those of other
// matchups and pitch types.
func (e *evidence) contrasts(p *terminal.Printer, v shape.Variable) {
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
			edges.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: words.WithUnit(unit(*c.Estimate), v.Unit), Right: true}, terminal.Cell{Text: words.Interval(c.Lo, c.Hi, unit)}, terminal.Cell{Text: words.Spaced(c.Verdict)})
		default:
			edges.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: "–", Right: true}, terminal.Cell{}, terminal.Cell{Text: orWord(c.Note, words.Spaced(c.Verdict))})
		}
	}
	for _, pair := range pairs {
		if c := best[pair]; c.Estimate != nil && c.X != nil {
			levels.Add(terminal.Cell{Text: pair}, terminal.Cell{Text: words.SignedRate(*c.Estimate), Right: true}, terminal.Cell{Text: words.Interval(c.Lo, c.Hi, words.SignedRate)},
				terminal.Cell{Text: words.Spaced(c.Verdict)})
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
	for _, g := range gapsOf(e.Contrasts) {
		p.Line(terminal.Bold, "Across hands")
		p.Prose(terminal.Plain, "  ", "", fmt.Sprintf("%s, same-handed less opposite-handed batters: %s; %s", handTitle(g.Hand), words.Spaced(g.Verdict), gapWords(g, v)))
		p.Blank()
	}
}

// place is the value of the variable that comparisons look at: the first
// breakpoint, else the middle of the curve.
func (e *evidence) place() float64 {
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
		s = typeTitle(typ) + " " + s
	}
	return s
}

func typeWords() []string { return pitch.Words("pitch_type") }
