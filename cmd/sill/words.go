package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// parseType reads a pitch type of the command line.
func parseType(s string) (string, error) {
	t, err := pitch.ParseType(fold(s))
	if err != nil {
		return "", unknown("pitch type", s, pitch.Words("pitch_type"))
	}
	return t.String(), nil
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

// filterFlags registers the filters that are not nil; what they hold is the default.
func filterFlags(cmd *cobra.Command, types, matchups, variables, outcomes *[]string) {
	for _, f := range []struct {
		into        *[]string
		name, usage string
		words       []string
	}{
		{types, "type", "pitch types, such as `four_seam,sinker`", typeWords()},
		{matchups, "matchup", "matchups, such as `L-v-L,L-v-R`", pitch.MatchupNames()},
		{variables, "variable", "variables, such as `velocity`", shape.Names(shape.Variables)},
		{outcomes, "outcome", "outcomes: `whiff_rate,woba_against`", outcome.Names()},
	} {
		if f.into != nil {
			cmd.Flags().StringSliceVar(f.into, f.name, *f.into, f.usage)
			complete(cmd, f.name, f.words)
		}
	}
}

// in tells whether a filter lets a word through: it is empty, or lists the word.
func in(filter []string, word string) bool {
	return len(filter) == 0 || slices.Contains(filter, word)
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
