package calibrate

import (
	"math"
	"slices"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

// headline are the references that the studies look at.
var headline = []string{demo.TypeMedian, demo.TypeRate}

// report is how one league's table fared against the truth.
type report struct {
	edges    []answer
	verdicts []judged
	levels   []leveled
	lines    []lined
	chances  []chance
}

// chance is a true crossing with enough events on both sides to be told.
type chance struct {
	curve     curve
	confirmed bool
}

// telling is the least share of events in the stretches beside a crossing that
// counts as a chance.
const telling = .05

// answer is a confirmed edge, held against the nearest true crossing of its
// direction.
type answer struct {
	curve curve
	edge  edge
	to    int     // index of the crossing; −1 where there is none
	held  bool    // the interval holds the crossing
	off   float64 // from the crossing; NaN where there is none
}

// judged is one verdict.
type judged struct {
	curve   curve
	verdict string
	reject  bool // not taken to be flat
	wrong   bool // always or never, and more than a sliver of the central events says otherwise
}

// leveled is the level of a cell, one for all variables.
type leveled struct {
	curve     curve
	wrong     int // +1 wrongly above, −1 wrongly below
	held      bool
	estimable bool
}

// lined is a line: whether its interval holds the true one.
type lined struct {
	line line
	held bool
}

// score holds a table against the truth.
func score(t *truth, tables *thresholds.Tables) report {
	var r report
	found := edgesOf(tables)
	for i := range tables.Verdicts {
		v := &tables.Verdicts[i]
		c := curve{v.Key, v.Reference}
		if _, known := t.crossings[c]; !known || !slices.Contains(headline, v.Reference) {
			continue
		}
		j := judged{curve: c, verdict: v.Verdict, reject: v.Q != nil && *v.Q <= locate.DefaultOptions().Discovery}
		switch v.Verdict {
		case locate.AlwaysBeats:
			j.wrong = t.against(c, +1)
		case locate.NeverBeats:
			j.wrong = t.against(c, -1)
		}
		r.verdicts = append(r.verdicts, j)
		answered := map[int]bool{}
		for _, e := range found[c] {
			a := answer{curve: c, edge: e, to: t.nearest(c, e), off: math.NaN()}
			if a.to >= 0 {
				x := t.crossings[c][a.to].x
				a.held, a.off = e.holds(x), e.x-x
			}
			r.edges = append(r.edges, a)
			answered[a.to] = true
		}
		for k, x := range t.crossings[c] {
			if x.share >= telling && v.Verdict != locate.TooFew {
				r.chances = append(r.chances, chance{c, answered[k]})
			}
		}
		if v.Variable == "velocity" {
			r.levels = append(r.levels, t.level(v))
		}
	}
	for i := range tables.References {
		x := &tables.References[i]
		l := line{x.PitchType, x.Hand, x.Side, x.Outcome, x.Reference}
		if m, known := t.lines[l]; known && x.Lo != nil && x.Hi != nil {
			r.lines = append(r.lines, lined{l, *x.Lo <= m && m <= *x.Hi})
		}
	}
	return r
}

// level holds the level of a cell against the true one.
func (t *truth) level(v *thresholds.Verdict) leveled {
	c := curve{v.Key, v.Reference}
	at := c
	at.Variable = ""
	level, known := t.levels[at]
	out := leveled{curve: c, estimable: known && v.LevelLo != nil && v.LevelHi != nil}
	if !out.estimable {
		return out
	}
	out.held = *v.LevelLo <= level && level <= *v.LevelHi
	switch {
	case v.LevelVerdict == locate.Above && level < 0:
		out.wrong = +1
	case v.LevelVerdict == locate.Below && level > 0:
		out.wrong = -1
	}
	return out
}

// share is how often something happened over many leagues, with its error from
// the spread between leagues: edges of one league share pitchers and are not
// independent. of takes a league's hits and trials.
func share(design, measure string, reports []report, bar calibrate.Bar, earlier string, of func(*report) (hits, trials int)) calibrate.Finding {
	hits, trials := make([]float64, len(reports)), make([]float64, len(reports))
	var h, n float64
	for i := range reports {
		a, b := of(&reports[i])
		hits[i], trials[i] = float64(a), float64(b)
		h, n = h+hits[i], n+trials[i]
	}
	return calibrate.Finding{Design: design, Measure: measure, Value: h / n, SE: ratioError(hits, trials),
		Of: int(n), Bar: bar, Earlier: earlier}
}

// ratioError is the standard error of Σhits/Σtrials over leagues, by
// linearisation (Cochran, Sampling Techniques, 1977, section 2.11).
func ratioError(hits, trials []float64) float64 {
	var h, n float64
	for i := range hits {
		h, n = h+hits[i], n+trials[i]
	}
	k, squares := float64(len(hits)), 0.0
	for i := range hits {
		d := hits[i] - h/n*trials[i]
		squares += d * d
	}
	return math.Sqrt(squares*k/(k-1)) / n
}

// among counts those edges of a report that where takes and of these the held.
func among(where func(*answer) bool) func(*report) (hits, trials int) {
	return func(r *report) (hits, trials int) {
		for i := range r.edges {
			if a := &r.edges[i]; where(a) {
				trials++
				if a.held {
					hits++
				}
			}
		}
		return hits, trials
	}
}
