package grade

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/render/words"
)

// Caution is what stands under every grade.
const Caution = "This describes what batters did with pitches like these, not what a change would bring: qualities travel together, and pitches depend on " +
	"those thrown with them. Velocity is nothing to chase: throwing harder than a body is ready for injures arms. Workload and mechanics belong to the " +
	"coaches and the medical staff."

// UsageCaution is what stands beside every ranking of an arsenal.
const UsageCaution = "A ranking says how pitches fared as often as they were thrown, in the counts they were thrown in. It says nothing of throwing one " +
	"more often than the shares shown. Rates are drawn toward like pitchers where there is little of a pitch, with 95 % limits for a pitcher like others: " +
	"who truly stands out is known late."

// LocationCaution is what stands beside where pitches went.
const LocationCaution = "Where pitches went is no measure of command: where they were meant to go is not known."

// Percent formats a share in whole per cent.
func Percent(x float64) string { return words.WholePercent(x) }

// Value writes x in a variable's unit.
func Value(variable string, x float64) string {
	v := answer.Variable(variable)
	return words.WithUnit(words.Number(x, v.Decimals), v.Unit)
}

// Ordinal writes a percentile: "81st"; the ends are held at the 1st and the 99th.
func Ordinal(x float64) string { return words.Ordinal(x) }

// say puts the row in plain words.
func (row *Quality) say() {
	title := words.Sentence(answer.Variable(row.Variable).Title)
	if row.Mean == nil {
		row.Sentence = fmt.Sprintf("%s: %s of %d pitches needed, too few to grade.", title, words.Count(row.Pitches), minPitches)
		return
	}
	s := title + " " + Value(row.Variable, *row.Mean)
	if row.Percentile != nil {
		s += " (" + Ordinal(*row.Percentile) + " percentile)"
	} else {
		s += fmt.Sprintf(" (%s pitches; %s for a percentile)", words.Count(row.Pitches), tooFew(row.LikePitchers))
	}
	row.Sentence = s + ": " + row.standing() + row.zones()
}

// tooFew says that so few like pitchers are no comparison.
func tooFew(pitchers int64) string {
	return fmt.Sprintf("%s, %d needed", words.Plural(pitchers, "like pitcher"), minPool)
}

// Among says where the mean lies among like pitchers; where these are too few, the
// mean itself and how many pitches and pitchers there are.
func (row *Quality) Among() string {
	if row.Percentile == nil {
		return fmt.Sprintf("%s, %s pitches; %s", Value(row.Variable, *row.Mean), words.Count(row.Pitches), tooFew(row.LikePitchers))
	}
	return Ordinal(*row.Percentile) + " percentile of " + words.Count(row.LikePitchers)
}

// Standing says where the expected advantage stands among like pitchers, with its
// limits. It is empty where the outcome is not shown to change, and where Among has
// said that like pitchers are too few.
func (row *Quality) Standing() string {
	switch {
	case row.InSD != nil:
	case row.Percentile != nil && row.PlacePitchers < minPool:
		return tooFew(row.PlacePitchers)
	default:
		return ""
	}
	sd := func(x float64) string { return words.Signed(x, 1) }
	inSD := sd(*row.InSD) + " SD " + words.Interval(row.InSDLo, row.InSDHi, sd)
	place := Ordinal(*row.Place) + " percentile " + words.Interval(row.PlaceLo, row.PlaceHi, Ordinal)
	unbroken := strings.NewReplacer(" ", words.NoBreak)
	return unbroken.Replace(inSD) + ", " + unbroken.Replace(place) + " of " + words.Count(row.PlacePitchers)
}

func (row *Quality) metric() string { return words.OutcomeOf(row.Outcome).Title }

// standing says where the mean lies.
func (row *Quality) standing() string {
	switch row.Verdict {
	case "", locate.TooFew:
		return "the league has too few such pitches to say where " + row.metric() + " turns."
	case locate.Inconclusive:
		return "no change of " + row.metric() + " with it could be shown."
	}
	if row.Breakpoint == nil {
		switch {
		case row.Verdict == locate.AlwaysBeats:
			return row.metric() + " beats the line over the league's central 90 %, " + words.ExceptSliver + "."
		case row.Verdict == locate.NeverBeats:
			return row.metric() + " stays behind the line over the league's central 90 %, " + words.ExceptSliver + "."
		}
		return row.metric() + " changes with it, but no place where it passes the line is confirmed."
	}
	v := answer.Variable(row.Variable)
	at := fmt.Sprintf("the breakpoint %s %s", Value(row.Variable, *row.Breakpoint),
		words.Interval(row.BreakpointLo, row.BreakpointHi, func(x float64) string { return words.Number(x, v.Decimals) }))
	above := *row.Distance > 0
	good := above == (row.Better == "above")
	if row.DistanceInErrors == nil || math.Abs(*row.DistanceInErrors) < normal {
		return fmt.Sprintf("too near %s to say on which side of it; %s is better %s it.", at, row.metric(), row.Better)
	}
	where := "below"
	if above {
		where = "above"
	}
	side := "the worse side"
	if good {
		side = "the better side"
	}
	return fmt.Sprintf("%s %s %s, %s for %s.", Value(row.Variable, math.Abs(*row.Distance)), where, at, side, row.metric())
}

// zones says how many of the pitches lie in zones.
func (row *Quality) zones() string {
	if row.CertainShare == nil {
		return ""
	}
	s := fmt.Sprintf(" %s of them lie where pitches surely beat the line", Percent(*row.CertainShare))
	if row.PossibleShare != nil && Percent(*row.PossibleShare) != Percent(*row.CertainShare) {
		s += fmt.Sprintf(", %s where they may", Percent(*row.PossibleShare))
	}
	if row.BeyondShare != nil && *row.BeyondShare >= .05 {
		s += fmt.Sprintf("; of %s, beyond what the league throws, nothing is known", Percent(*row.BeyondShare))
	}
	return s + "."
}

// Usage says how an arsenal ranks against one side by one outcome.
type Usage struct {
	Ranked  []*Arsenal // best first
	Without []*Arsenal // with too few events to rank
	Verdict string     // which of them can be told apart, "" for fewer than two
}

// RankOf ranks the rows of one pitcher against one side by the named outcome; pairs are
// those of the report.
func RankOf(rows []Arsenal, pairs []Pair, side, metric string) Usage {
	m := outcome.MetricIndex(metric)
	var u Usage
	for i := range rows {
		a := &rows[i]
		if a.Side != side {
			continue
		}
		if rank, _ := a.of(m); *rank > 0 {
			u.Ranked = append(u.Ranked, a)
		} else {
			u.Without = append(u.Without, a)
		}
	}
	slices.SortFunc(u.Ranked, func(a, b *Arsenal) int {
		x, _ := a.of(m)
		y, _ := b.of(m)
		return cmp.Compare(*x, *y)
	})
	var said []string
	told, n := 0, len(u.Ranked)
	for _, a := range u.Ranked {
		if _, better := a.of(m); len(*better) > 0 {
			said = append(said, fmt.Sprintf("the %s beats the %s", words.Type(a.PitchType), words.Listed(titles(*better))))
			told += len(*better)
		}
	}
	switch all := n * (n - 1) / 2; {
	case n < 2:
	case told == 0 && n == 2:
		u.Verdict = "the two cannot be told apart" + u.least(pairs, metric, all) + "."
	case told == 0:
		u.Verdict = "no two of them can be told apart" + u.least(pairs, metric, all) + "."
	case told < all:
		u.Verdict = strings.Join(said, "; ") + ". No other two can be told apart" + u.least(pairs, metric, all) + "."
	default:
		u.Verdict = strings.Join(said, "; ") + "."
	}
	return u
}

// least says how likely chance alone is for the clearest of the pairs that are not told
// apart, allowing for all of them: ", p .214 or more after allowing for 6
// comparisons".
func (u *Usage) least(pairs []Pair, metric string, all int) string {
	who, p := u.Ranked[0], 2.
	for _, x := range pairs {
		if x.Pitcher == who.Pitcher && x.Hand == who.Hand && x.Side == who.Side && x.Outcome == metric && x.Verdict == NotToldApart {
			p = min(p, x.Holm)
		}
	}
	switch {
	case p > 1:
		return ""
	case all == 1:
		return ", p " + words.Probability(p)
	}
	more := " or more"
	if p == 1 {
		more = ""
	}
	return fmt.Sprintf(", p %s%s after allowing for %s", words.Probability(p), more, words.Plural(int64(all), "comparison"))
}

func titles(pitchTypes []string) []string {
	out := make([]string, len(pitchTypes))
	for i, word := range pitchTypes {
		out[i] = words.Type(word)
	}
	return out
}
