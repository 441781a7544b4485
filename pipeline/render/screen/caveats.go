package screen

import (
	"slices"

	"sill/pipeline/locate"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// warningOf returns what a code says: by the version, else by this program.
func warningOf(code string, m thresholds.Manifest) thresholds.Warning {
	for _, w := range slices.Concat(m.Warnings, locate.Warnings()) {
		if w.Code == code {
			return w
		}
	}
	return thresholds.Warning{Code: code, Grade: thresholds.Reading, Meaning: words.Spaced(code)}
}

// caveats writes those that change what the verdict may be used for, then the others:
// of background, and of single bins.
func (e *Evidence) caveats(p *terminal.Printer) {
	var first, then []thresholds.Warning
	for _, w := range e.Warnings {
		if w.Grade == thresholds.Reading && slices.Contains(e.Verdict.Warnings, w.Code) {
			first = append(first, w)
		} else {
			then = append(then, w)
		}
	}
	list := func(title string, all []thresholds.Warning) {
		if len(all) == 0 {
			return
		}
		p.Line(terminal.Bold, "%s", title)
		for _, w := range all {
			p.Prose(terminal.Plain, "  ", "  ", words.CaveatOf(w.Code).Word+": "+w.Meaning)
		}
		p.Blank()
	}
	list("Caveats", first)
	list("Also true, and no reason to read the verdict otherwise", then)
}
