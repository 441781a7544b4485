package stacked

import (
	"fmt"
	"math"
	"strings"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
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

// Title names a stack for people: "four-seam L-v-R · whiff rate".
func (s *Stack) Title() string {
	return s.Type() + " " + s.Matchup() + " · " + s.Outcome().Title
}

// Type is the pitch type for people.
func (s *Stack) Type() string {
	if s.cell.kind == pitch.FourSeam {
		return "four-seam"
	}
	return words.Spaced(s.cell.kind.String())
}

// Matchup is "L-v-R".
func (s *Stack) Matchup() string { return pitch.Matchup{Hand: s.cell.hand, Side: s.cell.side}.String() }

// Outcome is what was compared.
func (s *Stack) Outcome() outcome.Metric { return outcome.Metrics[s.metric] }

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
	return map[string]string{OneIsEnough: "one is enough", EachAdds: "one helps, more help more", OneHelps: "one helps; more open",
		AllNeeded: "needs " + s.all(), TakesMore: "takes two or more", NoGain: "no gain", OnlyOne: "only one has a zone; it helps",
		CannotTell: "cannot tell yet", TooFew: "too few"}[s.verdict]
}

// batters says what batters did: "batters missed .245 of their swings".
func (s *Stack) batters(rate float64) string {
	if s.metric == outcome.Whiff {
		return "batters missed " + words.Rate(rate) + " of their swings"
	}
	return "batters' wOBA was " + words.Rate(rate)
}

// with says a group's rate after the first one has said what is counted.
func with(c *comparison) (in, out float64) { return c.test.Inside.Rate, c.test.Outside.Rate }

// Sentence says the verdict with its numbers.
func (s *Stack) Sentence() string {
	small := words.Rate(s.Outcome().Delta)
	any, one, more := s.find(Any, 0), s.find(None, 1), s.find(More, 0)
	first := func(group string, c *comparison) string {
		in, out := with(c)
		return fmt.Sprintf("%s with %s, %s with none", s.batters(in), group, words.Rate(out))
	}
	open := func(c *comparison) string {
		if !c.enough() {
			return "too few have them to tell"
		}
		return gain(&c.test)
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
		return fmt.Sprintf("Only %s has a good zone here, and it helps: %s inside it, %s outside.", s.qualities[0].Title, s.batters(in), words.Rate(out))
	case NoGain:
		return fmt.Sprintf("No gain of %s: %s (%s). What one half of the pitchers showed does not carry over to the other.", small, first("one or more", any), gain(&any.test))
	case TooFew:
		m := s.Outcome()
		return fmt.Sprintf("Too few to tell: %s by %s with none in their good zones, %s by %s with one or more; each side needs %d by %d pitchers, none of whom throws most of them.",
			s.events(any.test.Outside.Events), words.Plural(int64(any.test.Outside.Clusters), "pitcher"),
			words.Count(int64(any.test.Inside.Events)), words.Plural(int64(any.test.Inside.Clusters), "pitcher"), m.MinEvents, minPitchers)
	}
	text := "Cannot tell yet: " + first("one or more", any) + " (" + gain(&any.test) + ")."
	if any.holds() {
		text = "Qualities in their good zones help, but how many it takes cannot be told yet: " + first("one or more", any) + " (" + gain(&any.test) + ")."
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
			return fmt.Sprintf(" About %s pitchers would probably settle it.", about(need.Clusters))
		}
	}
	return ""
}

// about rounds up to two digits: a forecast is no more exact.
func about(x float64) string {
	unit := math.Pow(10, max(0, math.Floor(math.Log10(x))-1))
	return words.Count(int64(math.Ceil(x/unit) * unit))
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
	t := s.trend
	numbers := words.SignedRate(t.gain) + " (" + words.SignedRate(t.lo) + " to " + words.SignedRate(t.hi) + "), q " + probability(s.trendQ)
	if t.lo > 0 && s.trendQ <= Discovery {
		return "On a straight line each further quality gains " + numbers + "."
	}
	return "On a straight line no gain for each further quality is shown: " + numbers + "."
}

func probability(p float64) string {
	if p < .001 {
		return "< .001"
	}
	return words.Rate(p)
}

// Unknown is how many pitches are in no level: a quality is unknown, or lies within the
// limits of a breakpoint of the other half.
func (s *Stack) Unknown() int64 { return s.unknown }

// Zones says where both halves' good zones lie, a quality a line.
func (s *Stack) Zones(qualities []string) []string {
	var out []string
	for _, v := range s.qualities {
		q := indexOf(qualities, v.Name)
		unit := ""
		if v.Unit != "" {
			unit = " " + v.Unit
		}
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

func indexOf(list []string, s string) int {
	for i, x := range list {
		if x == s {
			return i
		}
	}
	return -1
}

// Only returns the report with some of its stacks; nothing is judged anew.
func (r *Report) Only(keep func(t pitch.Type, m pitch.Matchup, outcome string) bool) *Report {
	out := *r
	out.Stacks = nil
	for _, s := range r.Stacks {
		if keep(s.cell.kind, pitch.Matchup{Hand: s.cell.hand, Side: s.cell.side}, s.Outcome().Name) {
			out.Stacks = append(out.Stacks, s)
		}
	}
	return &out
}

// Count is how many stacks have a verdict.
func (r *Report) Count(verdict string) int {
	n := 0
	for i := range r.Stacks {
		if r.Stacks[i].verdict == verdict {
			n++
		}
	}
	return n
}

// Summary says the whole in a sentence.
func (r *Report) Summary() string {
	if len(r.Stacks) == 0 {
		return "No quality has a good zone in both halves of the pitchers, so there is nothing to stack."
	}
	said := map[string]string{OneIsEnough: "one quality in its good zone is enough", EachAdds: "one helps and more help more", OneHelps: "one helps and the rest is open",
		AllNeeded: "all are needed", TakesMore: "it takes two or more", OnlyOne: "only one has a good zone, which helps", NoGain: "there is no gain", CannotTell: "the data cannot tell yet", TooFew: "there are too few"}
	var parts []string
	for _, v := range Verdicts {
		if n := r.Count(v); n > 0 {
			parts = append(parts, fmt.Sprintf("in %d %s", n, said[v]))
		}
	}
	return fmt.Sprintf("Both halves of the pitchers show a good zone of some quality in %s of pitch type, matchup and outcome: %s.",
		words.Plural(int64(len(r.Stacks)), "combination"), strings.Join(parts, ", "))
}

// Caution is what stands under every report.
func (r *Report) Caution() string {
	return "This describes what batters did, not what a change would cause: pitchers whose pitches have several good qualities differ in more than those. " +
		"Velocity is nothing to chase: throwing harder than a body is ready for injures arms. Workload and mechanics belong to the coaches and the medical staff."
}
