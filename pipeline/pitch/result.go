package pitch

import (
	"fmt"
	"slices"
	"strings"
)

// Result is how a plate appearance ended: a base result, in the lower four bits, and
// the flags of what came with it, a bit each above.
type Result uint8

// The base results. FieldersChoice says that the batter is safe since a fielder tried
// for a runner, whether that one was put out, by force too, or all were safe.
// NotAppearance covers what ends a batter's turn without a plate appearance of his: a
// runner caught stealing for the third out, a game ended.
const (
	NoResult Result = iota
	Strikeout
	Walk
	HitByPitch
	Single
	Double
	Triple
	HomeRun
	Out
	FieldersChoice
	ReachedOnError
	SacrificeFly
	SacrificeBunt
	CatcherInterference
	NotAppearance
	Results int = iota // number of base results, none included
)

// The flags.
const (
	DoublePlay  Result = 1 << (4 + iota) // two were put out
	TriplePlay                           // three were
	Intentional                          // of a walk: the pitcher meant it
	Bunt                                 // the ball was bunted
)

var (
	resultWords = []string{"", "strikeout", "walk", "hit_by_pitch", "single", "double", "triple", "home_run", "out", "fielders_choice",
		"reached_on_error", "sacrifice_fly", "sacrifice_bunt", "catcher_interference", "not_appearance"}
	flagWords = []string{"double_play", "triple_play", "intentional", "bunt"}
	// flagsOf are the flags that a base result may have.
	flagsOf = [Results]Result{Strikeout: DoublePlay | TriplePlay | Bunt, Walk: Intentional, Single: Bunt, Double: Bunt, Triple: Bunt,
		Out: DoublePlay | TriplePlay | Bunt, FieldersChoice: Bunt, ReachedOnError: Bunt,
		SacrificeFly: DoublePlay | TriplePlay, SacrificeBunt: DoublePlay | TriplePlay}
)

// Base is the result without its flags.
func (r Result) Base() Result { return r & 0x0F }

// Has tells whether the result has a flag.
func (r Result) Has(flag Result) bool { return r&flag != 0 }

// Valid tells whether the base result may have the flags it has.
func (r Result) Valid() bool {
	base := r.Base()
	return int(base) < Results && r&^base&^flagsOf[base] == 0 && !(r.Has(DoublePlay) && r.Has(TriplePlay))
}

// Words are the base result's word and those of its flags, none for no result.
func (r Result) Words() []string {
	if r == NoResult {
		return nil
	}
	return append([]string{resultWords[r.Base()]}, (r &^ r.Base()).flags()...)
}

// flags are the words of the flags that are set.
func (r Result) flags() (words []string) {
	for i, word := range flagWords {
		if r.Has(DoublePlay << i) {
			words = append(words, word)
		}
	}
	return words
}

// String returns the words with plus signs between them: "strikeout + double_play".
func (r Result) String() string { return strings.Join(r.Words(), " + ") }

// ParseResult returns the result of a base result's word and those of its flags.
func ParseResult(words ...string) (Result, error) {
	if len(words) == 0 {
		return NoResult, fmt.Errorf("a result is missing: use one of %s", strings.Join(resultWords[1:], ", "))
	}
	base, flags := strings.TrimSpace(words[0]), words[1:]
	at := slices.Index(resultWords, base)
	switch {
	case slices.Contains(flagWords, base):
		return NoResult, fmt.Errorf("%s is a flag: name the result before it, such as [out, double_play]", base)
	case at < 1:
		return NoResult, unknownWord("result", base, resultWords[1:])
	}
	r := Result(at)
	for _, flag := range flags {
		flag = strings.TrimSpace(flag)
		i := slices.Index(flagWords, flag)
		if i < 0 {
			return NoResult, unknownWord("flag of a result", flag, flagWords)
		}
		switch r |= DoublePlay << i; {
		case r.Valid():
		case flagsOf[at].Has(DoublePlay << i):
			return NoResult, fmt.Errorf("%s is either a double_play or a triple_play", base)
		case flagsOf[at] == 0:
			return NoResult, fmt.Errorf("%s has no flags, and so no %s", base, flag)
		default:
			return NoResult, fmt.Errorf("%s is no flag of %s: use %s", flag, base, strings.Join(flagsOf[at].flags(), ", "))
		}
	}
	return r, nil
}

// FlagWords are the words of the flags of results.
func FlagWords() []string { return flagWords }

// FlagsOf are the flags that the result of a base result's word may have.
func FlagsOf(word string) []string { return flagsOf[slices.Index(resultWords, word)].flags() }
