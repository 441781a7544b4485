package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
)

// statusDocument is what `status --json` prints.
type statusDocument struct {
	document
	WarnAfter  float64             `json:"warn_after_days"`
	ErrorAfter float64             `json:"error_after_days"`
	Leagues    []publish.Freshness `json:"leagues"`
}

// newStatus is the command that says how fresh the tables are.
func newStatus(t *terminal.Terminal) *cobra.Command {
	var at place
	doc := statusDocument{document: head("status")}
	var as form
	cmd := &cobra.Command{
		Use:   "status",
		Short: "Say how old the newest table and its newest pitch are",
		Long: `status says of each league how long ago its newest version was published and how
long ago the newest pitch in it was thrown. The greater of the two decides: ok,
getting old after --warn-after days, too old after --error-after days. Where a
league is too old or has no version left, the exit code is 6. It goes by
SOURCE_DATE_EPOCH where that is set, else by the clock.`,
		Example: `  sill status
  sill status --league lantern --warn-after 3 --error-after 7 && ./use-the-table`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			if doc.WarnAfter < 0 || doc.ErrorAfter < doc.WarnAfter {
				return usagef("--warn-after is %g and --error-after %g: use days, the second no smaller than the first", doc.WarnAfter, doc.ErrorAfter)
			}
			clock, err := now(t)
			if err != nil {
				return err
			}
			dirs, err := at.all()
			if err != nil {
				return err
			}
			stop := ""
			for _, dir := range dirs {
				l, err := publish.Fresh(dir, clock, doc.WarnAfter, doc.ErrorAfter)
				if err != nil {
					return err
				}
				if l.State == publish.TooOld || l.State == publish.NoVersion {
					stop = l.League
				}
				doc.Leagues = append(doc.Leagues, l)
			}
			err = as.print(t, doc, nil, func(p *terminal.Printer) { screen.Freshness(p, doc.Leagues) })
			if err == nil && stop != "" {
				err = fmt.Errorf("%w: %s is not fresh enough; run again with newer pitches", errNo, stop)
			}
			return err
		},
	}
	f := cmd.Flags()
	at.storeFlags(f)
	f.Float64Var(&doc.WarnAfter, "warn-after", 14, "age in `days` from which a table is getting old")
	f.Float64Var(&doc.ErrorAfter, "error-after", 30, "age in `days` from which a table is too old (exit code 6)")
	as.flags(f, "")
	return cmd
}
