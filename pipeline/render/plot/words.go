package plot

import (
	"cmp"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
)

// qualityOf describes the quality along the axis; where the version does not, its
// unit is that of the verdicts.
func qualityOf(src Source, name string, panels []panel) curve.Quality {
	unit := ""
	for _, p := range panels {
		for _, s := range p.series {
			if s.Verdict != nil {
				unit = cmp.Or(unit, s.Verdict.Unit)
			}
		}
	}
	return curve.QualityOf(src.Variables, name, unit)
}

// better says beside an axis that is read upwards which way is better.
func better(o curve.Outcome) string {
	switch {
	case o.Sign > 0:
		return "better for the pitcher →"
	case o.Sign < 0:
		return "← better for the pitcher"
	}
	return ""
}

// words writes the title, the subtitle and the notes of the figure.
func (f *Figure) words(src Source, sel Selection) {
	f.title = "Where does the " + typeTitle(sel.PitchType) + " beat the line, by " + f.quality.Title + "?"
	about := []string{words.Sentence(f.outcome.Title)}
	if f.outcome.Per != "" {
		about[0] += " (" + f.outcome.Per + ")"
	}
	if sel.Stratum != "" {
		about = append(about, words.Spaced(sel.Stratum))
	}
	if f.compared {
		about = append(about, src.name()+" solid, "+f.options.Compare.name()+" dashed")
	} else {
		about = append(about, src.name())
	}
	about = append(about, "the line: "+curve.LineTitle(sel.Reference, "on the "+typeTitle(sel.PitchType)))
	f.subtitle = strings.Join(about, " · ")

	f.notes = []string{"It describes what batters did against such pitches; it does not say what a change would cause. " +
		"Workload and mechanics belong to the coaches and the medical staff."}
	var caveats []string
	for _, p := range f.panels {
		for _, s := range p.series {
			if s.Verdict == nil || len(s.Verdict.Warnings) == 0 {
				continue
			}
			name := s.matchup.String()
			if s.second {
				name += " of " + s.source
			}
			codes := make([]string, len(s.Verdict.Warnings))
			for i, w := range s.Verdict.Warnings {
				codes[i] = words.Spaced(w)
			}
			caveats = append(caveats, name+" "+strings.Join(codes, ", "))
		}
	}
	if len(caveats) > 0 {
		f.notes = append(f.notes, "Caveats: "+strings.Join(caveats, "; ")+". The command explain says what they mean.")
	}
}

// verdict says in words what was decided about a curve.
func (f *Figure) verdict(s *series) string {
	if s.Verdict == nil {
		return "No verdict: no such pitch was thrown in this matchup, or its " + f.quality.Title + " is not in the data."
	}
	breadth := " over the central 90" + words.NoBreak + "% of the pitches"
	if s.Verdict.Everywhere {
		breadth = " at every value seen"
	}
	edges := s.Where(f.quality)
	switch word := s.Verdict.Verdict; word {
	case "found":
		return "Found: " + edges + "."
	case "always_beats", "never_beats":
		text := words.Sentence(words.Spaced(word)) + " the line," + breadth + ", " + words.ExceptSliver
		if edges != "" {
			text += "; yet it " + edges
		}
		return text + "."
	case "edge_unresolved":
		trend := s.Verdict.Trend
		if trend == "" || trend == "flat" {
			trend = "it changes"
		}
		return "Edge unresolved: " + trend + " along " + f.quality.Title + ", but no place where it passes the line is confirmed."
	case "inconclusive":
		return "Inconclusive: no change along " + f.quality.Title + " could be shown, which does not prove there is none."
	case "too_few":
		if s.Verdict.Settle == "" {
			return "Too few pitches or pitchers for a verdict."
		}
		return "Too few pitches or pitchers: " + strings.TrimSuffix(s.Verdict.Settle, ".") + "."
	default:
		return words.Sentence(words.Spaced(word)) + "."
	}
}

// sample says how much stands behind a curve.
func (f *Figure) sample(s *series) string {
	if s.Verdict == nil {
		return ""
	}
	return words.Count(s.Verdict.Events) + " " + f.outcome.Events + " by " + words.Plural(s.Verdict.Pitchers, "pitcher")
}

// typeTitle names a pitch type.
func typeTitle(word string) string {
	if word == "" {
		return "pitch without a type"
	}
	return curve.TypeTitle(word)
}
