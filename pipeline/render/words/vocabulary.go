package words

import (
	"slices"
	"strings"
)

// Type is a pitch type as it is spoken of: "four-seam", "knuckle curve". What
// stands where there is none depends on the sentence: it is "".
func Type(word string) string {
	if word == "four_seam" {
		return "four-seam"
	}
	return Spaced(word)
}

// Matchup is "L-v-R" for the words of the pitcher's hand and the batter's side;
// one that is not known is a question mark.
func Matchup(hand, side string) string { return initial(hand) + "-v-" + initial(side) }

func initial(word string) string {
	switch word {
	case "left":
		return "L"
	case "right":
		return "R"
	}
	return "?"
}

// Handed says a matchup in full.
func Handed(hand, side string) string {
	return hand + "-handed pitchers against " + side + "-handed batters"
}

// Cell names a pitch type in a matchup: "four-seam L-v-R"; the pitch type alone
// where no matchup is given.
func Cell(pitchType, hand, side string) string {
	if hand == "" && side == "" {
		return Type(pitchType)
	}
	return Type(pitchType) + " " + Matchup(hand, side)
}

// Pair is a comparison of two matchups, seasons or pitch types.
type Pair struct {
	Word     string
	Title    string // which less which
	Matchups string // the two, "" where they are the same
}

// Pairs are the comparisons in the order in which they are told.
var Pairs = []Pair{
	{"left_same_opposite", "left-handed pitchers: same-handed less opposite-handed batters", "L-v-L against L-v-R"},
	{"right_same_opposite", "right-handed pitchers: same-handed less opposite-handed batters", "R-v-R against R-v-L"},
	{"mirror_same", "same-handed batters: left-handed less right-handed pitchers", "L-v-L against R-v-R"},
	{"mirror_opposite", "opposite-handed batters: left-handed less right-handed pitchers", "L-v-R against R-v-L"},
	{"hands_left_batters", "left-handed batters: left-handed less right-handed pitchers", "L-v-L against R-v-L"},
	{"hands_right_batters", "right-handed batters: left-handed less right-handed pitchers", "L-v-R against R-v-R"},
	{"season_before", "a season less the one before it", ""},
	{"pitch_types", "two pitch types at one matchup", ""},
}

// PairWords lists the words of the pairs.
func PairWords() []string {
	var out []string
	for _, p := range Pairs {
		out = append(out, p.Word)
	}
	return out
}

// PairMatchups names the two matchups of a pair, or else its word.
func PairMatchups(word string) string {
	i := slices.IndexFunc(Pairs, func(p Pair) bool { return p.Word == word })
	if i < 0 || Pairs[i].Matchups == "" {
		return Spaced(word)
	}
	return Pairs[i].Matchups
}

// Outcome describes an outcome.
type Outcome struct {
	Name, Title string
	Short       string // in a narrow column
	Per         string // what it counts, "" where unknown
	Did         string // what batters did, before and behind their rate; "" where unknown
	DidBehind   string
	Events      string // what it is counted over
	Sign        int    // +1 if more is better for the pitcher, −1 if less is
}

// Outcomes are the outcomes in the order of every table.
var Outcomes = []Outcome{
	{"whiff_rate", "whiff rate", "whiff", "misses per swing", "batters missed ", " of their swings", "swings", 1},
	{"woba_against", "wOBA-against", "wOBA", "value to the batter per plate appearance", "batters' wOBA was ", "", "plate appearances", -1},
}

// Both is the outcome of all of them at once, which has verdicts and zones and no rate.
// Its sample is that of the first.
var Both = Outcome{Name: "joint", Title: "whiff rate and wOBA-against at once", Short: "both", Events: Outcomes[0].Events, Sign: 1}

// BothAndEach lists both at once, then each outcome, as people are told of them.
func BothAndEach() []Outcome { return append([]Outcome{Both}, Outcomes...) }

// OutcomeOf describes an outcome; one that is not known is named by its word.
func OutcomeOf(name string) Outcome {
	for _, o := range BothAndEach() {
		if o.Name == name {
			return o
		}
	}
	return Outcome{Name: name, Title: Spaced(name), Short: Spaced(name), Events: "events", Sign: 1}
}

// Batters says what batters did: "batters missed .245 of their swings".
func (o Outcome) Batters(rate float64) string {
	if o.Did == "" {
		return o.Title + " was " + Rate(rate)
	}
	return o.Did + Rate(rate) + o.DidBehind
}

// SlopeShown says where a slope along a quality is shown, behind both of them.
func SlopeShown(code string) string {
	switch code {
	case "both":
		return "shown in both"
	case "within":
		return "shown in the same pitcher only"
	case "between":
		return "shown between pitchers only: it may be who throws such pitches"
	case "opposite":
		return "shown in both, in opposite directions"
	case "neither":
		return "both shown to be small"
	case "cannot_tell":
		return "neither shown"
	}
	return Spaced(code)
}

// SlopesShown tells where a slope is shown: in the same pitcher, and between pitchers.
func SlopesShown(code string) (within, between bool) {
	both := code == "both" || code == "opposite"
	return both || code == "within", both || code == "between"
}

// Verdict is a verdict in the words of each place that tells it.
type Verdict struct {
	Word    string
	Short   string // in a choice
	Cell    string // in a cell of a board, "" where the cell tells a zone
	Told    string // in a list of changes
	Meaning string // in the dictionary
	Legend  string // on the page, of the curve that is seen there
}

// Verdicts are the verdicts in the order of a legend.
var Verdicts = []Verdict{
	{"found", "found", "", "a threshold",
		"the outcome beats the line in the zone shown, and a breakpoint at an end of it is confirmed; its interval says how closely it is known",
		"the rate changes along the quality, and a breakpoint where it passes the line is confirmed; its interval says how closely it is known"},
	{"always_beats", "always beats", "always", "always beats the line",
		"beats the line over the central 90 % of the pitches thrown, " + ExceptSliver,
		"all along the central 90 % of the pitches the curve is shown to be on the better side of the line, " + ExceptSliver},
	{"never_beats", "never beats", "never", "never beats the line",
		"stays behind the line over the central 90 % of the pitches thrown, " + ExceptSliver,
		"all along the central 90 % of the pitches it is shown to be on the worse side, " + ExceptSliver},
	{"edge_unresolved", "edge unresolved", "no edge", "changes, no clear edge",
		"the outcome does change along the variable, but no place where it passes the line is confirmed",
		"the rate changes, but no place where it passes the line is confirmed"},
	{"inconclusive", "inconclusive", "inconclusive", "inconclusive",
		"no change along the variable could be shown; that does not prove there is none",
		"no change could be shown; that does not prove that there is none"},
	{"too_few", "too few", "too few", "too few",
		"too few pitches or pitchers for a verdict",
		"not enough pitchers or pitches to judge"},
}

// VerdictWords lists the words of the verdicts.
func VerdictWords() []string {
	var out []string
	for _, v := range Verdicts {
		out = append(out, v.Word)
	}
	return out
}

// VerdictAt is the place of a verdict in the legend; one that is not there comes
// after the last.
func VerdictAt(word string) int {
	if i := slices.IndexFunc(Verdicts, func(v Verdict) bool { return v.Word == word }); i >= 0 {
		return i
	}
	return len(Verdicts)
}

// VerdictOf returns the words of a verdict; one that is not known is named by its
// own.
func VerdictOf(word string) Verdict {
	if i := VerdictAt(word); i < len(Verdicts) {
		return Verdicts[i]
	}
	s := Spaced(word)
	return Verdict{Word: word, Short: s, Cell: word, Told: s}
}

// lines say what the lines are, by the first part of their words: in a table, and
// behind the pitch type in a sentence.
var lines = []struct{ word, table, sentence string }{
	{"pitch_type", "of this pitch type over all matchups", " over all matchups"},
	{"hand", "of this pitch type within the pitcher's hand", " from the pitcher's hand"},
	{"matchup", "of this pitch type in this matchup", " in the same matchup"},
	{"league", "of the league over all pitch types", "over all pitch types"},
	{"stratum", "of this pitch type in this split", " in this split"},
}

// Line says what a line is, for a table.
func Line(word string) string {
	i, kind := lineOf(word)
	switch {
	case i >= 0 && kind == "median":
		return "median pitcher " + lines[i].table
	case i >= 0 && kind == "rate":
		return "pooled rate " + lines[i].table
	}
	return Spaced(word)
}

// LineOn says in a sentence what a line is, on a pitch type that is spoken of as
// "of the pitch type" or "on the sinker".
func LineOn(word, on string) string {
	i, kind := lineOf(word)
	if i < 0 {
		return Spaced(word)
	}
	whose := lines[i].sentence
	if lines[i].word != "league" {
		whose = on + whose
	}
	switch kind {
	case "median":
		return "rate of the median pitcher " + whose
	case "rate":
		return "pooled rate " + whose
	}
	return Spaced(word)
}

// lineOf splits the word of a line into its place in lines, −1 where it is not
// there, and the kind of its value.
func lineOf(word string) (i int, kind string) {
	at := strings.LastIndex(word, "_")
	if at < 0 {
		return -1, ""
	}
	i = slices.IndexFunc(lines, func(l struct{ word, table, sentence string }) bool { return l.word == word[:at] })
	return i, word[at+1:]
}
