package trial

import (
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// atOnce are the outcomes that a claim on both is on.
var atOnce = [...]int{outcome.Whiff, outcome.WOBA}

// worst orders verdicts from the best; of a claim on several outcomes the worst stands.
var worst = []string{word(stats.CutoffHoldsClearly), word(stats.CutoffHolds), word(stats.CutoffSmall), word(stats.CutoffUnderpowered),
	word(stats.CutoffFails), notMeasured}

// tryBoth measures a claim on both outcomes at once. Its p is the largest of theirs: it
// holds only where it holds in each (an intersection–union test; Berger, Technometrics
// 24, 1982). It has no rate of its own.
func (l *League) tryBoth(c Claim) Row {
	var parts []Row
	for _, m := range atOnce {
		one := c
		one.Both, one.Metric, one.Smallest = false, m, outcome.Metrics[m].Delta
		parts = append(parts, l.try(one))
	}
	first := parts[0].Columns
	r := Row{claim: c, at: parts[0].at, parts: parts, Columns: Columns{Line: first.Line, PitchType: first.PitchType, Hand: first.Hand, Side: first.Side,
		Variable: first.Variable, Unit: first.Unit, Region: first.Region, Outcome: thresholds.Joint, Source: first.Source,
		Tried: first.Tried, Rounded: first.Rounded, Pitches: first.Pitches, Seasons: first.Seasons,
		EventsIn: first.EventsIn, EventsOut: first.EventsOut, PitchersIn: first.PitchersIn, PitchersOut: first.PitchersOut,
		ByBatters: first.ByBatters, Within: CannotTell, Breakpoints: []string{}, Cautions: []string{}}}
	if first.Verdict == notMeasured {
		r.Verdict = notMeasured
		return r
	}
	r.against(l)
	for i := range parts {
		p := &parts[i]
		r.TooFew = r.TooFew || p.TooFew
		r.ByBatters = r.ByBatters && p.ByBatters
		if p.P != nil && (r.P == nil || *p.P > *r.P) {
			r.P = p.P
		}
	}
	if r.TooFew {
		r.P = nil
	}
	return r
}

// concludeBoth gives a claim on every outcome its verdict, after its parts have theirs.
func (r *Row) concludeBoth(tests int) {
	var each []string
	for i := range r.parts {
		p := &r.parts[i]
		p.conclude(tests)
		if i == 0 || slices.Index(worst, p.Verdict) > slices.Index(worst, r.Verdict) {
			r.Verdict = p.Verdict
		}
		each = append(each, fmt.Sprintf("%s in %s", one(p.Verdict), p.Measured()))
		r.Parts = append(r.Parts, p.Columns)
		for _, need := range []struct{ into, of **float64 }{{&r.NeedPitcher, &p.NeedPitcher}, {&r.NeedPitches, &p.NeedPitches}, {&r.NeedSeasons, &p.NeedSeasons}} {
			if n := *need.of; n != nil && (*need.into == nil || *n > **need.into) {
				*need.into = n
			}
		}
	}
	if r.Verdict == notMeasured {
		r.Sentence = r.parts[0].Sentence
		return
	}
	r.Sentence = ": it " + strings.Join(each, " and ") + "."
	if r.gains() && answer.Or(r.Q, 1) > answer.Discovery {
		r.Verdict = word(stats.CutoffUnderpowered)
		r.Sentence += fmt.Sprintf(" Among %d claims tried together both at once may be chance (q %s).", tests, words.Plain(words.Probability(*r.Q)))
	}
	r.Sentence = words.Sentence(r.InWords()) + r.Sentence
	r.caution()
}

// one says what a verdict says of one claim: "holds clearly".
func one(verdict string) string {
	return verdicts[slices.IndexFunc(verdicts, func(v answer.Verdict) bool { return v.Word == verdict })].One
}

// Single are the claims on one outcome each that a claim on both stands for, nil of
// any other.
func (r *Row) Single() []Row { return r.parts }
