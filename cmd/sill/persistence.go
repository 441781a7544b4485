package main

import (
	"slices"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// persistenceDocument is what `trend --persistence --json` prints.
type persistenceDocument struct {
	document
	Window  string              `json:"window" doc:"what it was counted in"`
	Columns []thresholds.Column `json:"columns" doc:"the members of a row"`
	Rows    []trend.Persistence `json:"rows"`
}

// printPersistence says how soon each number is the pitcher's own.
func printPersistence(t *terminal.Terminal, at *place, w *windows, words []string, types []string, asJSON, asCSV bool) error {
	switch {
	case w.file != "" || w.from != "" || w.halves:
		return usagef("trend: --persistence takes one version and no windows")
	case len(words) > 1:
		return usagef("trend: --persistence takes one version, not two")
	case len(words) == 1:
		named, err := at.named(words[0])
		if err != nil {
			return err
		}
		at = named
	}
	s, err := at.kept()
	if err != nil {
		return err
	}
	o, err := optionsOf(s)
	if err != nil {
		return err
	}
	window := trend.Window{Name: s.Manifest.Name + " " + s.Manifest.Version, Tally: s.Tally}
	rows := slices.DeleteFunc(trend.Persist(window, o.Scoring()), func(p trend.Persistence) bool {
		return len(types) > 0 && !slices.Contains(types, p.PitchType)
	})
	switch {
	case asJSON:
		return writeJSON(t.Out, persistenceDocument{head("trend"), window.Name, thresholds.Columns[trend.Persistence](), append([]trend.Persistence{}, rows...)})
	case asCSV:
		return thresholds.CSV(t.Out, rows)
	}
	p := terminal.NewPrinter(t)
	p.Line(terminal.Bold, "%s: how many events until half of what is seen is the pitcher", window.Name)
	p.Blank()
	for i := 0; i < len(rows); {
		end := i
		for end < len(rows) && rows[end].PitchType == rows[i].PitchType {
			end++
		}
		persistenceTable(p, rows[i:end])
		i = end
	}
	p.Prose(terminal.Plain, "", "", "Events are swings; of wOBA-against, plate appearances. With so many, half of what sets a pitcher apart from the rest is himself "+
		"and half is chance, which the next season will not repeat; of n events n/(n + so many) is he. A typical pitcher is the median one. "+
		"A platoon gap is how his outcome against batters of his own side differs from that against the others; half of its events are against either.")
	return p.Close()
}

// persistenceTable writes one pitch type.
func persistenceTable(p *terminal.Printer, rows []trend.Persistence) {
	p.Line(terminal.Bold, "%s", words.Sentence(typeTitle(rows[0].PitchType)))
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
