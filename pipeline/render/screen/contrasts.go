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

// pairOf is one contrast of two curves: its points along the quality, and what the
// breakpoints of the two say.
type pairOf struct {
	thresholds.Contrast // without a place
	points              []thresholds.Contrast
	breaks              []thresholds.Contrast
}

// PairsOf gathers rows into contrasts, in the order of the pairs' titles.
func PairsOf(rows []thresholds.Contrast) []*pairOf {
	type key struct{ pair, typeA, typeB, handA, sideA, stratum, variable, outcome string }
	at := map[key]*pairOf{}
	var out []*pairOf
	for _, c := range rows {
		k := key{c.Pair, c.TypeA, c.TypeB, c.HandA, c.SideA, c.Stratum, c.Variable, c.Outcome}
		p := at[k]
		if p == nil {
			p = &pairOf{Contrast: c}
			at[k] = p
			out = append(out, p)
		}
		switch c.Kind {
		case locate.KindLevel:
			p.Contrast = c
			if c.X != nil {
				p.points = append(p.points, c)
			}
		default:
			p.breaks = append(p.breaks, c)
		}
	}
	place := rank(words.PairWords())
	slices.SortStableFunc(out, func(a, b *pairOf) int { return place[a.Pair] - place[b.Pair] })
	return out
}

// sides names both sides of a contrast.
func (c *pairOf) sides() (a, b string) {
	a, b = contrastSide(c.Contrast, true), contrastSide(c.Contrast, false)
	if first, second, ok := strings.Cut(splitLast(c.Stratum), "/"); ok { // two seasons
		return first + " " + a, second + " " + b
	}
	return a, b
}

// splitLast is a stratum without its name.
func splitLast(stratum string) string {
	_, value, _ := strings.Cut(stratum, ":")
	return value
}

// apart tells whether either side is ahead at some value, by that point's limits.
func (c *pairOf) apart() bool {
	return slices.ContainsFunc(c.points, func(r thresholds.Contrast) bool { return words.Apart(r.Lo, r.Hi) })
}

// told says what was decided of the two curves.
func (c *pairOf) told(v shape.Variable) string {
	decided := decidedOf(c.Contrast)
	if c.Verdict == locate.Differs {
		decided = c.where(v)
	}
	return words.Told(decided, c.Verdict != locate.NotDiffering || !c.apart(), c.Q, c.Together)
}

// decidedOf says what was decided of a contrast, without its q.
func decidedOf(c thresholds.Contrast) string {
	switch c.Verdict {
	case locate.NotEstimable:
		return orWord(c.Note, words.Spaced(c.Verdict))
	case locate.EqualWithin:
		return "equal but for less than " + words.Rate(metricOf(c.Outcome).Delta)
	}
	return words.Spaced(c.Verdict)
}

// toldOf says what was decided of a contrast, beside its own limits.
func toldOf(c thresholds.Contrast) string {
	return words.Told(decidedOf(c), c.Verdict != locate.NotDiffering || !words.Apart(c.Lo, c.Hi), c.Q, c.Together)
}

// where says along which stretches one side is shown to be ahead, point by point,
// and where by most.
func (c *pairOf) where(v shape.Variable) string {
	a, b := c.sides()
	format := quantity(v)
	shown := func(r thresholds.Contrast) int {
		switch {
		case r.Lo != nil && *r.Lo > 0:
			return 1
		case r.Hi != nil && *r.Hi < 0:
			return -1
		}
		return 0
	}
	var parts []string
	for i := 0; i < len(c.points); {
		sign := shown(c.points[i])
		j, most := i, i
		for ; j < len(c.points) && shown(c.points[j]) == sign; j++ {
			if math.Abs(*c.points[j].Estimate) > math.Abs(*c.points[most].Estimate) {
				most = j
			}
		}
		if sign != 0 {
			ahead := a
			if sign < 0 {
				ahead = b
			}
			first, last, m := c.points[i], c.points[j-1], c.points[most]
			peak := ", most at " + words.WithUnit(format(*m.X), v.Unit)
			stretch := "from " + format(*first.X) + " to " + format(*last.X)
			switch {
			case i == 0 && j == len(c.points):
				stretch = "everywhere seen"
			case i == j-1:
				stretch, peak = "near "+words.WithUnit(format(*first.X), v.Unit), ""
			}
			size := func(x float64) string { return words.SignedRate(float64(sign) * x) }
			lo, hi := m.Lo, m.Hi
			if sign < 0 {
				lo, hi = hi, lo
			}
			parts = append(parts, fmt.Sprintf("%s ahead %s%s: %s %s", ahead, stretch, peak, size(*m.Estimate), words.Interval(lo, hi, size)))
		}
		i = j
	}
	if len(parts) == 0 {
		return "differs over the whole curve, at no single value"
	}
	return strings.Join(parts, "; ")
}

// breakWords says how the breakpoints of the two differ, "" where there is nothing
// to compare.
func (c *pairOf) breakWords(v shape.Variable) string {
	var parts []string
	for _, r := range c.breaks {
		if r.Estimate == nil {
			continue
		}
		unit := func(x float64) string { return words.Signed(x, v.Decimals) }
		parts = append(parts, fmt.Sprintf("%s %s: %s", words.WithUnit(unit(*r.Estimate), v.Unit), words.Interval(r.Lo, r.Hi, unit), toldOf(r)))
	}
	if len(parts) == 0 {
		return ""
	}
	return "breakpoint " + strings.Join(parts, ", ")
}

// chart draws the difference along the quality.
func (c *pairOf) chart(p *terminal.Printer, v shape.Variable) *terminal.Chart {
	out := &terminal.Chart{Line: 0, FormatX: func(x float64) string { return tickLabel(x, v.Decimals) },
		FormatY: func(y float64) string { return p.Glyphs(words.SignedRate(y)) }}
	for _, r := range c.points {
		if r.X != nil && r.Estimate != nil && r.Lo != nil && r.Hi != nil {
			out.X, out.Rate = append(out.X, *r.X), append(out.Rate, *r.Estimate)
			out.Lo, out.Hi = append(out.Lo, *r.Lo), append(out.Hi, *r.Hi)
		}
	}
	return out
}

// Contrasts writes the contrasts pair by pair: those that are shown to differ,
// or all; drawn where asked for.
func Contrasts(p *terminal.Printer, all []*pairOf, every, drawn bool) {
	if len(all) == 0 {
		p.Prose(terminal.Plain, "", "", "No contrast matches these filters. Seasons are compared where they were counted apart: sill run --strata season.")
		return
	}
	for from := 0; from < len(all); {
		to := from
		for to < len(all) && all[to].Pair == all[from].Pair {
			to++
		}
		title := words.Spaced(all[from].Pair)
		if i := slices.Index(words.PairWords(), all[from].Pair); i >= 0 {
			title = words.Pairs[i].Title
		}
		p.Line(terminal.Bold, "%s", words.Sentence(title))
		p.Prose(terminal.Dim, "", "", contrastCounts(all[from:to]))
		t := &terminal.Table{Fit: 4, Limit: []int{10, 20, 12}}
		for _, c := range all[from:to] {
			v := variableOf(c.Variable, "")
			text := c.told(v)
			if b := c.breakWords(v); b != "" {
				text += "\n" + b
			}
			if drawn {
				a, b := c.sides()
				p.Blank()
				p.Prose(terminal.Plain, "", "", fmt.Sprintf("%s · %s · %s less %s: %s", metricOf(c.Outcome).Title, v.Title, a, b, strings.ReplaceAll(text, "\n", "; ")))
				p.Lines(c.chart(p, v).Render(p, 7, matchupStyle(words.Matchup(c.HandA, c.SideA))))
				continue
			}
			if every || c.Verdict == locate.Differs || slices.ContainsFunc(c.breaks, func(r thresholds.Contrast) bool { return r.Verdict == locate.Differs }) {
				name := TypeTitle(c.TypeA)
				if c.TypeA != c.TypeB {
					name += ", " + TypeTitle(c.TypeB)
				}
				t.Add(terminal.Cell{Text: name}, terminal.Cell{Text: v.Title}, terminal.Cell{Text: metricOf(c.Outcome).Title}, terminal.Cell{Text: text})
			}
		}
		p.Table(t, 2)
		p.Blank()
		from = to
	}
	p.Line(terminal.Bold, "How to read it")
	p.Prose(terminal.Plain, "  ", "", "Plus is better for the pitcher in the one named first. A contrast differs where that is shown for the whole curve, allowing for "+
		"all contrasts of the kind (q at most .100); where it does so, and by how much, is read value by value (95 % each).")
	p.Prose(terminal.Plain, "  ", "", caution)
}

// contrastCounts counts the verdicts of contrasts in words.
func contrastCounts(all []*pairOf) string {
	n := map[string]int64{}
	for _, c := range all {
		n[c.Verdict]++
	}
	var parts []string
	for _, w := range []struct{ word, text string }{{locate.Differs, "shown to differ"}, {locate.EqualWithin, "equal but for less than is worth telling"},
		{locate.NotDiffering, "not shown to differ"}, {locate.NotEstimable, "not estimable"}} {
		if n[w.word] > 0 {
			parts = append(parts, words.Count(n[w.word])+" "+w.text)
		}
	}
	return fmt.Sprintf("of %s: %s", words.Plural(int64(len(all)), "contrast"), words.Commas(parts))
}
