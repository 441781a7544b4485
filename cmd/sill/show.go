package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// showDocument is what `show --json` prints.
type showDocument struct {
	document
	League  string                `json:"league"`
	Version string                `json:"version"`
	Rows    []screen.BoardRow     `json:"rows"`
	Splits  []screen.SplitSummary `json:"strata" doc:"how far the data reach into each stratum"`
}

// newShow is the command that reads a published table to people.
func newShow(t *terminal.Terminal) *cobra.Command {
	var at place
	var types, matchups, variables, outcomes, verdictNames []string
	var reference, stratum string
	var all, splits, curves, asJSON bool
	cmd := &cobra.Command{
		Use:   "show",
		Short: "Read a published table, the matchups side by side",
		Long: `show prints where each quality of each pitch type beats the line, with L-v-L,
L-v-R, R-v-L and R-v-R side by side. Filters only hide rows: no verdict depends
on what is shown. --stratum puts the values of an extra split under each quality, and
--strata lists the splits and which of them ran out of data.`,
		Example: `  sill show                                       # the latest version, whole
  sill show --type four_seam,sinker --outcome whiff_rate
  sill show --matchup L-v-L,L-v-R --variable velocity
  sill show --type slider --curves                # each with its curve in small
  sill show --verdict found --json                # rows for a program
  sill show --strata                              # which splits there are, and which ran out of data
  sill show --type four_seam --stratum fastball_height_third
  sill show --store outputs/winter --version v1.0.0 --reference pitch_type_rate`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			s, err := parseSelection(v.tables, types, matchups, variables, outcomes, verdictNames, reference, stratum)
			if err != nil {
				return err
			}
			b := screen.NewBoard(v.tables, s)
			b.All = all || len(variables) > 0 || len(verdictNames) > 0
			if curves {
				if b.Curves, err = screen.NewMiniatures(v.table, s.Reference); err != nil {
					return err
				}
			}
			if asJSON {
				rows := b.Rows
				if rows == nil {
					rows = []screen.BoardRow{}
				}
				return writeJSON(t.Out, showDocument{head("show"), v.league, v.version, rows, screen.SplitsOf(v.tables)})
			}
			p := terminal.NewPrinter(t)
			p.Line(terminal.Bold, "%s %s", v.league, v.version)
			p.Blank()
			if splits {
				screen.Splits(p, screen.SplitsOf(v.tables))
				return p.Close()
			}
			if len(b.Rows) == 0 {
				p.Line(terminal.Plain, "No row matches these filters.")
			} else {
				b.Print(p)
				if curves {
					p.Prose(terminal.Dim, "", "  ", "Curves: the rate along the variable, the matchups of a line on the same axes; "+string(p.Marks().InBars)+" marks a breakpoint. `sill explain` draws one in full.")
				}
			}
			return p.Close()
		},
	}
	f := cmd.Flags()
	at.flags(f)
	filterFlags(cmd, &types, &matchups, &variables, &outcomes)
	f.StringSliceVar(&verdictNames, "verdict", nil, "verdicts, such as `found,always_beats`")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` compared with")
	f.StringVar(&stratum, "stratum", "", "extra split, whole or one value of it, such as `count` or count:two_strikes")
	f.BoolVar(&splits, "strata", false, "list the extra splits, and which ran out of data")
	f.BoolVar(&all, "all", false, "also list lines on which nothing was shown")
	f.BoolVar(&curves, "curves", false, "draw each curve in small")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	complete(cmd, "verdict", words.VerdictWords())
	return cmd
}

// parseSelection reads the filters of a command line against a version.
func parseSelection(t *thresholds.Tables, types, matchups, variables, outcomes, verdictNames []string, reference, stratum string) (screen.Selection, error) {
	var s screen.Selection
	var err error
	if s.Types, err = parseAll(types, parseType); err != nil {
		return s, err
	}
	if s.Matchups, err = parseAll(matchups, parseMatchup); err != nil {
		return s, err
	}
	if s.Variables, err = parseAll(variables, parseWord("variable", screen.KnownVariables(t))); err != nil {
		return s, err
	}
	if s.Outcomes, err = parseAll(outcomes, parseWord("outcome", outcome.Names())); err != nil {
		return s, err
	}
	if s.Verdicts, err = parseAll(verdictNames, parseWord("verdict", words.VerdictWords())); err != nil {
		return s, err
	}
	if s.Reference, err = parseWord("reference", screen.KnownReferences(t))(reference); err != nil {
		return s, err
	}
	s.Stratum, err = parseStratum(t, stratum)
	return s, err
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
