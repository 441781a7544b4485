package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newExplain is the command that shows one threshold with all its evidence.
func newExplain(t *terminal.Terminal) *cobra.Command {
	var at place
	var outcomeName, reference, stratum string
	var gate bool
	var as form
	cmd := &cobra.Command{
		Use:   "explain TYPE MATCHUP VARIABLE",
		Short: "Show one threshold with its evidence",
		Long: `explain shows one threshold: its answer in a sentence, the curve, the line with
its interval, the edges, the sample, every bin, the caveats with their meaning,
and why a threshold was found or not.`,
		Example: `  sill explain four_seam L-v-L velocity
  sill explain sinker L-v-R horizontal_break --outcome woba_against
  sill explain cutter R-v-L velocity --json
  sill explain four_seam L-v-L velocity --gate && echo "a threshold was found"`,
		Args: args("TYPE", "MATCHUP", "VARIABLE"),
		RunE: func(_ *cobra.Command, args []string) error {
			v, err := at.open()
			if err != nil {
				return err
			}
			warnDeprecated(t, v)
			only := filters{joint: true, types: args[:1], matchups: args[1:2], variables: args[2:3], outcomes: []string{outcomeName}, stratum: stratum}
			s, err := only.selection(v.tables, reference)
			if err != nil {
				return err
			}
			if stratum != "" && !strings.Contains(stratum, ":") {
				return usagef("explain: stratum %s has several values: name one, such as --stratum %s", stratum, screen.FirstValue(v.tables, stratum))
			}
			if err := v.more(); err != nil {
				return err
			}
			e := screen.Gather(v.league, v.version, v.tables, v.manifest, s)
			if e == nil {
				err := usagef("explain: %s %s holds nothing on %s, %s, %s, %s: no such pitch was thrown, or the variable is not in the data",
					v.league, v.version, screen.TypeTitle(s.Types[0]), s.Matchups[0], words.Spaced(s.Variables[0]), words.Spaced(s.Outcomes[0]))
				if gate {
					return fmt.Errorf("%w: %w", errNo, err)
				}
				return err
			}
			err = as.print(t, explainDocument{head("explain"), *e}, nil, e.Print)
			if err == nil && gate && e.Verdict.Verdict.Verdict != locate.Found {
				return fmt.Errorf("%w: %s", errNo, words.Spaced(e.Verdict.Verdict.Verdict))
			}
			return err
		},
		ValidArgsFunction: func(_ *cobra.Command, got []string, _ string) ([]string, cobra.ShellCompDirective) {
			choices := [][]string{typeWords(), pitch.MatchupNames(), shape.Names(shape.Variables)}
			if len(got) < len(choices) {
				return choices[len(got)], cobra.ShellCompDirectiveNoFileComp
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
	}
	f := cmd.Flags()
	at.flags(f)
	f.StringVar(&outcomeName, "outcome", outcome.Names()[0], "`outcome`: "+words.Commas(eachAndBoth()))
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` compared with")
	f.StringVar(&stratum, "stratum", "", "one value of an extra split, such as `count:two_strikes`")
	f.BoolVar(&gate, "gate", false, fmt.Sprintf("exit %d unless a threshold was found, for scripts", exitNo))
	as.flags(f, "")
	complete(cmd, "outcome", eachAndBoth())
	return cmd
}

// explainDocument is what `explain --json` prints.
type explainDocument struct {
	document
	screen.Evidence
}

func typeWords() []string { return pitch.Words("pitch_type") }
