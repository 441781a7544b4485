package trial

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/stats"
)

// word is a verdict as programs read it.
func word(v stats.CutoffVerdict) string { return strings.ReplaceAll(v.String(), " ", "_") }

// verdicts are in the order of a summary.
var verdicts = []answer.Verdict{
	{Word: word(stats.CutoffHoldsClearly), Name: "holds clearly", One: "holds clearly", Several: "hold clearly"},
	{Word: word(stats.CutoffHolds), Name: "holds", One: "holds", Several: "hold"},
	{Word: word(stats.CutoffSmall), Name: "real but small", One: "is real but small", Several: "are real but small"},
	{Word: word(stats.CutoffFails), Name: "does not hold", One: "does not hold", Several: "do not hold"},
	{Word: word(stats.CutoffUnderpowered), Name: "cannot tell yet", One: "cannot be told yet", Several: "cannot be told yet"},
	{Word: notMeasured, Name: "cannot be tried", One: "cannot be tried", Several: "cannot be tried"},
}

// InWords is the verdict for people.
func (r *Row) InWords() string {
	name := answer.Named(verdicts, r.Verdict)
	if r.byQ() {
		return words.Plain(words.Told(name, false, r.Q, r.tests))
	}
	return name
}

// byQ tells whether the interval alone would say that the claim holds, and q does not.
func (r *Row) byQ() bool {
	return r.Verdict == word(stats.CutoffUnderpowered) && r.AdvantageLo != nil && *r.AdvantageLo > 0
}

// Title names a claim for people: "four-seam L-v-R · velocity at least 93 mph".
func (r *Row) Title() string {
	if r.claim.Both {
		return r.cell() + " · " + r.quality() + ", " + words.Both.Title
	}
	return r.cell() + " · " + r.quality()
}

// Subject is Title without the outcome.
func (r *Row) Subject() string { return r.cell() + " · " + r.quality() }

// cell is the pitch and the matchup.
func (r *Row) cell() string {
	c := r.claim
	kind := words.Type(r.PitchType)
	switch {
	case c.Hand != pitch.UnknownHand && c.Side != pitch.UnknownSide:
		return kind + " " + pitch.Matchup{Hand: c.Hand, Side: c.Side}.String()
	case c.Hand != pitch.UnknownHand:
		return kind + " by " + r.Hand + "-handers"
	case c.Side != pitch.UnknownSide:
		return kind + " against " + r.Side + "-handed batters"
	}
	return kind + ", all matchups"
}

// quality is the variable and the region.
func (r *Row) quality() string {
	return answer.Variable(r.Variable).Title + " " + strings.ReplaceAll(r.claim.Region.String(), "-", "−") + answer.Unit(r.Unit)
}

// Measured names the outcome.
func (r *Row) Measured() string { return words.OutcomeOf(r.claim.measure()).Title }

// events names n eligible events.
func (r *Row) events(n int64) string {
	return words.Count(n) + " " + r.claim.outcome().Events
}

// there says where a side of the region lies: "at 93 mph and above".
func (r *Row) there(side int) string {
	g, unit := r.at.region, answer.Unit(r.Unit)
	a, b := strings.Replace(plainNumber(g.A), "-", "−", 1), strings.Replace(plainNumber(g.B), "-", "−", 1)
	switch {
	case !g.two() && (g.Kind == AtLeast) == (side == in):
		return "at " + a + unit + " and above"
	case !g.two():
		return "below " + a + unit
	case (g.Kind == Between) == (side == in):
		return "from " + a + " to " + b + unit
	}
	return "below " + a + " or from " + b + unit + " up"
}

// rates says both rates: "batters missed .245 of their swings at …, .180 below …".
func (r *Row) rates() string {
	return fmt.Sprintf("%s %s, %s %s", words.OutcomeOf(r.Outcome).Batters(*r.RateIn), r.there(in), words.Rate(*r.RateOut), r.there(out))
}

// Numbers says the difference and what it rests on, "" where there is too little.
func (r *Row) Numbers() string {
	if r.Advantage == nil {
		return ""
	}
	s := fmt.Sprintf("Difference %s %s: %s %s against %s %s; %s by %d and %d pitchers",
		words.SignedRate(*r.Advantage), words.Interval(r.AdvantageLo, r.AdvantageHi, words.SignedRate),
		words.Rate(*r.RateIn), words.Interval(r.RateInLo, r.RateInHi, words.Rate),
		words.Rate(*r.RateOut), words.Interval(r.RateOutLo, r.RateOutHi, words.Rate),
		words.Count(r.EventsIn)+" and "+r.events(r.EventsOut), r.PitchersIn, r.PitchersOut)
	if r.Q != nil {
		s += "; q " + words.Plain(words.Probability(*r.Q))
	}
	return s + "."
}

// Own says where the league's own breakpoint lies.
func (r *Row) Own() string {
	list := strings.Join(r.Breakpoints, ", ")
	if c := r.claim; c.Hand != pitch.UnknownHand && c.Side != pitch.UnknownSide && len(r.Breakpoints) == 1 {
		_, list, _ = strings.Cut(list, " ") // the title has the matchup
	}
	switch r.Breakpoint {
	case Inside:
		if strings.Contains(list, "?") {
			return "This league's own breakpoint, " + list + ", is not pinned on both sides and does not speak against the cutoff."
		}
		return "This league's own breakpoint, " + list + ", agrees with the cutoff."
	case Elsewhere:
		s := "This league's own breakpoint lies elsewhere, at " + list + "."
		if r.gains() {
			s += " Any cut on a slope holds, so this one is no threshold here."
		}
		return s
	case Mixed:
		if list == "" {
			return ""
		}
		return "The cutoff lies at this league's own breakpoint in some matchups or at one end only: " + list + "."
	case NoneOwn:
		if r.EventsIn+r.EventsOut == 0 {
			return ""
		}
		s := "This league has no confirmed breakpoint of this kind"
		if r.gains() {
			return s + ": the difference is real, but where it begins is not known."
		}
		return s + "."
	}
	return ""
}

// gains tells whether there is a gain.
func (r *Row) gains() bool {
	return r.Verdict == word(stats.CutoffHolds) || r.Verdict == word(stats.CutoffHoldsClearly) || r.Verdict == word(stats.CutoffSmall)
}

// Themselves says what pitchers who throw on both sides show.
func (r *Row) Themselves() string {
	if r.TooFew || r.Verdict == notMeasured || r.claim.Both {
		return ""
	}
	if r.WithinD == nil {
		return fmt.Sprintf("Within the same pitchers: cannot tell, only %s on both sides.", throw(r.WithinBoth))
	}
	numbers := fmt.Sprintf("%s %s, %s", words.SignedRate(*r.WithinD), words.Interval(r.WithinLo, r.WithinHi, words.SignedRate),
		words.Plural(r.WithinBoth, "pitcher"))
	switch r.Within {
	case Shown:
		return "Pitchers who throw on both sides show it themselves: " + numbers + "."
	case Small:
		return "Pitchers who throw on both sides show a little of it themselves: " + numbers + "."
	case NotShown:
		if r.gains() {
			return "Pitchers who throw on both sides do not show it themselves: " + numbers + ". It is more about who throws there than about the pitch."
		}
		if r.Verdict == word(stats.CutoffUnderpowered) {
			return "Pitchers who throw on both sides do not show it themselves: " + numbers + "."
		}
		return "Nor do pitchers who throw on both sides show it themselves: " + numbers + "."
	}
	return "Within the same pitchers the data cannot tell: " + numbers + "."
}

func throw(n int64) string {
	if n == 1 {
		return "1 pitcher throws"
	}
	return words.Count(n) + " pitchers throw enough or at all"
}

// conclude gives the row its verdict, sentence, needs and cautions; tests is how
// many claims were tried together.
func (r *Row) conclude(tests int) {
	r.tests = int64(tests)
	if r.Verdict == notMeasured {
		r.Sentence = "Cannot be tried: this league does not measure " + answer.Variable(r.Variable).Title
		if r.at.inside != nil || r.claim.Definition != "" {
			r.Sentence += " in the same way"
		}
		r.Sentence += "."
		return
	}
	q := answer.Or(r.Q, 1)
	v := r.test.Verdict(q)
	r.Verdict = word(v)
	small := words.Rate(r.Smallest)
	switch {
	case r.EventsIn+r.EventsOut == 0:
		r.Sentence = "Too few to tell: this league has none with a known " + answer.Variable(r.Variable).Title + "."
	case r.TooFew:
		m := r.claim.outcome()
		r.Sentence = fmt.Sprintf("Too few to tell: %s by %s %s, %s by %s %s; each side needs %d %s by %d pitchers, none of whom throws most of them.",
			r.events(r.EventsIn), words.Plural(r.PitchersIn, "pitcher"), r.there(in), r.events(r.EventsOut), words.Plural(r.PitchersOut, "pitcher"), r.there(out),
			m.MinEvents, m.Events, answer.MinPitchers)
	case v == stats.CutoffHoldsClearly:
		r.Sentence = "Holds clearly: " + r.rates() + ", a gain of " + small + " or more."
	case v == stats.CutoffHolds:
		r.Sentence = "Holds: " + r.rates() + ", a real gain; whether it reaches " + small + " is open."
	case v == stats.CutoffSmall:
		r.Sentence = "Real but small: " + r.rates() + ", a real gain but less than " + small + "."
	case v == stats.CutoffFails && r.test.Hi < 0:
		r.Sentence = "Does not hold: " + r.rates() + ", which is the other way round."
	case v == stats.CutoffFails:
		r.Sentence = "Does not hold: " + r.rates() + "; no gain of " + small + " is there, perhaps none at all."
	case r.test.Lo > 0:
		r.Sentence = fmt.Sprintf("Cannot tell yet: %s. Alone this would hold; among %d claims tried together it may be chance (q %s). Another season would tell.", r.rates(), tests, words.Plain(words.Probability(q)))
	default:
		r.Sentence = "Cannot tell yet: " + r.rates() + "; the gain may be " + small + " or none."
	}
	if v == stats.CutoffUnderpowered {
		r.need()
	}
	r.caution()
}

// need says what sample would settle an underpowered claim.
func (r *Row) need() {
	n := r.test.Settle()
	events := float64(r.EventsIn + r.EventsOut)
	switch {
	case math.IsInf(n.Factor, 1):
		r.Sentence += " No sample in reach would settle it: the gain seen is too near " + words.Rate(r.Smallest) + " or nothing."
	case n.Factor > 0 && events > 0 && n.Factor > 1:
		pitches, seasons := n.Factor*float64(r.Pitches), math.Ceil(n.Factor*float64(r.Seasons))
		r.NeedPitcher, r.NeedPitches, r.NeedSeasons = &n.Clusters, &pitches, &seasons
		r.Sentence += fmt.Sprintf(" About %s pitchers, %s pitches of this kind, or %s would probably settle it.",
			words.About(n.Clusters), words.About(pitches), seasonsLike(seasons))
	}
}

func seasonsLike(n float64) string {
	if n > 20 {
		return "more than 20 seasons like these"
	}
	return words.Plural(int64(n), "season") + " like these"
}

// caution adds what must be read before anyone acts on the claim.
func (r *Row) caution() {
	if r.Rounded {
		r.Cautions = append(r.Cautions, "Counted by bins: tried "+strings.ReplaceAll(r.Tried, "-", "−")+" instead; --config counts the claim's own cutoff from the pitches.")
	}
	if len(r.claim.matchups()) > 1 && !r.TooFew {
		r.Cautions = append(r.Cautions, "Several matchups are pooled, and they differ in level: try the claim in each of them too.")
	}
	if !r.ByBatters && !r.TooFew {
		r.Cautions = append(r.Cautions, "Batters are not known, so the intervals are by pitchers alone and somewhat too narrow.")
	}
}

// velocityCaution is printed where a claim is about velocity.
const velocityCaution = "Velocity is nothing to chase: throwing harder than a body is ready for injures arms, and pitchers who throw " +
	"hard differ in more than speed."

// Caution is what stands under every trial.
func (t *Trial) Caution() string {
	s := "This describes what batters did, not what a change would cause. Workload and mechanics belong to the coaches and the medical staff."
	if slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Variable == "velocity" }) {
		return velocityCaution + " " + s
	}
	return s
}

// Summary says the whole in a sentence.
func (t *Trial) Summary() string {
	return fmt.Sprintf("%s tried in %s: %s.", words.Plural(int64(len(t.Rows)), "claim"), t.League, answer.Counted("", verdicts, t.count))
}

// Source is where all claims come from, "" where they come from several places.
func (t *Trial) Source() string {
	if len(t.Rows) == 0 || slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Source != t.Rows[0].Source }) {
		return ""
	}
	return t.Rows[0].Source
}
