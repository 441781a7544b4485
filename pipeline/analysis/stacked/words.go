package stacked

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/render/words"
	"sill/stats"
)

var numbers = []string{"none", "one", "two", "three", "four", "five", "six", "seven", "eight"}

// all is "both", "all three" …
func (s *Stack) all() string {
	if n := len(s.qualities); n > 2 {
		return "all " + numbers[n]
	}
	return "both"
}

// LevelName names a number of qualities: "none", "two", "all three".
func (s *Stack) LevelName(k int) string {
	if k > 1 && k == len(s.qualities) {
		return s.all()
	}
	return numbers[k]
}

// Names lists the qualities with a good zone for people.
func (s *Stack) Names() []string {
	var out []string
	for _, v := range s.qualities {
		out = append(out, v.Title)
	}
	return out
}

// InWords is the verdict for people.
func (s *Stack) InWords() string {
	if s.verdict == AllNeeded {
		return "needs " + s.all()
	}
	return answer.Named(verdicts, s.verdict)
}

// with says a group's rate after the first one has said what is counted.
func with(c *comparison) (in, out float64) { return c.test.Inside.Rate, c.test.Outside.Rate }

// Sentence says the verdict with its numbers.
func (s *Stack) Sentence() string {
	small := words.Rate(s.Outcome().Delta)
	any, one, more := s.find(Any, 0), s.find(None, 1), s.find(More, 0)
	first := func(group string, c *comparison) string {
		in, out := with(c)
		return fmt.Sprintf("%s with %s, %s with none", s.Batters(in), group, words.Rate(out))
	}
	open := func(c *comparison) string {
		if !c.enough() {
			return "too few have them to tell"
		}
		return c.gain()
	}
	several := "two or more"
	if len(s.qualities) == 2 {
		several = "both"
	}
	switch s.verdict {
	case OneIsEnough:
		return fmt.Sprintf("One quality in its good zone is enough: %s; %s add less than %s to that (%s).", first("one", one), several, small, gain(&more.test))
	case EachAdds:
		return fmt.Sprintf("One helps and more help more: %s, and %s with %s.", first("one", one), words.Rate(more.test.Inside.Rate), several)
	case OneHelps:
		return fmt.Sprintf("One helps: %s. Whether %s add to that is open: %s.%s", first("one", one), several, open(more), settle(more))
	case AllNeeded:
		return fmt.Sprintf("It needs %s: %s; with fewer the gain is less than %s (%s).", s.all(), first(s.all(), s.find(None, len(s.qualities))), small, gain(&s.find(Some, 0).test))
	case TakesMore:
		return fmt.Sprintf("One is not enough: %s; with one the gain is less than %s (%s).", first("two or more", s.find(Several, 0)), small, gain(&one.test))
	case OnlyOne:
		in, out := with(any)
		return fmt.Sprintf("Only %s has a good zone here, and it helps: %s inside it, %s outside.", s.qualities[0].Title, s.Batters(in), words.Rate(out))
	case NoGain:
		return fmt.Sprintf("No gain of %s: %s (%s). What one half of the pitchers showed does not carry over to the other.", small, first("one or more", any), gain(&any.test))
	case TooFew:
		m := s.Outcome()
		return fmt.Sprintf("Too few to tell: %s by %s with none in their good zones, %s by %s with one or more; each side needs %d by %d pitchers, none of whom throws most of them.",
			s.events(any.test.Outside.Events), words.Plural(int64(any.test.Outside.Clusters), "pitcher"),
			words.Count(int64(any.test.Inside.Events)), words.Plural(int64(any.test.Inside.Clusters), "pitcher"), m.MinEvents, answer.MinPitchers)
	}
	text := "Cannot tell yet: " + first("one or more", any) + " (" + any.gain() + ")."
	if any.holds() {
		text = "Qualities in their good zones help, but how many it takes cannot be told yet: " + first("one or more", any) + " (" + any.gain() + ")."
	}
	return text + settle(any, one)
}

// settle says what sample would settle the first comparison that is open.
func settle(list ...*comparison) string {
	for _, c := range list {
		if !c.enough() || c.verdict() != stats.CutoffUnderpowered {
			continue
		}
		need := c.test.Settle()
		switch {
		case math.IsInf(need.Factor, 1):
			return " No sample in reach would settle it."
		case need.Factor > 1:
			return fmt.Sprintf(" About %s pitchers would probably settle it.", words.About(need.Clusters))
		}
	}
	return ""
}

// gain is the advantage of the first group, and where its limits alone would show one
// that it is not shown.
func (c *comparison) gain() string {
	text := gain(&c.test)
	if c.verdict() == stats.CutoffUnderpowered && c.test.Lo > 0 {
		text += "; " + words.Told("not shown", false, &c.q, c.together)
	}
	return text
}

// gain is an advantage with its interval: "+.012, −.003 to +.027".
func gain(c *stats.Cutoff) string {
	if math.IsNaN(c.Lo) {
		return "too few to tell"
	}
	return words.SignedRate(c.D) + ", " + words.SignedRate(c.Lo) + " to " + words.SignedRate(c.Hi)
}

// events names so many eligible events.
func (s *Stack) events(n float64) string {
	return words.Count(int64(n)) + " " + s.Outcome().Events
}

// Trend says what each further quality brings.
func (s *Stack) Trend() string {
	if !s.hasTrend || len(s.qualities) < 2 {
		return ""
	}
	shown := s.trend.Lo > 0 && s.trendQ <= answer.Discovery
	numbers := words.Plain(words.Told(s.trend.Gain(), s.trend.Lo > 0 == shown, &s.trendQ, s.trends))
	if shown {
		return "On a straight line each further quality gains " + numbers + "."
	}
	return "On a straight line no gain for each further quality is shown: " + numbers + "."
}

// Unknown is how many pitches are in no level: a quality is unknown, or lies within the
// limits of a breakpoint of the other half.
func (s *Stack) Unknown() int64 { return s.unknown }

// Zones says where both halves' good zones lie, a quality a line.
func (s *Stack) Zones(qualities []string) []string {
	var out []string
	for _, v := range s.qualities {
		q, unit := slices.Index(qualities, v.Name), answer.Unit(v.Unit)
		text := func(half int) string {
			var parts []string
			for _, z := range s.zones[half][q] {
				lo, hi := words.Number(z.Lo, v.Decimals), words.Number(z.Hi, v.Decimals)
				switch {
				case math.IsInf(z.Lo, -1) && math.IsInf(z.Hi, 1):
					parts = append(parts, "everywhere")
				case math.IsInf(z.Lo, -1):
					parts = append(parts, "up to "+hi+unit)
				case math.IsInf(z.Hi, 1):
					parts = append(parts, "from "+lo+unit+" up")
				default:
					parts = append(parts, lo+" to "+hi+unit)
				}
			}
			return strings.Join(parts, ", ")
		}
		out = append(out, v.Title+": "+text(0)+"; by the other half "+text(1))
	}
	return out
}

// Only returns the report with some of its stacks; nothing is judged anew.
func (r *Report) Only(keep answer.Filter) *Report {
	out := *r
	out.Stacks = slices.DeleteFunc(slices.Clone(r.Stacks), func(s Stack) bool { return !s.Passes(keep) })
	return &out
}

// Count is how many stacks have a verdict.
func (r *Report) Count(verdict string) int {
	return answer.Count(r.Stacks, func(s *Stack) bool { return s.verdict == verdict })
}

// Summary says the whole in a sentence.
func (r *Report) Summary() string {
	if len(r.Stacks) == 0 {
		return "No quality has a good zone in both halves of the pitchers, so there is nothing to stack."
	}
	return fmt.Sprintf("Both halves of the pitchers show a good zone of some quality in %s of pitch type, matchup and outcome: %s.",
		words.Plural(int64(len(r.Stacks)), "combination"), answer.Counted("in ", verdicts, r.Count))
}

// Caution is what stands under every report.
func (r *Report) Caution() string {
	return "This describes what batters did, not what a change would cause: pitchers whose pitches have several good qualities differ in more than those. " +
		"Velocity is nothing to chase: throwing harder than a body is ready for injures arms. Workload and mechanics belong to the coaches and the medical staff."
}
