package main

import (
	"slices"
	"strings"

	"sill/pipeline/pitch"
)

// parseType returns a reader of one of the known pitch types. With none known it takes
// any name, since a source may declare types of its own, but one that looks like a slip.
func parseType(known []string) func(string) (string, error) {
	return func(s string) (string, error) {
		t, err := pitch.NamedType(fold(s))
		common := pitch.Words("pitch_type")
		switch {
		case err == nil && (t.Common() || slices.Contains(known, t.String())):
		case err == nil && known == nil && near(s, common) == "":
		case known == nil:
			return "", unknown("pitch type", s, common)
		default:
			return "", unknown("pitch type", s, known)
		}
		return t.String(), nil
	}
}

// parseMatchup reads a matchup of the command line, in any case.
func parseMatchup(s string) (string, error) {
	for _, m := range pitch.MatchupNames() {
		if strings.EqualFold(s, m) {
			return m, nil
		}
	}
	return "", unknown("matchup", s, pitch.MatchupNames())
}

// parseWord returns a reader of one of the known words.
func parseWord(what string, known []string) func(string) (string, error) {
	return func(s string) (string, error) {
		if f := fold(s); slices.Contains(known, f) {
			return f, nil
		}
		return "", unknown(what, s, known)
	}
}

// fold brings a word of the command line to the vocabulary's spelling.
func fold(s string) string {
	return strings.NewReplacer("-", "_", " ", "_").Replace(strings.ToLower(s))
}

// parseAll reads each word of a filter.
func parseAll(words []string, parse func(string) (string, error)) ([]string, error) {
	var out []string
	for _, w := range words {
		v, err := parse(w)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}
