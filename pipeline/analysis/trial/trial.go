package trial

import (
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// League is what claims are tried in.
type League struct {
	Name    string
	Tally   *tally.Tally
	Scoring outcome.Scoring
	Batters bool // count batters as clusters where they are known
	// Zones are the league's own, against Reference; nil where it has no published
	// version.
	Zones []thresholds.Zone
}

// Reference is the line whose breakpoints a claim's cutoff is held against.
const Reference = thresholds.HeadlineReference

// notMeasured is the verdict on a claim whose variable the league does not know,
// or measures otherwise.
const notMeasured = "not_measured"

// Columns are what is told of one claim. Numbers are null where there are too few
// data for a verdict.
type Columns struct {
	Claim       int64    `json:"claim" doc:"number of the claim in its file, from 1"`
	Line        int64    `json:"line" doc:"line of the file, 0 for a published threshold"`
	PitchType   string   `json:"pitch_type" doc:"pitch type"`
	Hand        string   `json:"hand" doc:"hand of the pitcher, empty for both"`
	Side        string   `json:"side" doc:"side of the batter, empty for both"`
	Variable    string   `json:"variable" doc:"quality of the pitch"`
	Unit        string   `json:"unit" doc:"unit of the variable"`
	Region      string   `json:"region" doc:"where the claim says the pitch is better"`
	Outcome     string   `json:"outcome" doc:"whiff_rate, woba_against, or joint: both at once, with no rate of its own and the larger p"`
	Smallest    float64  `json:"smallest" unit:"outcome" doc:"smallest advantage of interest; 0 of both at once, where each has its own"`
	Source      string   `json:"source" doc:"where the claim comes from"`
	Tried       string   `json:"tried" doc:"the region that was tried: the claim's, or the nearest edges of bins"`
	Rounded     bool     `json:"rounded" doc:"whether the bounds were moved to edges of bins"`
	Verdict     string   `json:"verdict" doc:"holds_clearly, holds, real_but_small, does_not_hold, underpowered or not_measured"`
	TooFew      bool     `json:"too_few" doc:"whether a side has too few events or pitchers for any number"`
	Sentence    string   `json:"sentence" doc:"the verdict in a sentence"`
	Pitches     int64    `json:"pitches" unit:"count" doc:"pitches on both sides whose variable is known"`
	Seasons     int64    `json:"seasons" unit:"count" doc:"seasons that hold such pitches"`
	EventsIn    int64    `json:"events_inside" unit:"count" doc:"eligible events inside the region: swings, or counted plate appearances"`
	EventsOut   int64    `json:"events_outside" unit:"count" doc:"the same outside it"`
	PitchersIn  int64    `json:"pitchers_inside" unit:"count" doc:"pitchers with an event inside the region"`
	PitchersOut int64    `json:"pitchers_outside" unit:"count" doc:"the same outside it"`
	ByBatters   bool     `json:"by_batters" doc:"whether the interval of the difference counts batters as clusters too"`
	RateIn      *float64 `json:"rate_inside" unit:"outcome" doc:"rate inside the region"`
	RateInLo    *float64 `json:"rate_inside_lo" unit:"outcome" doc:"its lower 95 % limit"`
	RateInHi    *float64 `json:"rate_inside_hi" unit:"outcome" doc:"its upper 95 % limit"`
	RateOut     *float64 `json:"rate_outside" unit:"outcome" doc:"rate outside the region"`
	RateOutLo   *float64 `json:"rate_outside_lo" unit:"outcome" doc:"its lower 95 % limit"`
	RateOutHi   *float64 `json:"rate_outside_hi" unit:"outcome" doc:"its upper 95 % limit"`
	Advantage   *float64 `json:"advantage" unit:"outcome" doc:"inside against outside, positive is good for the pitcher"`
	AdvantageLo *float64 `json:"advantage_lo" unit:"outcome" doc:"its lower 95 % limit"`
	AdvantageHi *float64 `json:"advantage_hi" unit:"outcome" doc:"its upper 95 % limit"`
	DF          *float64 `json:"df" doc:"degrees of freedom of the interval"`
	P           *float64 `json:"p" doc:"one-sided p value of no advantage"`
	Q           *float64 `json:"q" doc:"p after Benjamini-Hochberg over the claims tried together that had enough data"`
	Breakpoint  string   `json:"breakpoint" doc:"the cutoff against the league's own breakpoints: inside all their intervals, elsewhere, mixed by matchup, none, or unknown"`
	Breakpoints []string `json:"breakpoints" doc:"the league's own breakpoints of the claim's direction, by matchup"`
	Within      string   `json:"within" doc:"whether pitchers who throw on both sides show it themselves: shown, small, not_shown, cannot_tell"`
	WithinBoth  int64    `json:"within_pitchers" unit:"count" doc:"pitchers with an event on both sides"`
	WithinD     *float64 `json:"within_advantage" unit:"outcome" doc:"advantage inside against outside within the same pitchers"`
	WithinLo    *float64 `json:"within_advantage_lo" unit:"outcome" doc:"its lower 95 % limit"`
	WithinHi    *float64 `json:"within_advantage_hi" unit:"outcome" doc:"its upper 95 % limit"`
	NeedPitcher *float64 `json:"need_pitchers" unit:"count" doc:"pitchers in all that would probably settle an unsettled claim"`
	NeedPitches *float64 `json:"need_pitches" unit:"count" doc:"pitches that would"`
	NeedSeasons *float64 `json:"need_seasons" unit:"count" doc:"seasons like those counted that would"`
	Cautions    []string `json:"cautions" doc:"sentences to read before anyone acts on it"`
}

// Row is what became of one claim.
type Row struct {
	Columns
	Parts []Columns `json:"parts,omitempty" doc:"of a claim on both outcomes at once, one for each"`

	claim Claim
	at    placing
	test  stats.Cutoff
	tests int64 // claims tried together that had enough data
	parts []Row // of a claim on both outcomes at once, one each
}

// Trial is what became of the claims, in their order.
type Trial struct {
	League string
	Rows   []Row
}

// Try tries claims in a league. The claims with enough data are one family of
// tests.
func Try(claims []Claim, l League) *Trial {
	t := &Trial{League: l.Name, Rows: make([]Row, len(claims))}
	for i, c := range claims {
		r := &t.Rows[i]
		if c.Both {
			*r = l.tryBoth(c)
		} else {
			*r = l.try(c)
		}
		r.Claim = int64(i + 1)
	}
	tests := t.control(func(r *Row) *Row { return r })
	for k := range atOnce {
		t.control(func(r *Row) *Row {
			if r.claim.Both {
				return &r.parts[k]
			}
			return r
		})
	}
	for i := range t.Rows {
		if r := &t.Rows[i]; r.claim.Both {
			r.concludeBoth(tests)
		} else {
			r.conclude(tests)
		}
	}
	return t
}

// control gives one row a claim its q among those of all claims with enough data, and
// counts them. The parts of a claim on both outcomes are judged each in the whole's
// place.
func (t *Trial) control(of func(*Row) *Row) (tests int) {
	var judged answer.Family
	for i := range t.Rows {
		if r := of(&t.Rows[i]); r.Verdict == "" && !r.TooFew {
			r.Q = new(float64)
			judged.Add(*r.P, r.Q)
			tests++
		}
	}
	judged.Control()
	return tests
}

// try measures a claim, all but its q and what follows from it.
func (l *League) try(c Claim) Row {
	r := Row{claim: c, Columns: Columns{Line: int64(c.Line), PitchType: c.Type.String(), Hand: c.Hand.String(), Side: c.Side.String(),
		Variable: c.Variable, Unit: answer.Variable(c.Variable).Unit,
		Region: c.Region.String(), Outcome: c.outcome().Name, Smallest: c.Smallest, Source: c.Source, Within: CannotTell,
		Breakpoints: []string{}, Cautions: []string{}}}
	p, ok := place(l.Tally, c)
	if !ok || c.Definition != "" && c.Definition != l.Tally.Variables[p.variable].Definition {
		r.Verdict = notMeasured
		return r
	}
	r.at, r.Tried, r.Rounded = p, p.region.String(), p.rounded
	r.against(l)
	sides, seasons := l.count(c, p)
	r.ByBatters = l.Batters && answer.BattersKnown(sides[in], sides[out])
	r.test = answer.Compare(sides[in], sides[out], answer.Requirements(c.Metric, c.Smallest), r.ByBatters)
	r.Pitches, r.Seasons = sides[in].Pitches+sides[out].Pitches, int64(seasons)
	r.EventsIn, r.EventsOut = int64(r.test.Inside.Events), int64(r.test.Outside.Events)
	r.PitchersIn, r.PitchersOut = int64(r.test.Inside.Clusters), int64(r.test.Outside.Clusters)
	r.TooFew = r.test.Shortage != stats.CutoffEnough
	if r.TooFew {
		return r
	}
	inside, outside := sides[in].Rate(c.Metric, r.ByBatters), sides[out].Rate(c.Metric, r.ByBatters)
	r.RateIn, r.RateInLo, r.RateInHi = answer.Null(inside.Rate), answer.Null(inside.Lo), answer.Null(inside.Hi)
	r.RateOut, r.RateOutLo, r.RateOutHi = answer.Null(outside.Rate), answer.Null(outside.Lo), answer.Null(outside.Hi)
	r.Advantage, r.AdvantageLo, r.AdvantageHi = answer.Null(r.test.D), answer.Null(r.test.Lo), answer.Null(r.test.Hi)
	r.DF, r.P = answer.Null(r.test.DF), answer.Null(r.test.P)
	r.within(&sides[in].Pitchers, &sides[out].Pitchers)
	return r
}

// What pitchers who throw on both sides of a cutoff show themselves.
const (
	Shown      = "shown"
	Small      = "small"
	NotShown   = "not_shown"
	CannotTell = "cannot_tell"
)

// within compares each pitcher's own events on the two sides:
//
//	d = Σ w(r_in − r_out)/Σw,  w = n_in·n_out/(n_in + n_out)
//
// over pitchers with events on both, with its error from leaving out one at a time
// and (Σw)²/Σw² − 1 degrees of freedom. It is the slope inside pitchers on the
// indicator of the region (stats.WithinBetween).
func (r *Row) within(a, b *stats.Sums) {
	var own, weights []float64
	var sum, sumW, inside, outside float64
	for k := range a.N {
		if a.N[k] == 0 || b.N[k] == 0 {
			continue
		}
		d, w := a.Y[k]/a.N[k]-b.Y[k]/b.N[k], a.N[k]*b.N[k]/(a.N[k]+b.N[k])
		own, weights = append(own, d), append(weights, w)
		sum += float64(w * d)
		sumW += w
		inside += a.N[k]
		outside += b.N[k]
	}
	r.WithinBoth = int64(len(own))
	sign, minEvents := float64(r.claim.outcome().Sign), float64(r.claim.outcome().MinEvents)
	effective := stats.EffectiveNumber(weights)
	if len(own) < answer.MinPitchers || effective < answer.MinEffective || min(inside, outside) < minEvents {
		return
	}
	without := make([]float64, len(own))
	for k, d := range own {
		without[k] = (sum - float64(weights[k]*d)) / (sumW - weights[k])
	}
	se := math.Sqrt(stats.JackknifeVariance(without))
	if se == 0 {
		return
	}
	e := answer.Student(sign*sum/sumW, se, max(1, effective-1))
	r.WithinD, r.WithinLo, r.WithinHi = e.Columns()
	switch {
	case e.Lo > 0 && e.Hi < r.Smallest:
		r.Within = Small
	case e.Lo > 0:
		r.Within = Shown
	case e.Hi < r.Smallest:
		r.Within = NotShown
	}
}

// Fails tells whether any claim was found not to hold.
func (t *Trial) Fails() bool { return t.Count(stats.CutoffFails) > 0 }

// Unsettled tells whether any claim could not be judged.
func (t *Trial) Unsettled() bool { return t.count(notMeasured)+t.Count(stats.CutoffUnderpowered) > 0 }

// Count is the number of claims with a verdict.
func (t *Trial) Count(v stats.CutoffVerdict) int { return t.count(word(v)) }

func (t *Trial) count(verdict string) int {
	return answer.Count(t.Rows, func(r *Row) bool { return r.Verdict == verdict })
}
