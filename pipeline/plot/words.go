package plot

import (
	"strings"

	"sill/pipeline/thresholds"
	"sill/pipeline/wording"
)

// variable describes the quality along the axis.
type variable struct {
	title, unit string
	width       float64 // of a bin
	decimals    int
}

func variableOf(src Source, name string, panels []panel) variable {
	v := variable{title: wording.Spaced(name), width: 1}
	for _, d := range src.Variables {
		if d.Name == name {
			v = variable{title: d.Title, unit: d.Unit, width: d.Width}
		}
	}
	for _, p := range panels {
		for _, s := range p.series {
			if v.unit == "" && s.verdict != nil {
				v.unit = s.verdict.Unit
			}
		}
	}
	switch {
	case v.width >= 50:
		v.decimals = 0
	case v.width >= 1:
		v.decimals = 1
	default:
		v.decimals = 2
	}
	return v
}

func (v variable) number(x float64) string { return wording.Number(x, v.decimals) }

func (v variable) withUnit(s string) string {
	if v.unit == "" {
		return s
	}
	return s + wording.NoBreak + v.unit
}

// axis names the variable with its unit.
func (v variable) axis() string {
	if v.unit == "" {
		return v.title
	}
	return v.title + ", " + v.unit
}

// outcome describes an outcome.
type outcome struct {
	name, title, per, events string
	better                   string // beside an axis that is read upwards
	sign                     int    // +1 if more is better for the pitcher, −1 if less is
}

var outcomes = []outcome{
	{"whiff_rate", "whiff rate", "misses per swing", "swings", "better for the pitcher →", 1},
	{"woba_against", "wOBA-against", "per plate appearance", "plate appearances", "← better for the pitcher", -1},
}

func outcomeOf(name string) outcome {
	for _, o := range outcomes {
		if o.name == name {
			return o
		}
	}
	return outcome{name: name, title: wording.Spaced(name), events: "events"}
}

// words writes the title, the subtitle and the notes of the figure.
func (f *Figure) words(src Source, sel Selection) {
	f.title = "Where does the " + typeTitle(sel.PitchType) + " beat the line, by " + f.variable.title + "?"
	about := []string{wording.Sentence(f.outcome.title)}
	if f.outcome.per != "" {
		about[0] += " (" + f.outcome.per + ")"
	}
	if sel.Stratum != "" {
		about = append(about, wording.Spaced(sel.Stratum))
	}
	if f.compared {
		about = append(about, src.name()+" solid, "+f.options.Compare.name()+" dashed")
	} else {
		about = append(about, src.name())
	}
	about = append(about, "the line: "+referenceTitle(sel.Reference, typeTitle(sel.PitchType)))
	f.subtitle = strings.Join(about, " · ")

	f.notes = []string{"It describes what batters did against such pitches; it does not say what a change would cause. " +
		"Workload and mechanics belong to the coaches and the medical staff."}
	var caveats []string
	for _, p := range f.panels {
		for _, s := range p.series {
			if s.verdict == nil || len(s.verdict.Warnings) == 0 {
				continue
			}
			name := s.matchup.String()
			if s.second {
				name += " of " + s.source
			}
			codes := make([]string, len(s.verdict.Warnings))
			for i, w := range s.verdict.Warnings {
				codes[i] = wording.Spaced(w)
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
	if s.verdict == nil {
		return "No verdict: no such pitch was thrown in this matchup, or its " + f.variable.title + " is not in the data."
	}
	breadth := " over the central 90" + wording.NoBreak + "% of the pitches"
	if s.verdict.Everywhere {
		breadth = " at every value seen"
	}
	edges := f.zones(s)
	switch word := s.verdict.Verdict; word {
	case "found":
		return "Found: " + edges + "."
	case "always_beats", "never_beats":
		text := wording.Sentence(wording.Spaced(word)) + " the line," + breadth
		if edges != "" {
			text += "; yet it " + edges
		}
		return text + "."
	case "edge_unresolved":
		trend := s.verdict.Trend
		if trend == "" || trend == "flat" {
			trend = "it changes"
		}
		return "Edge unresolved: " + trend + " along " + f.variable.title + ", but no place where it passes the line is pinned down."
	case "inconclusive":
		return "Inconclusive: no change along " + f.variable.title + " could be shown, which does not prove there is none."
	case "too_few":
		if s.verdict.Settle == "" {
			return "Too few pitches or pitchers for a verdict."
		}
		return "Too few pitches or pitchers: " + strings.TrimSuffix(s.verdict.Settle, ".") + "."
	default:
		return wording.Sentence(wording.Spaced(word)) + "."
	}
}

// zones says where the curve beats the line, or else where it falls behind;
// empty where no edge is confirmed.
func (f *Figure) zones(s *series) string {
	for _, sign := range []int64{1, -1} {
		var parts []string
		for i := range s.zones {
			if z := &s.zones[i]; z.Sign == sign {
				if words := f.zone(z); words != "" {
					parts = append(parts, words)
				}
			}
		}
		if len(parts) > 0 {
			verb := "beats the line "
			if sign < 0 {
				verb = "falls behind the line "
			}
			return verb + strings.Join(parts, " and ")
		}
	}
	return ""
}

// zone says where one zone lies, with the intervals of its edges.
func (f *Figure) zone(z *thresholds.Zone) string {
	v := f.variable
	edge := func(kind string, x, lo, hi *float64) string {
		if kind != "edge" || x == nil {
			return ""
		}
		return v.withUnit(v.number(*x)) + wording.NoBreak + v.interval(lo, hi)
	}
	lower := edge(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi)
	upper := edge(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi)
	var text string
	switch {
	case lower != "" && upper != "":
		text = "from " + lower + " to " + upper
	case lower != "":
		text = "from " + lower + wording.NoBreak + "up"
	case upper != "":
		text = "up to " + upper
	default:
		return ""
	}
	switch {
	case z.LowerKind == "unresolved" && z.Lower != nil:
		text += ", sure from " + v.number(*z.Lower)
	case z.UpperKind == "unresolved" && z.Upper != nil:
		text += ", sure to " + v.number(*z.Upper)
	}
	if z.Weak {
		text += ", weakly supported"
	}
	return text
}

// interval formats an interval in brackets; a limit that is not pinned is a
// question mark.
func (v variable) interval(lo, hi *float64) string {
	text := func(p *float64) string {
		if p == nil {
			return "?"
		}
		return v.number(*p)
	}
	l, h := text(lo), text(hi)
	if strings.Contains(l+h, "−") || strings.Contains(l+h, "?") {
		return "(" + l + wording.NoBreak + "to" + wording.NoBreak + h + ")"
	}
	return "(" + l + "–" + h + ")"
}

// sample says how much stands behind a curve.
func (f *Figure) sample(s *series) string {
	if s.verdict == nil {
		return ""
	}
	return wording.Count(s.verdict.Events) + " " + f.outcome.events + " by " + wording.Plural(s.verdict.Pitchers, "pitcher")
}

func typeTitle(word string) string {
	switch word {
	case "":
		return "pitch without a type"
	case "four_seam":
		return "four-seam"
	}
	return wording.Spaced(word)
}

// referenceTitle says what a line is, for a pitch type.
func referenceTitle(name, pitchType string) string {
	i := strings.LastIndex(name, "_")
	if i < 0 {
		return wording.Spaced(name)
	}
	whose := map[string]string{
		"pitch_type": "on the " + pitchType + " over all matchups",
		"hand":       "on the " + pitchType + " from the pitcher's hand",
		"matchup":    "on the " + pitchType + " in the same matchup",
		"league":     "over all pitch types",
		"stratum":    "on the " + pitchType + " in this split",
	}[name[:i]]
	kind := map[string]string{"median": "rate of the median pitcher ", "rate": "pooled rate "}[name[i+1:]]
	if whose == "" || kind == "" {
		return wording.Spaced(name)
	}
	return kind + whose
}
