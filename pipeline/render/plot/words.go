package plot

import (
	"cmp"
	"slices"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
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
func better(o words.Outcome) string {
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
	lines := "the line"
	if sel.Outcome == thresholds.Joint {
		lines = "both lines"
	}
	f.title = "Where does the " + typeTitle(sel.PitchType) + " beat " + lines + ", by " + f.quality.Title + "?"
	if only := f.panels[0]; len(f.panels) == 1 && only.joint != nil && only.joint.Where(f.quality) != "" {
		f.title = words.Sentence(typeTitle(sel.PitchType)) + " " + only.name + ": " + only.joint.Where(f.quality)
	}
	about := make([]string, len(f.outcomes))
	for i, o := range f.outcomes {
		about[i] = words.Sentence(o.Title)
		if o.Per != "" && !f.form.brief && len(f.outcomes) == 1 {
			about[i] += " (" + o.Per + ")"
		}
	}
	about = []string{strings.Join(about, " and ")}
	if sel.Stratum != "" {
		about = append(about, words.Spaced(sel.Stratum))
	}
	if f.compared {
		about = append(about, src.name()+" solid, "+f.options.Compare.name()+" dashed")
	} else {
		about = append(about, src.name())
	}
	about = append(about, "the line: "+words.LineOn(sel.Reference, "on the "+typeTitle(sel.PitchType)))
	f.subtitle = strings.Join(about, " · ")

	f.notes = []string{"It describes what batters did against such pitches; it does not say what a change would cause. " + words.Staff}
	if f.form.brief {
		f.notes = []string{"It describes; it does not explain. " + words.Staff}
	}
	var marks []string
	for _, c := range f.marks() {
		marks = append(marks, words.Sentence(c.Word)+": "+c.Legend+".")
	}
	if f.form.brief { // in a line
		marks = []string{strings.Join(marks, " ")}
	}
	f.notes = append(f.notes, marks...)
}

// marks lists the caveats that stand beside verdicts of the figure, each once.
func (f *Figure) marks() []words.Caveat {
	var out []words.Caveat
	for i := range f.panels {
		for _, s := range f.panels[i].told() {
			for _, c := range words.Marks(s.caveats()) {
				if !slices.Contains(out, c) {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// caveats are the codes of what may be amiss with what a curve is said to show.
func (s *series) caveats() []string {
	if s.Verdict == nil || !curve.Shown(s.Verdict.Verdict) {
		return nil
	}
	return s.Verdict.Warnings
}

// says tells in words what was decided on a curve, with the caveats that change what it
// may be used for, and whose it is, where others share its panel.
func (f *Figure) says(pn *panel, s *series) string {
	told, marks := s.Sentence(f.quality, false), words.MarkWords(s.caveats())
	switch {
	case s == pn.joint && s.Verdict == nil && len(s.Points) > 0:
		return "No verdict on both at once: the version is older than such verdicts."
	case f.form.brief && marks != "":
		told = s.Brief(f.quality) + ", " + marks
	case f.form.brief:
		told = s.Brief(f.quality)
	case marks != "":
		told += " Caveat: " + marks + "."
	}
	switch {
	case pn.mixed():
		return s.matchup.String() + " · " + told
	case f.compared && !f.form.brief:
		return s.source + " · " + told
	}
	return told
}

// label is the short name of a curve beside it, among others of its panel.
func (f *Figure) label(pn *panel, s *series) string {
	switch {
	case s == pn.joint:
		return words.Both.Short
	case pn.joint != nil:
		return f.outcomes[s.tier].Short
	case f.compared:
		return s.label
	}
	return s.matchup.String()
}

// sample says how much stands behind a curve.
func (f *Figure) sample(s *series) string {
	if s.Verdict == nil {
		return ""
	}
	if f.form.brief {
		return words.Plural(s.Verdict.Pitchers, "pitcher")
	}
	return curve.Sample(s.Verdict, f.outcomes[s.tier])
}

// typeTitle names a pitch type.
func typeTitle(word string) string { return cmp.Or(words.Type(word), "pitch without a type") }
