package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// filters are the flags that choose rows; an empty one lets every row through.
type filters struct {
	types, matchups, variables, outcomes, verdicts []string
	stratum                                        string
	joint                                          bool // whether both outcomes at once may be asked for
}

// none tells whether no filter on rows is set.
func (f *filters) none() bool {
	return len(f.types)+len(f.matchups)+len(f.variables)+len(f.outcomes)+len(f.verdicts) == 0
}

// known lists the outcomes that may be asked for.
func (f *filters) known() []string {
	if f.joint {
		return eachAndBoth()
	}
	return outcome.Names()
}

// eachAndBoth lists the outcomes, and behind them both at once.
func eachAndBoth() []string { return append(outcome.Names(), thresholds.Joint) }

// flags registers the filters that are named; what they hold is the default.
// With "joint", both outcomes at once are one that may be asked for.
func (f *filters) flags(cmd *cobra.Command, names ...string) {
	f.joint = slices.Contains(names, "joint")
	for _, l := range []struct {
		into        *[]string
		name, usage string
		words       []string
	}{
		{&f.types, "type", "pitch types, such as `four_seam,sinker`", pitch.Words("pitch_type")},
		{&f.matchups, "matchup", "matchups, such as `L-v-L,L-v-R`", pitch.MatchupNames()},
		{&f.variables, "variable", "variables, such as `velocity`", shape.Names(shape.Variables)},
		{&f.outcomes, "outcome", "outcomes: `" + strings.Join(f.known(), ",") + "`", f.known()},
		{&f.verdicts, "verdict", "verdicts, such as `found,always_beats`", words.VerdictWords()},
	} {
		if slices.Contains(names, l.name) {
			cmd.Flags().StringSliceVar(l.into, l.name, *l.into, l.usage)
			complete(cmd, l.name, l.words)
		}
	}
	if slices.Contains(names, "stratum") {
		cmd.Flags().StringVar(&f.stratum, "stratum", "", "one value of an extra split, such as `count:two_strikes`")
	}
}

// parse turns what was typed into words; types and variables are those that may be named,
// of types nil where it is not known which there are.
func (f *filters) parse(types, variables []string) error {
	for _, l := range []struct {
		list  *[]string
		parse func(string) (string, error)
	}{
		{&f.types, parseType(types)},
		{&f.matchups, parseMatchup},
		{&f.variables, parseWord("variable", variables)},
		{&f.outcomes, parseWord("outcome", f.known())},
		{&f.verdicts, parseWord("verdict", words.VerdictWords())},
	} {
		var err error
		if *l.list, err = parseAll(*l.list, l.parse); err != nil {
			return err
		}
	}
	return nil
}

// selection reads the filters against a version.
func (f *filters) selection(t *thresholds.Tables, reference string) (s screen.Selection, err error) {
	if err := f.parse(screen.KnownTypes(t), screen.KnownVariables(t)); err != nil {
		return s, err
	}
	s = screen.Selection{Types: f.types, Matchups: f.matchups, Variables: f.variables, Outcomes: f.outcomes, Verdicts: f.verdicts}
	if s.Reference, err = parseWord("reference", screen.KnownReferences(t))(reference); err != nil {
		return s, err
	}
	s.Stratum, err = parseStratum(t, f.stratum)
	return s, err
}

// let tells whether a row passes the filters.
func (f *filters) let(pitchType, matchup, variable, outcome string) bool {
	return in(f.types, pitchType) && in(f.matchups, matchup) && in(f.variables, variable) && in(f.outcomes, outcome)
}

// in tells whether a filter lets a word through: it is empty, or lists the word.
func in(filter []string, word string) bool {
	return len(filter) == 0 || slices.Contains(filter, word)
}

// parseStratum reads a stratum of a version, whole or one value of it.
func parseStratum(t *thresholds.Tables, s string) (string, error) {
	names := screen.StratumWords(t)
	switch {
	case s == "" || slices.Contains(names, s):
		return s, nil
	case len(names) == 0:
		return "", usagef("stratum %q: this version was counted without; ask for one with the setting strata, such as sill run --strata count", s)
	}
	if name, _, value := strings.Cut(s, ":"); !value && pitch.Nearest(s, names) == "" || !slices.Contains(names, name) {
		names = slices.DeleteFunc(names, func(n string) bool { return strings.Contains(n, ":") })
	} else {
		names = slices.DeleteFunc(names, func(n string) bool { return screen.SplitName(n) != name })
	}
	return "", unknown("stratum", s, names)
}
