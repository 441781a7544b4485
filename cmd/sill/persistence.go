package main

import (
	"slices"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
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
func printPersistence(t *terminal.Terminal, at *place, w *windows, words []string, types []string) error {
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
	doc := persistenceDocument{head("trend"), window.Name, thresholds.Columns[trend.Persistence](), append([]trend.Persistence{}, rows...)}
	return w.as.print(t, doc, csvOf(rows), func(p *terminal.Printer) {
		p.Line(terminal.Bold, "%s: how many events until half of what is seen is the pitcher", window.Name)
		p.Blank()
		for i := 0; i < len(rows); {
			end := i
			for end < len(rows) && rows[end].PitchType == rows[i].PitchType {
				end++
			}
			screen.Persistence(p, rows[i:end])
			i = end
		}
		p.Prose(terminal.Plain, "", "", "Events are swings; of wOBA-against, plate appearances. With so many, half of what sets a pitcher apart from the rest is himself "+
			"and half is chance, which the next season will not repeat; of n events n/(n + so many) is he. A typical pitcher is the median one. "+
			"A platoon gap is how his outcome against batters of his own side differs from that against the others; half of its events are against either.")
	})
}
