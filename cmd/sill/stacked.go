package main

import (
	"errors"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newStacked is the command that asks how many good qualities a pitch needs.
func newStacked(t *terminal.Terminal) *cobra.Command {
	var q question
	var qualities []string
	var reference string
	var possible, full bool
	cmd := &cobra.Command{
		Use:   "stacked",
		Short: "Ask how many of a pitch's qualities must be good: one, several or all",
		Long: `stacked counts, for each pitch, how many of its qualities lie in their good zones,
and compares whiff rate and wOBA-against by that number, per pitch type and
matchup: is one outlier enough, does each further one add, or must all be there?

The pitches are read again, twice. The pitchers are dealt into two halves, each
hand apart; each half's good zones are found as sill run finds them, and each
pitch is held against the zones of the other half, so no pitcher is judged by
zones that he helped to find. A zone runs from breakpoint to breakpoint, or to
where the evidence fades; a pitch within the limits of a breakpoint is left out,
since nobody can tell its side. A quality counts where both halves found a zone.

Intervals are at 95 %, pitchers and batters being the clusters; comparisons hold
at 10 % false discoveries among all that are made, shown or not.`,
		Example: `  sill stacked --config demo/sill.yaml                  # a line for each answer
  sill stacked --config demo/sill.yaml --type four_seam # with rates and zones
  sill stacked --config demo/sill.yaml --quality velocity,induced_vertical_break,extension
  sill stacked --config demo/sill.yaml --reference matchup_median --json`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			wants, err := q.wants()
			if err != nil {
				return err
			}
			o := stacked.DefaultOptions()
			if o.Qualities, err = parseAll(qualities, parseWord("variable", shape.Names(shape.Variables))); err != nil {
				return err
			}
			if o.Reference, err = parseWord("reference", stacked.References())(reference); err != nil {
				return err
			}
			o.Possible = possible
			if err := o.Validate(); err != nil {
				return usageError{err}
			}
			r, finish, err := q.open(cmd.Context(), t)
			if err != nil {
				return err
			}
			o.Estimate, o.Locate = r.Options.Estimate, r.Options.Locate
			report, err := stacked.Measure(cmd.Context(), r, o)
			finish()
			if errors.Is(err, stacked.ErrQualities) {
				return usageError{err}
			}
			if err != nil {
				return err
			}
			shown := report.Only(wants)
			return q.as.print(t, stackedDocument{head("stacked"), r.Options.League, shown.Body()}, nil, func(p *terminal.Printer) {
				screen.Stacked(p, report, shown, full || q.filtered())
			})
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&qualities, "quality", stacked.DefaultQualities, "qualities to stack, two to eight `variables`")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` that a good zone beats")
	f.BoolVar(&possible, "possible", false, "count as good as far as the limits of breakpoints allow")
	f.BoolVar(&full, "full", false, "print rates, comparisons and zones of every answer")
	complete(cmd, "quality", shape.Names(shape.Variables))
	complete(cmd, "reference", stacked.References())
	return cmd
}

// stackedDocument is what `stacked --json` prints.
type stackedDocument struct {
	document
	League string `json:"league"`
	stacked.Body
}
