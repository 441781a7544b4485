package main

import (
	"errors"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/located"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/shape"
)

// newLocated is the command that holds location.
func newLocated(t *terminal.Terminal) *cobra.Command {
	var q question
	var variables []string
	var full bool
	cmd := &cobra.Command{
		Use:   "located",
		Short: "Ask whether breakpoints survive once location is held",
		Long: `located seeks breakpoints as sill run does and asks of each whether it is about
the quality or about where such pitches go: a shallow fastball misses more bats
partly for being high. Every bin of the quality is weighted to the league's mix of
heights (sixths of the zone, below and above it) by centre, border and outside, and
what the quality then still brings is compared with what it brings as thrown.

The pitches are read again. Breakpoints are sought among the variables asked about,
so that which of them are confirmed can depend on how many are. Limits are at 95 %, pitchers being left out one at a
time for the gains; the breakpoint with location held is confirmed and bounded as
those of a version are, pitchers drawn whole and batters counted as clusters too.

Where a stretch of the quality was never thrown to some place, what quality and
place add up to stands in for it. The share of the weight that is filled in so is
told; above 25 % there is not enough data.`,
		Example: `  sill located --config demo/sill.yaml
  sill located --config demo/sill.yaml --type four_seam --variable vertical_approach_angle
  sill located --config demo/sill.yaml --outcome whiff_rate --json`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			wants, err := q.wants()
			if err != nil {
				return err
			}
			o := located.DefaultOptions()
			named, err := parseAll(variables, parseWord("variable", shape.Names(shape.Variables)))
			if err != nil {
				return err
			}
			r, finish, err := q.open(cmd.Context(), t)
			if err != nil {
				return err
			}
			o.Variables = named
			if len(named) == 0 { // those that the source tells
				for _, v := range located.DefaultVariables {
					if _, err := shape.Only(r.Variables(), []string{v}); err == nil {
						o.Variables = append(o.Variables, v)
					}
				}
			}
			o.Estimate, o.Locate = r.Options.Estimate, r.Options.Locate
			report, err := located.Measure(cmd.Context(), r, o)
			finish()
			if errors.Is(err, located.ErrVariables) {
				return usageError{err}
			}
			if err != nil {
				return err
			}
			shown := report.Only(wants)
			return q.as.print(t, locatedDocument{head("located"), r.Options.League, shown.Body()}, nil, func(p *terminal.Printer) {
				screen.Located(p, report, shown, full || q.filtered())
			})
		},
	}
	q.flags(cmd)
	f := cmd.Flags()
	f.StringSliceVar(&variables, "variable", nil, "`variables` whose breakpoints are asked about (default velocity, breaks and vertical approach angles)")
	f.BoolVar(&full, "full", false, "print every breakpoint with its numbers")
	complete(cmd, "variable", shape.Names(shape.Variables))
	return cmd
}

// locatedDocument is what `located --json` prints.
type locatedDocument struct {
	document
	League string `json:"league"`
	located.Body
}
