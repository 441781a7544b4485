package main

import (
	"slices"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/outcome"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newOpponents is the command that asks who was facing the pitchers.
func newOpponents(t *terminal.Terminal) *cobra.Command {
	var at place
	var q question
	var variables []string
	var full bool
	cmd := &cobra.Command{
		Use:   "opponents",
		Short: "Ask who was facing: better or worse batters than the league's",
		Long: `opponents says of each pitch type and matchup whether the batters faced were better
or worse than those whom pitchers of that hand face from that side, and what the
rate would be against the league's: specialists and pinch hitters choose their
pitchers, and managers choose theirs. Each batter is judged by what he did against
that hand from that side, with the levels of pitch types held equal, and without
the pitcher concerned.

Each bin of a quality is asked about too, with 10 % false discoveries among all
bins. Without --config it reads a published version, with it the pitches.`,
		Example: `  sill opponents                          # of the newest published version
  sill opponents --type sinker --full     # every matchup, clear or not
  sill opponents --variable velocity      # along one quality
  sill opponents --config demo/sill.yaml  # from the pitches`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			wants, err := q.wants()
			if err != nil {
				return err
			}
			named, err := parseAll(variables, parseWord("variable", shape.Names(shape.Variables)))
			if err != nil {
				return err
			}
			var league string
			var cells []opponents.Faced
			var along []opponents.Stretch
			if q.file == "" {
				v, err := at.open()
				if err != nil {
					return err
				}
				warnDeprecated(t, v)
				var rows []thresholds.Opponent
				if err := collect(&rows, v.table.Opponents()); err != nil {
					return err
				}
				league = v.league + " " + v.version
				cells, along = opponents.FromRows(rows)
			} else {
				r, finish, err := q.open(cmd.Context(), t)
				if err != nil {
					return err
				}
				vars := r.Variables()
				if len(named) > 0 {
					if vars, err = shape.Only(vars, named); err != nil {
						finish()
						return usageError{err}
					}
				}
				scoring := r.Options.Estimate.Scoring()
				cells, along, err = opponents.Along(cmd.Context(), r, vars, &scoring)
				finish()
				if err != nil {
					return err
				}
				league = r.Options.League
			}
			cells = slices.DeleteFunc(cells, func(f opponents.Faced) bool {
				return !wants(f.Type, f.Matchup(), outcome.Metrics[f.Metric].Name)
			})
			along = slices.DeleteFunc(along, func(s opponents.Stretch) bool {
				return !wants(s.Type, s.Matchup(), outcome.Metrics[s.Metric].Name) || len(named) > 0 && !slices.Contains(named, s.Variable.Name)
			})
			doc := opponentsDocument{head("opponents"), league, opponents.Rows(cells, nil), opponents.Rows(nil, along)}
			return q.as.print(t, doc, nil, func(p *terminal.Printer) {
				p.Line(terminal.Bold, "%s", league)
				screen.Opponents(p, cells, along, full)
			})
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	at.flags(f)
	f.StringSliceVar(&variables, "variable", nil, "`variables` along which batters are told (default all)")
	f.BoolVar(&full, "full", false, "print every pitch type and matchup, clear or not")
	complete(cmd, "variable", shape.Names(shape.Variables))
	return cmd
}

// opponentsDocument is what `opponents --json` prints.
type opponentsDocument struct {
	document
	League    string                `json:"league"`
	Cells     []thresholds.Opponent `json:"cells" doc:"who was facing in each pitch type and matchup"`
	Stretches []thresholds.Opponent `json:"stretches" doc:"who was facing in each bin of a quality"`
}
