package curve

import (
	"strings"

	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// Quality describes the quality along an axis.
type Quality struct {
	Name, Title, Unit string
	Width             float64 // of a bin
	Decimals          int
}

// QualityOf finds a quality among those of a version; one that is not there is
// named by its word and has the unit given.
func QualityOf(known []thresholds.Variable, name, unit string) Quality {
	q := Quality{Name: name, Title: words.Spaced(name), Unit: unit, Width: 1}
	for _, v := range known {
		if v.Name == name {
			q.Title, q.Unit, q.Width = v.Title, v.Unit, v.Width
		}
	}
	switch {
	case q.Width >= 50:
	case q.Width >= 1:
		q.Decimals = 1
	default:
		q.Decimals = 2
	}
	return q
}

// Number formats a value of the quality.
func (q Quality) Number(x float64) string { return words.Number(x, q.Decimals) }

// WithUnit puts the unit behind a number.
func (q Quality) WithUnit(s string) string {
	if q.Unit == "" {
		return s
	}
	return s + words.NoBreak + q.Unit
}

// Axis names the quality with its unit.
func (q Quality) Axis() string {
	if q.Unit == "" {
		return q.Title
	}
	return q.Title + ", " + q.Unit
}

// Interval formats the interval of a breakpoint; a limit that is not pinned is
// a question mark.
func (q Quality) Interval(lo, hi *float64) string {
	text := func(p *float64) string {
		if p == nil {
			return "?"
		}
		return q.Number(*p)
	}
	return Span(text(lo), text(hi))
}

// Span is an interval in words: a dash between plain numbers, else "to".
func Span(lo, hi string) string {
	if strings.ContainsAny(lo+hi, "−?+") {
		return lo + words.NoBreak + "to" + words.NoBreak + hi
	}
	return lo + "–" + hi
}

// Outcome describes an outcome.
type Outcome struct {
	Name, Title string
	Per         string // what it counts, "" where unknown
	Events      string // what it is counted over
	Sign        int    // +1 if more is better for the pitcher, −1 if less is
}

var outcomes = []Outcome{
	{"whiff_rate", "whiff rate", "misses per swing", "swings", 1},
	{"woba_against", "wOBA-against", "value to the batter per plate appearance", "plate appearances", -1},
}

// OutcomeOf describes an outcome; one that is not known is named by its word.
func OutcomeOf(name string) Outcome {
	for _, o := range outcomes {
		if o.Name == name {
			return o
		}
	}
	return Outcome{Name: name, Title: words.Spaced(name), Events: "events", Sign: 1}
}

// TypeTitle is a pitch type as it is spoken of.
func TypeTitle(word string) string {
	switch word {
	case "":
		return "all pitch types"
	case "four_seam":
		return "four-seam"
	}
	return words.Spaced(word)
}

// LineTitle says what a line is, on a pitch type that is spoken of as "of the
// pitch type" or "on the sinker".
func LineTitle(name, on string) string {
	i := strings.LastIndex(name, "_")
	if i < 0 {
		return words.Spaced(name)
	}
	whose := map[string]string{
		"pitch_type": on + " over all matchups",
		"hand":       on + " from the pitcher's hand",
		"matchup":    on + " in the same matchup",
		"league":     "over all pitch types",
		"stratum":    on + " in this split",
	}[name[:i]]
	kind := map[string]string{"median": "rate of the median pitcher ", "rate": "pooled rate "}[name[i+1:]]
	if whose == "" || kind == "" {
		return words.Spaced(name)
	}
	return kind + whose
}

// Where says in words where the curve beats the line, or else where it falls
// behind; "" where no edge is confirmed.
func (c *Curve) Where(q Quality) string {
	for _, sign := range []int64{1, -1} {
		var parts []string
		for _, z := range c.Zones {
			if z.Sign != sign {
				continue
			}
			if s := q.zone(z); s != "" {
				parts = append(parts, s)
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

// SureWords says where a zone is certain, by the ends that no breakpoint and no end of
// the data give: "from 15.0", "to 22.4", "15.0–17.0 and 19.0–22.4"; "" where it is
// certain nowhere, or all the way.
func SureWords(z *thresholds.Zone, format func(float64) string) string {
	if len(z.Certain) != 1 {
		var parts []string
		for _, s := range z.Certain {
			parts = append(parts, format(s.Lo)+"–"+format(s.Hi))
		}
		return strings.Join(parts, " and ")
	}
	var ends []string
	told := func(kind string, end *float64, at float64) bool {
		return kind == "edge" || kind == "open" && end != nil && *end == at
	}
	if s := z.Certain[0]; !told(z.LowerKind, z.Lower, s.Lo) {
		ends = append(ends, "from"+words.NoBreak+format(s.Lo))
	}
	if s := z.Certain[0]; !told(z.UpperKind, z.Upper, s.Hi) {
		ends = append(ends, "to"+words.NoBreak+format(s.Hi))
	}
	return strings.Join(ends, " ")
}

// zone says where one zone lies, with the intervals of its edges.
func (q Quality) zone(z *thresholds.Zone) string {
	edge := func(kind string, x, lo, hi *float64) string {
		if kind != "edge" || x == nil {
			return ""
		}
		return q.WithUnit(q.Number(*x)) + words.NoBreak + "(" + q.Interval(lo, hi) + ")"
	}
	lower, upper := edge(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi), edge(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi)
	var text string
	switch {
	case lower != "" && upper != "":
		text = "from " + lower + " to " + upper
	case lower != "":
		text = "from " + lower + words.NoBreak + "up"
	case upper != "":
		text = "up to " + upper
	default:
		return ""
	}
	if z.LowerKind == "unresolved" || z.UpperKind == "unresolved" {
		if sure := SureWords(z, q.Number); sure != "" {
			text += ", sure " + sure
		}
	}
	if z.Weak {
		text += ", weakly supported"
	}
	return text
}
