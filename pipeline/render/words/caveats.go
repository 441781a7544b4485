package words

import (
	"slices"
	"strings"
)

// Caveat is a code of a warning in the words of each place that tells it.
type Caveat struct {
	Code   string
	Word   string // in a list of caveats, and beside a number
	Legend string // what the word beside a number says; "" for one of background, which stands beside none
}

// Caveats are the warnings that rows may carry. Those with a legend change what a
// number may be used for.
var Caveats = []Caveat{
	{"dominated", "few pitchers", "one pitcher throws a quarter or more of it, so that few others speak"},
	{"thin", "thin data", "it rests on places where too little was thrown to show a rate"},
	{"gap", "empty bins", ""},
	{"width_vs_sd", "coarse bins", ""},
	{"comb", "uneven bins", ""},
	{"bunts_unknown", "bunts unknown", ""},
	{"weak", "weak", "barely confirmed, and no value on either side is certain: a hint of where the line is passed"},
	{"batters_unknown", "batters unknown", "the interval is too narrow where batters differ"},
	{"rate_above_median", "rate off the median pitcher", ""},
	{"one_pitcher", "one pitcher", "without a single pitcher the breakpoint would be gone or lie elsewhere"},
	{"opponents", "unusual batters", "the batters faced were clearly better or worse than the league's"},
	{"season_shift", "seasons differ", "the same pitchers read otherwise from season to season: perhaps the instrument"},
	{"venue_offset", "venues differ", "the same pitchers read otherwise at some venues: perhaps the instrument there"},
	{"unknown_share", "partly unknown", ""},
	{"flips_exhausted", "tests at their limit", ""},
	{"exceptions", "exceptions", "outside the central nine tenths of the pitches a zone does the opposite"},
}

// CaveatOf returns the words of a code; one that is not known is named by its own.
func CaveatOf(code string) Caveat {
	if i := slices.IndexFunc(Caveats, func(c Caveat) bool { return c.Code == code }); i >= 0 {
		return Caveats[i]
	}
	return Caveat{code, Spaced(code), "see sill vocabulary"}
}

// Note says a note of a version for people: a code before its first colon in words.
func Note(note string) string {
	code, rest, ok := strings.Cut(note, ": ")
	if !ok || strings.ContainsAny(code, " .") {
		return note
	}
	return CaveatOf(code).Word + ": " + rest
}

// Marks returns the caveats among a row's codes that stand beside its number, as their
// words: those that change what it may be used for.
func Marks(codes []string) []Caveat {
	var out []Caveat
	for _, code := range codes {
		if c := CaveatOf(code); c.Legend != "" {
			out = append(out, c)
		}
	}
	return out
}

// MarkWords lists the words of Marks: "weak, one pitcher", of which each stays on one
// line; "" where none stands beside the number.
func MarkWords(codes []string) string {
	var list []string
	for _, c := range Marks(codes) {
		list = append(list, strings.ReplaceAll(c.Word, " ", NoBreak))
	}
	return Commas(list)
}
