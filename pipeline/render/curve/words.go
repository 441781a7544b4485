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

// Axis names the quality with its unit.
func (q Quality) Axis() string {
	if q.Unit == "" {
		return q.Title
	}
	return q.Title + ", " + q.Unit
}

// Interval formats the interval of a breakpoint; a limit that is not pinned is
// a question mark.
func (q Quality) Interval(lo, hi *float64) string { return words.SpanOf(lo, hi, q.Number) }

// Sample says how much stands behind a verdict.
func Sample(v *thresholds.Verdict, o words.Outcome) string {
	return words.Count(v.Events) + " " + o.Events + " by " + words.Plural(v.Pitchers, "pitcher")
}

// Sentence says what was decided about the curve. It is short where the page around
// it says the rest: along which quality, what a verdict means, and what it lacks.
func (c *Curve) Sentence(q Quality, short bool) string {
	along, its, comma := " along "+q.Title, "its "+q.Title, ","
	if short {
		along, its, comma = "", "the quality", ""
	}
	v := c.Verdict
	if v == nil {
		return "No verdict: no such pitch was thrown in this matchup, or " + its + " is not in the data."
	}
	told, edges := words.Sentence(words.VerdictOf(v.Verdict).Short), c.Where(q)
	line := "the line"
	if v.Outcome == thresholds.Joint {
		line = "both lines"
		switch v.Verdict {
		case "edge_unresolved":
			return told + ": no stretch with a breakpoint is certain of both."
		case "inconclusive":
			return told + ": for one of the two no change" + along + " could be shown, which does not prove there is none."
		}
	}
	switch v.Verdict {
	case "found":
		return told + ": " + edges + "."
	case "always_beats", "never_beats":
		breadth := " over the central 90" + words.NoBreak + "% of the pitches"
		if v.Everywhere {
			breadth = " at every value seen"
		}
		if edges != "" {
			edges = "; yet it " + edges
		}
		return told + " " + line + comma + breadth + ", " + words.ExceptSliver + edges + "."
	case "edge_unresolved":
		trend := v.Trend
		if trend == "" || trend == "flat" {
			trend = "it changes"
		}
		return told + ": " + trend + along + ", but no place where it passes the line is confirmed."
	case "inconclusive":
		if short {
			return told + ": no change was shown."
		}
		return told + ": no change" + along + " could be shown, which does not prove there is none."
	case "too_few":
		if short || v.Settle == "" {
			return "Too few pitches or pitchers for a verdict."
		}
		return "Too few pitches or pitchers: " + strings.TrimSuffix(v.Settle, ".") + "."
	}
	return told + "."
}

// Brief says what was decided in as few words as a wall has room for, below a title
// that asks where the line, or both lines, are beaten.
func (c *Curve) Brief(q Quality) string {
	v := c.Verdict
	if v == nil {
		return "no such pitch"
	}
	switch v.Verdict {
	case "found":
		return strings.Join(c.brief(q), " or ")
	case "always_beats", "never_beats":
		told := words.VerdictOf(v.Verdict).Cell
		if !v.Everywhere {
			told += ", over the central 90" + words.NoBreak + "%"
		}
		return told
	case "edge_unresolved":
		if v.Trend == "" || v.Trend == "flat" {
			return "changes, no breakpoint"
		}
		return v.Trend + ", no breakpoint"
	case "inconclusive":
		return "no change shown"
	case "too_few":
		return "too few to judge"
	}
	return words.VerdictOf(v.Verdict).Short
}

// brief says in the fewest words where each zone lies that beats the line, or else
// where those that fall behind.
func (c *Curve) brief(q Quality) []string {
	at := func(e thresholds.Edge) string { return q.Number(e.At) + " (" + q.Interval(e.Lo, e.Hi) + ")" }
	var out []string
	for _, sign := range []int64{1, -1} {
		for _, z := range c.Zones {
			edges := z.Edges()
			switch {
			case z.Sign != sign || len(edges) == 0:
			case len(edges) == 2:
				out = append(out, at(edges[0])+" to "+at(edges[1]))
			case edges[0].Lower:
				out = append(out, "≥"+words.NoBreak+at(edges[0]))
			default:
				out = append(out, "≤"+words.NoBreak+at(edges[0]))
			}
		}
		if len(out) > 0 {
			if sign < 0 {
				out[0] = "behind " + out[0]
			}
			break
		}
	}
	return out
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
			switch joint := c.Verdict != nil && c.Verdict.Outcome == thresholds.Joint; {
			case joint && sign > 0:
				verb = "both beat their lines "
			case joint:
				verb = "one falls behind its line "
			case sign < 0:
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
		return kind == thresholds.EndEdge || kind == thresholds.EndOpen && end != nil && *end == at
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
	at := func(e thresholds.Edge) string {
		return words.WithUnit(q.Number(e.At), q.Unit) + words.NoBreak + "(" + q.Interval(e.Lo, e.Hi) + ")"
	}
	var text string
	switch edges := z.Edges(); {
	case len(edges) == 0:
		return ""
	case len(edges) == 2:
		text = "from " + at(edges[0]) + " to " + at(edges[1])
	case edges[0].Lower:
		text = "from " + at(edges[0]) + words.NoBreak + "up"
	default:
		text = "up to " + at(edges[0])
	}
	if z.LowerKind == thresholds.EndUnresolved || z.UpperKind == thresholds.EndUnresolved {
		if sure := SureWords(z, q.Number); sure != "" {
			text += ", sure " + sure
		}
	}
	if z.Weak {
		text += ", weakly supported"
	}
	return text
}
