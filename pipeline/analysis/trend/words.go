package trend

import (
	"fmt"
	"slices"
	"strings"

	"sill/pipeline/render/words"
)

// between formats limits in brackets.
func between(lo, hi *float64, format func(float64) string) string {
	if lo == nil || hi == nil {
		return ""
	}
	return " (" + format(*lo) + " to " + format(*hi) + ")"
}

// moved says what became of the quality.
func (r *Row) moved(x *variable) string {
	unit := ""
	if r.Unit != "" {
		unit = words.NoBreak + r.Unit
	}
	if r.Verdict == TooFew {
		return fmt.Sprintf("%s: too few swings to tell (%s before, %s after)", x.title, words.Count(r.SwingsA), words.Count(r.SwingsB))
	}
	at := func(value float64) string { return words.Number(value, x.decimals) }
	by := func(change float64) string { return words.Signed(change, x.decimals) }
	said := map[string]string{Moved: "it moved", Stayed: "it stayed, but for less than " + words.Number(r.Smallest, x.decimals) + unit,
		CannotTell: "whether it moved cannot be told"}[r.Verdict]
	return fmt.Sprintf("%s went from %s to %s%s, %s%s of it his own; %s", x.title, at(*r.Before), at(*r.After), unit,
		by(*r.Own), between(r.OwnLo, r.OwnHi, by), r.Told(said))
}

// Told adds to what is said of the quality the q that it rests on: where it moved, and
// where his own change leaves out 0 and may yet be chance.
func (r *Row) Told(said string) string {
	apart := words.Apart(r.OwnLo, r.OwnHi) && r.Q != nil && *r.Q > Discovery
	if r.Verdict == Moved || apart && r.Verdict == CannotTell {
		return words.Told(said, !apart, r.Q, r.Together)
	}
	return said
}

// ToldOutcome is Told of the outcome, whose own change decides.
func (r *Row) ToldOutcome(said string) string {
	shown := r.Went == Rose || r.Went == Fell
	if apart := words.Apart(r.RateDLo, r.RateDHi); shown || apart {
		return words.Told(said, apart == shown, r.RateQ, r.RateTogether)
	}
	return said
}

// Result says what became of the outcome.
func (r *Row) Result() string {
	what := words.OutcomeOf(r.Outcome).Title + " against " + r.Side + "-handed batters"
	if r.Went == TooFew {
		return fmt.Sprintf("%s: too few to tell (%s before, %s after)", what, words.Count(r.EventsA), words.Count(r.EventsB))
	}
	s := fmt.Sprintf("%s %s → %s, %s%s", what, words.Rate(*r.RateA), words.Rate(*r.RateB),
		words.SignedRate(*r.RateD), between(r.RateDLo, r.RateDHi, words.SignedRate))
	if r.Went == NotShown {
		return s + ": " + r.ToldOutcome("no change of his own shown")
	}
	return s + ": " + r.ToldOutcome("it "+r.Went)
}

// Expected says what the league would expect of the outcome, or that it shows nothing;
// empty where there are too few to ask.
func (r *Row) Expected() string {
	switch r.Expects {
	case Shown:
		return "expected " + words.SignedRate(*r.Expect) + between(r.ExpectLo, r.ExpectHi, words.SignedRate) + ", as pitches of one pitcher differ that are so far apart"
	case NotShown:
		return "the league does not show what such a change does to it"
	}
	return ""
}

// sentence tells the row in words.
func (r *Row) sentence(x *variable) string {
	parts := []string{words.Type(r.PitchType) + " " + r.moved(x), r.Result()}
	if e := r.Expected(); e != "" {
		parts = append(parts, e)
	}
	return words.Sentence(strings.Join(parts, ". ")) + "."
}

// velocityCaution is printed where velocity is spoken of.
const velocityCaution = "Velocity is nothing to chase: throwing harder than a body is ready for injures arms, and a drop may be a sign of fatigue or " +
	"injury that no table shows. "

// Caution is what stands under every trend.
func (t *Trend) Caution() string {
	s := "This describes what happened, not what caused it, and no change is advice to change. What to do belongs to the coaches and the medical staff, who know the arm and the plan."
	if slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Variable == "velocity" }) {
		return velocityCaution + s
	}
	return s
}

// Summary tells the whole in a sentence or two.
func (t *Trend) Summary() string {
	type moved struct{ pitcher, hand, typ string }
	pitches, suspects := map[moved]bool{}, map[[2]string]bool{}
	pitchers := map[[2]string]bool{}
	for i := range t.Rows {
		if r := &t.Rows[i]; r.Verdict == Moved {
			pitches[moved{r.Pitcher, r.Hand, r.PitchType}] = true
			pitchers[[2]string{r.Pitcher, r.Hand}] = true
		}
	}
	for _, s := range t.Shifts {
		if s.Suspect {
			suspects[[2]string{s.PitchType, s.Variable}] = true
		}
	}
	text := fmt.Sprintf("%s threw both in %s and in %s. ", words.Plural(int64(t.Pitchers), "pitcher"), t.From, t.To)
	if len(pitchers) == 0 {
		text += "None moved a quality beyond the smallest change of interest."
	} else {
		text += fmt.Sprintf("%s moved some quality beyond the smallest change of interest and beyond chance, on %s of theirs.",
			words.Count(int64(len(pitchers))), words.Plural(int64(len(pitches)), "pitch type"))
	}
	if n := int64(len(suspects)); n == 1 {
		text += " In one quality of a pitch type the whole league moved as far: look at the instruments first."
	} else if n > 1 {
		text += fmt.Sprintf(" In %d qualities of a pitch type the whole league moved as far: look at the instruments first.", n)
	}
	return text
}
