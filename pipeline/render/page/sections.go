package page

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// qualityReport is what the page tells of quality.json.
type qualityReport struct {
	Rows struct {
		Read     int64 `json:"rows_read"`
		Used     int64 `json:"rows_used"`
		Rejected int64 `json:"rows_rejected"`
		Rules    []struct {
			Code    string `json:"code"`
			Effect  string `json:"effect"`
			Meaning string `json:"meaning"`
			Rows    int64  `json:"rows"`
		} `json:"rules"`
	} `json:"rows"`
	Warnings []struct {
		Code   string `json:"code"`
		Detail string `json:"detail"`
	} `json:"warnings"`
	Variables []struct {
		Variable   string `json:"variable"`
		Definition string `json:"definition"`
		Origin     string `json:"origin"`
	} `json:"variables"`
	Pitchers int64 `json:"pitchers"`
	Batters  int64 `json:"batters"`
	Games    int64 `json:"games"`
}

// changes is what the page tells of diff.json.
type changes struct {
	Summary string `json:"summary"`
	From    struct {
		Version string `json:"version"`
	} `json:"from"`
	Notes []string `json:"notes"`
	Rows  []change `json:"rows"`
}

type change struct {
	Kind string `json:"kind"`
	thresholds.Key
	Reference    string   `json:"reference"`
	Change       string   `json:"change"`
	To           *float64 `json:"to"`
	Difference   *float64 `json:"difference"`
	DifferenceLo *float64 `json:"difference_lo"`
	DifferenceHi *float64 `json:"difference_hi"`
	Q            *float64 `json:"q"`
	Together     int64    `json:"together"`
	FromVerdict  string   `json:"from_verdict"`
	ToVerdict    string   `json:"to_verdict"`
}

// moved says how far the breakpoints of a panel moved since the version before,
// and else what became of its verdict.
func (c *changes) moved(p *panel, q curve.Quality, reference string) string {
	if c.From.Version == "" {
		return ""
	}
	var parts []string
	for i := range c.Rows {
		r := &c.Rows[i]
		if r.Key != p.Verdict.Key || r.Reference != reference {
			continue
		}
		by := ""
		if r.Difference != nil {
			by = words.Signed(*r.Difference, q.Decimals)
			if r.DifferenceLo != nil && r.DifferenceHi != nil {
				by += " (" + words.Span(words.Signed(*r.DifferenceLo, q.Decimals), words.Signed(*r.DifferenceHi, q.Decimals)) + ")"
			}
		}
		switch {
		case r.Kind == "verdict" && r.FromVerdict != r.ToVerdict && r.FromVerdict != "":
			parts = append(parts, "was "+verdictOf(r.FromVerdict).Short)
		case r.Kind != "threshold":
		case r.Change == "moved":
			parts = append(parts, words.Told("moved by "+by, true, r.Q, r.Together))
		case r.Change == "within_error":
			parts = append(parts, by+": "+r.not("no move shown"))
		case r.Change == "cannot_tell":
			parts = append(parts, strings.TrimPrefix(by+": "+r.not("cannot tell"), ": "))
		case r.Change == "appeared":
			parts = append(parts, "new here")
		case r.Change == "vanished":
			parts = append(parts, "one is gone")
		case r.Change == "re_estimated":
			parts = append(parts, strings.TrimSuffix("same data, estimated anew: "+by, ": "))
		}
	}
	if len(parts) == 0 {
		return "as before"
	}
	return strings.Join(parts, "; ")
}

// not adds to what is said of a move that is not shown the q that says so, where the
// limits alone would show it.
func (r *change) not(said string) string {
	if !words.Apart(r.DifferenceLo, r.DifferenceHi) {
		return said
	}
	return words.Told(said, false, r.Q, r.Together)
}

// contrasts are the comparisons of matchups that the page tells.
type contrasts struct {
	Edges        []edgeContrast
	NotEstimable int
	Pairs        []string
	Levels       []levelRow
}

type edgeContrast struct {
	Type, Variable, Outcome, A, B, Estimate, Within, Verdict string
	Differs                                                  bool
}

// levelRow tells of one pitch type, by pair, how many curves differ.
type levelRow struct {
	Type  string
	Cells []string
}

// tellContrasts gathers the comparisons within a pitch type over all pitches;
// those of splits are families of their own.
func tellContrasts(all []thresholds.Contrast, m *thresholds.Manifest, reference string) contrasts {
	type tally struct{ differ, all int }
	type compared struct{ pair, pitchType, variable, outcome string }
	var out contrasts
	var types []string
	seen, levels := map[compared]bool{}, map[[2]string]tally{}
	for i := range all {
		c := &all[i]
		if c.TypeA != c.TypeB || c.Stratum != "" {
			continue
		}
		switch {
		case c.Kind == "level":
			k := compared{c.Pair, c.TypeA, c.Variable, c.Outcome}
			if seen[k] || c.Verdict == "not_estimable" {
				continue
			}
			seen[k] = true
			if !slices.Contains(out.Pairs, c.Pair) {
				out.Pairs = append(out.Pairs, c.Pair)
			}
			if !slices.Contains(types, c.TypeA) {
				types = append(types, c.TypeA)
			}
			n := levels[[2]string{c.TypeA, c.Pair}]
			n.all++
			if c.Verdict == "differs" {
				n.differ++
			}
			levels[[2]string{c.TypeA, c.Pair}] = n
		case c.Reference != reference:
		case c.Verdict == "not_estimable" || c.Estimate == nil:
			out.NotEstimable++
		default:
			q := qualityOf(m, c.Variable, "")
			e := edgeContrast{Type: words.Type(c.TypeA), Variable: q.Title, Outcome: words.OutcomeOf(c.Outcome).Title,
				A: words.Matchup(c.HandA, c.SideA), B: words.Matchup(c.HandB, c.SideB),
				Estimate: words.WithUnit(words.Signed(*c.Estimate, q.Decimals), q.Unit),
				Within:   q.Interval(c.Lo, c.Hi), Differs: c.Verdict == "differs",
				Verdict: words.Told(words.Spaced(c.Verdict), words.Apart(c.Lo, c.Hi) == (c.Verdict == "differs"), c.Q, c.Together)}
			out.Edges = append(out.Edges, e)
		}
	}
	for _, t := range types {
		r := levelRow{Type: words.Type(t)}
		for _, p := range out.Pairs {
			n := levels[[2]string{t, p}]
			r.Cells = append(r.Cells, words.Count(int64(n.differ))+" of "+words.Count(int64(n.all)))
		}
		out.Levels = append(out.Levels, r)
	}
	for i, p := range out.Pairs {
		out.Pairs[i] = words.PairMatchups(p)
	}
	return out
}

// referenceRow is one line.
type referenceRow struct{ Type, Outcome, Name, Value, Within, Qualified, Gap string }

// tellReferences gathers the lines that hold for all matchups together.
func tellReferences(all []thresholds.Reference) []referenceRow {
	var out []referenceRow
	for i := range all {
		r := &all[i]
		if r.Hand != "" || r.Side != "" || r.Value == nil {
			continue
		}
		row := referenceRow{Type: cmp.Or(words.Type(r.PitchType), "all pitch types"), Outcome: words.OutcomeOf(r.Outcome).Title,
			Name: words.LineOn(r.Reference, "of the pitch type"), Value: words.Rate(*r.Value), Within: "–", Qualified: words.Count(r.Qualified), Gap: "–"}
		if r.Lo != nil && r.Hi != nil {
			row.Within = words.Span(words.Rate(*r.Lo), words.Rate(*r.Hi))
		}
		if r.RateMinusMedian != nil && !math.IsNaN(*r.RateMinusMedian) {
			row.Gap = words.Signed(*r.RateMinusMedian, 3)
		}
		out = append(out, row)
	}
	return out
}
