package main

import (
	"github.com/spf13/cobra"

	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
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
	var only filters
	var as form
	var reference string
	var all, splits, curves bool
	cmd := &cobra.Command{
		Use:   "show",
		Short: "Read a published table, the matchups side by side",
		Long: `show prints where each quality of each pitch type beats the line, with L-v-L,
L-v-R, R-v-L and R-v-R side by side: first whiff rate and wOBA-against at once, then
each alone. Without a filter it prints the main qualities on one screen; with one, or
with --all, every quality, lines and samples, and where the pitch went. Filters only
hide rows: no verdict depends on what is shown. --stratum puts the values of an extra split under each quality, and
--strata lists the splits and which of them ran out of data.`,
		Example: `  sill show                                       # the latest version on one screen
  sill show --all                                 # all that it says
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
			s, err := only.selection(v.tables, reference)
			if err != nil {
				return err
			}
			b := screen.NewBoard(v.tables, s)
			b.All = all || len(s.Variables) > 0 || len(s.Verdicts) > 0
			if curves {
				if b.Curves, err = screen.NewMiniatures(v.table, s.Reference); err != nil {
					return err
				}
			}
			doc := showDocument{head("show"), v.league, v.version, append([]screen.BoardRow{}, b.Rows...), screen.SplitsOf(v.tables)}
			return as.print(t, doc, nil, func(p *terminal.Printer) {
				v.title(p)
				switch {
				case splits:
					screen.Splits(p, doc.Splits)
				case !all && !curves && only.none() && s.Stratum == "":
					screen.Headline(p, v.tables, s.Reference, "sill show")
				case len(b.Rows) == 0:
					p.Line(terminal.Plain, "No row matches these filters.")
				default:
					b.Print(p)
				}
				if curves && !splits && len(b.Rows) > 0 {
					p.Prose(terminal.Dim, "", "  ", "Curves: the rate along the variable, the matchups of a line on the same axes; "+
						string(p.Marks().InBars)+" marks a breakpoint. `sill explain` draws one in full.")
				}
			})
		},
	}
	f := cmd.Flags()
	at.flags(f)
	only.flags(cmd, "type", "matchup", "variable", "outcome", "joint", "verdict")
	as.flags(f, "")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` compared with")
	f.StringVar(&only.stratum, "stratum", "", "extra split, whole or one value of it, such as `count` or count:two_strikes")
	f.BoolVar(&splits, "strata", false, "list the extra splits, and which ran out of data")
	f.BoolVar(&all, "all", false, "every quality, and lines on which nothing was shown")
	f.BoolVar(&curves, "curves", false, "draw each curve in small")
	return cmd
}
