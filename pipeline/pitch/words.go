package pitch

import (
	"fmt"
	"slices"
	"strings"
)

// Hand is the hand a pitcher throws with.
type Hand uint8

// The throwing hands.
const (
	UnknownHand Hand = iota
	LeftHand
	RightHand
)

// Side is the side of the plate a batter stands on.
type Side uint8

// The batter's sides. Switch is a declared switch hitter whose side of this
// pitch the source does not give; the profile resolves or rejects it.
const (
	UnknownSide Side = iota
	LeftSide
	RightSide
	SwitchSide
)

// Outcome is what happened on one pitch.
type Outcome uint8

// The outcomes of a pitch.
const (
	UnknownOutcome Outcome = iota
	Ball
	CalledStrike
	SwingingStrike
	Foul
	FoulTip
	InPlay
	HitBatter
	FoulBunt
	MissedBunt
	BuntFoulTip
	IntentionalBall
	Pitchout
	SwingingPitchout
	FoulPitchout
	InPlayPitchout
	AutomaticBall
	AutomaticStrike
	NoPitch
	Outcomes int = iota
)

var (
	handWords    = []string{"", "left", "right"}
	sideWords    = []string{"", "left", "right", "switch"}
	outcomeWords = []string{"", "ball", "called_strike", "swinging_strike", "foul", "foul_tip",
		"in_play", "hit_by_pitch", "bunt_fouled", "bunt_missed", "bunt_tipped",
		"intentional_ball", "pitchout", "pitchout_missed", "pitchout_fouled",
		"pitchout_in_play", "automatic_ball", "automatic_strike", "no_pitch"}
	// categories are the words by column of the dictionary.
	categories = map[string][]string{"hand": handWords, "side": sideWords, "pitch_type": typeWords(),
		"outcome": outcomeWords, "result": resultWords}
)

// String returns the canonical word, "" for the unknown value.
func (h Hand) String() string    { return handWords[h] }
func (s Side) String() string    { return sideWords[s] }    // String returns the canonical word.
func (o Outcome) String() string { return outcomeWords[o] } // String returns the canonical word.

// Initial returns "L", "R" or "?".
func (h Hand) Initial() string { return initial(uint8(h)) }

// Initial returns "L", "R" or "?".
func (s Side) Initial() string { return initial(uint8(s)) }

func initial(v uint8) string {
	if v == 1 {
		return "L"
	}
	if v == 2 {
		return "R"
	}
	return "?"
}

// ParseHand returns the hand of a canonical word.
func ParseHand(s string) (Hand, error) { return parse[Hand]("hand", s) }

// ParseSide returns the side of a canonical word.
func ParseSide(s string) (Side, error) { return parse[Side]("side", s) }

func parse[T ~uint8](column, s string) (T, error) {
	code, err := ParseWord(column, s)
	return T(code), err
}

// ParseWord returns the code of a canonical word of a category column; of a result,
// with plus signs before its flags. It panics for a column that has no words.
func ParseWord(column, s string) (uint8, error) {
	if column == "result" {
		r, err := ParseResult(strings.Split(s, "+")...)
		return uint8(r), err
	}
	words := Words(column)
	if words == nil {
		panic("pitch: " + column + " is no column of words")
	}
	if alias, ok := typeAliases[s]; ok && column == "pitch_type" {
		s = alias
	}
	if i := slices.Index(words, s); i >= 0 {
		return uint8(i + 1), nil
	}
	return 0, unknownWord(strings.ReplaceAll(column, "_", " "), s, words)
}

// unknownWord says that a word is none of those of what.
func unknownWord(what, s string, words []string) error {
	if near := Nearest(s, words); near != "" {
		return fmt.Errorf("unknown %s %q (did you mean %q?)", what, s, near)
	}
	return fmt.Errorf("unknown %s %q", what, s)
}

// Words returns the canonical words of a category column of the dictionary, nil
// for another name; of results the base ones. The code of a word is its place, counted
// from 1.
func Words(column string) []string {
	if words, ok := categories[column]; ok {
		return words[1:]
	}
	return nil
}

// Nearest returns the candidate closest to s by edit distance, or "" where
// none is near enough (more than a third of its letters differ, and at least
// two): the suggestion of every "did you mean".
func Nearest(s string, candidates []string) string {
	best, bestD := "", 1<<30
	for _, c := range candidates {
		if d := editDistance(s, c); d < bestD {
			best, bestD = c, d
		}
	}
	if bestD <= max(2, len(best)/3) {
		return best
	}
	return ""
}

// editDistance is the Levenshtein distance in bytes.
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		prev := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := prev
			if a[i-1] != b[j-1] {
				cost++
			}
			prev, row[j] = row[j], min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
