package screen

import (
	"slices"
	"strings"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// TypeTitle returns a pitch type for people: "four-seam", "knuckle curve".
func TypeTitle(word string) string {
	switch word {
	case "":
		return "pitches without a type"
	case pitch.FourSeam.String():
		return "four-seam"
	}
	return words.Spaced(word)
}

// untyped says how many pitches of verdicts on all pitches have no type of their own and
// so stand in no table; "" where all have one.
func untyped(list []thresholds.Verdict) string {
	type cell struct{ pitchType, hand, side string }
	seen, n := map[cell]bool{}, map[bool]int64{} // by whether they have a type at all
	for i := range list {
		v := &list[i]
		if k := (cell{v.PitchType, v.Key.Hand, v.Key.Side}); v.Untyped() && v.Stratum == "" && !seen[k] {
			seen[k] = true
			n[v.PitchType != ""] += v.Pitches
		}
	}
	var parts []string
	if n[false] > 0 {
		parts = append(parts, Pitches(n[false])+" without a type")
	}
	if n[true] > 0 {
		parts = append(parts, Pitches(n[true])+" of other types")
	}
	switch {
	case len(parts) == 0:
		return ""
	case n[false]+n[true] == 1:
		return parts[0] + " is in no table"
	}
	return words.Listed(parts) + " are in no table"
}

// variableOf describes a variable of a published version; one that this
// program does not know gets its name and two decimals.
func variableOf(name, unit string) shape.Variable {
	for _, v := range shape.Variables {
		if v.Name == name {
			return v
		}
	}
	return shape.Variable{Name: name, Title: words.Spaced(name), Unit: unit, Decimals: 2}
}

// metricOf describes an outcome of a published version.
func metricOf(name string) outcome.Metric {
	for _, m := range outcome.Metrics {
		if m.Name == name {
			return m
		}
	}
	o := words.OutcomeOf(name)
	return outcome.Metric{Name: name, Title: o.Title, Events: o.Events}
}

// quantity returns the formatter of a variable's values.
func quantity(v shape.Variable) func(float64) string {
	return func(x float64) string { return words.Number(x, v.Decimals) }
}

// zoneWords says where a zone lies, with the intervals of its edges:
// "≥ 93.2 (92.6–93.9)", "≤ …", "from 15.0 (…)" above "to 20.1 (…)", "everywhere
// seen". Where an end is unresolved it tells how far the zone is certain.
// Breakpoints and the limits of their intervals have a format each.
func zoneWords(z thresholds.Zone, at, within func(float64) string) string {
	lower := edge(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, at, within)
	upper := edge(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, at, within)
	var text string
	switch {
	case lower != "" && upper != "":
		text = "from" + words.NoBreak + lower + "\nto" + words.NoBreak + upper
	case lower != "":
		text = "≥" + words.NoBreak + lower
	case upper != "":
		text = "≤" + words.NoBreak + upper
	}
	if text != "" && z.LowerKind != "unresolved" && z.UpperKind != "unresolved" {
		return text
	}
	switch sure := curve.SureWords(&z, at); {
	case sure != "":
		text = strings.TrimPrefix(text+"\nsure "+sure, "\n")
	case text == "" && len(z.Certain) > 0:
		text = "everywhere seen"
	}
	return text
}

func edge(kind string, x, lo, hi *float64, at, within func(float64) string) string {
	if kind != "edge" || x == nil {
		return ""
	}
	return at(*x) + " " + words.Interval(lo, hi, within)
}

// inline joins the lines of zoneWords for a sentence.
func inline(words string) string {
	return strings.ReplaceAll(strings.ReplaceAll(words, "\nto", " to"), "\n", ", ")
}

// cellWords says what a cell's verdict is, in a few words. The zones are those
// of the verdict's cell, variable, outcome and reference.
func cellWords(v *thresholds.Verdict, zones []thresholds.Zone) string {
	format := quantity(variableOf(v.Variable, v.Unit))
	var lines []string
	if cell := words.VerdictOf(v.Verdict).Cell; cell != "" {
		lines = append(lines, cell)
	}
	if v.Verdict == locate.EdgeUnresolved && (v.Trend == locate.Rising || v.Trend == locate.Falling || v.Trend == locate.Turning) {
		lines[0] = v.Trend + ", " + lines[0]
	}
	if shown := zonesShown(v, zones); shown {
		good := 0
		for _, z := range zones {
			if z.Sign > 0 {
				words := zoneWords(z, format, format)
				if good > 0 {
					words = "or " + words
				}
				good++
				lines = append(lines, words)
			}
		}
		if good == 0 {
			for _, z := range zones {
				lines = append(lines, "worse "+zoneWords(z, format, format))
			}
		}
	}
	if len(lines) == 0 {
		lines = []string{v.Verdict}
	}
	return strings.Join(lines, "\n")
}

// zonesShown tells whether the zones of a verdict say where, rather than only
// repeat the verdict: those of a threshold found, and the confirmed edges
// beside always and never.
func zonesShown(v *thresholds.Verdict, zones []thresholds.Zone) bool {
	switch v.Verdict {
	case locate.Found:
		return true
	case locate.AlwaysBeats, locate.NeverBeats:
		return slices.ContainsFunc(zones, func(z thresholds.Zone) bool {
			return z.LowerKind == "edge" || z.UpperKind == "edge"
		})
	}
	return false
}

// sentence starts s with a capital letter and ends it with a full stop.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	return words.Sentence(strings.TrimSuffix(s, ".")) + "."
}

// in tells whether a filter lets a word through: it is empty, or lists the word.
func in(filter []string, word string) bool {
	return len(filter) == 0 || slices.Contains(filter, word)
}

// KnownVariables lists the variables of this program and of a version.
func KnownVariables(t *thresholds.Tables) []string {
	names := shape.Names(shape.Variables)
	for i := range t.Verdicts {
		names = appendNew(names, t.Verdicts[i].Variable)
	}
	return names
}

// KnownTypes lists the pitch types of a version, and the common ones.
func KnownTypes(t *thresholds.Tables) []string {
	return t.Words("pitch_type")[1:]
}

// KnownReferences lists the lines of a version.
func KnownReferences(t *thresholds.Tables) []string {
	var names []string
	for i := range t.Verdicts {
		names = appendNew(names, t.Verdicts[i].Reference)
	}
	return names
}

// appendNew appends s unless the list holds it.
func appendNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}
