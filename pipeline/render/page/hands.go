package page

import (
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// hands says which qualities travel across the hands of batters, which split, and
// of how many neither can be told.
type hands struct {
	Rows                         []handsRow
	Splits, Travels, Untold, All int
}

// handsRow is a quality that travels or splits: the gap in the lowest, middle and
// highest third of the pitches, and its change from the lowest to the highest.
type handsRow struct {
	Type, Hand, Variable, Outcome string
	Verdict, Means                string
	Change                        gap
	Thirds                        []gap
}

// gap is how much better pitchers fare against same-handed than against
// opposite-handed batters, at a value of the quality.
type gap struct{ At, By, Within string }

// tellHands gathers the contrasts of same-handed with opposite-handed batters over
// all pitches. In each the row without a value comes first.
func tellHands(all []thresholds.Contrast, m *thresholds.Manifest) hands {
	var out hands
	told := false
	for i := range all {
		c := &all[i]
		if c.Kind != "platoon" || c.Stratum != "" {
			continue
		}
		q := qualityOf(m, c.Variable, "")
		g := gap{By: words.OrDash(c.Estimate, words.SignedRate), Within: signedSpan(c.Lo, c.Hi)}
		if c.X != nil {
			if last := len(out.Rows) - 1; told {
				g.At = q.Number(*c.X)
				out.Rows[last].Thirds = append(out.Rows[last].Thirds, g)
			}
			continue
		}
		out.All++
		r := handsRow{Type: words.Type(c.TypeA), Hand: c.HandA, Variable: q.Axis(), Outcome: words.OutcomeOf(c.Outcome).Title,
			Verdict: words.Told(c.Verdict, true, c.Q, c.Together), Change: g, Means: across(c)}
		told = true
		switch c.Verdict {
		case "splits":
			out.Splits++
		case "travels":
			out.Travels++
		default:
			out.Untold++
			told = false
			continue
		}
		out.Rows = append(out.Rows, r)
	}
	return out
}

// across says against whom higher values are worth more.
func across(c *thresholds.Contrast) string {
	switch {
	case c.Verdict == "travels":
		return "both alike"
	case c.Lo != nil && *c.Lo > 0:
		return "same-handed"
	case c.Hi != nil && *c.Hi < 0:
		return "opposite-handed"
	}
	return "the middle third"
}

// signedSpan is the interval of a difference of rates.
func signedSpan(lo, hi *float64) string {
	if lo == nil || hi == nil {
		return "no interval"
	}
	return words.Span(words.SignedRate(*lo), words.SignedRate(*hi))
}
