package screen

import (
	"sill/pipeline/analysis/trend"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// Persistence writes one pitch type.
func Persistence(p *terminal.Printer, rows []trend.Persistence) {
	p.Line(terminal.Bold, "%s", words.Sentence(TypeTitle(rows[0].PitchType)))
	t := &terminal.Table{Fit: 1}
	t.Add(terminal.Cell{Text: "of", Style: terminal.Dim}, terminal.Cell{Text: solid("half at"), Style: terminal.Dim, Right: true}, terminal.Cell{Text: solid("95 % interval"), Style: terminal.Dim},
		terminal.Cell{Text: "typical pitcher", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "which is he", Style: terminal.Dim, Right: true})
	for i := range rows {
		r := &rows[i]
		name := metricOf(r.Name).Title
		switch r.Kind {
		case trend.OfQuality:
			name = variableOf(r.Name, r.Unit).Title
		case trend.OfGap:
			name = "platoon gap, " + name
		}
		half, limits := "too few", ""
		switch {
		case r.Half != nil:
			half = eventsWords(*r.Half)
			if limits = words.Interval(r.HalfLo, r.HalfHi, eventsWords); limits == "(1–1)" {
				limits = ""
			}
			if r.HalfHi == nil && r.HalfLo != nil {
				limits = "(" + eventsWords(*r.HalfLo) + " or more)"
			}
		case r.Spread != nil:
			half = "no spread seen"
			if r.HalfLo != nil {
				limits = "(" + eventsWords(*r.HalfLo) + " or more)"
			}
		}
		share := "–"
		if r.Reliability != nil {
			share = words.Percent(*r.Reliability)
		}
		t.Add(terminal.Cell{Text: name}, terminal.Cell{Text: solid(half), Right: true}, terminal.Cell{Text: solid(limits)},
			terminal.Cell{Text: words.Count(int64(r.Typical)), Right: true}, terminal.Cell{Text: share, Right: true})
	}
	p.Table(t, 2)
	p.Blank()
}

// eventsWords writes a number of events: two digits are enough, and one is the fewest.
func eventsWords(x float64) string {
	if x < 1 {
		return "1"
	}
	unit := 1.0
	for x/unit >= 100 {
		unit *= 10
	}
	return words.Count(int64(x/unit+.5) * int64(unit))
}
