package main

import (
	"errors"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// listDocument is what `list --json` prints.
type listDocument struct {
	document
	Leagues []publish.Listing `json:"leagues"`
}

// newList is the command that lists what is published.
func newList(t *terminal.Terminal) *cobra.Command {
	var at place
	var as form
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the published versions of one league or all",
		Long: `list prints every version of a league with its date, status, headline verdicts,
inputs and size. A reader who names no version gets the one marked newest; one
who pins a major number gets the newest of that major. Retracted versions are
opened for nobody. Hashes are not read; ` + "`sill verify`" + ` does that.`,
		Example: `  sill list                              # all leagues in outputs
  sill list --league lantern --json`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			dirs, err := at.all()
			if err != nil {
				return err
			}
			doc := listDocument{document: head("list")}
			var faults []error
			for _, dir := range dirs {
				l, err := publish.List(dir)
				if err != nil && !errors.Is(err, thresholds.ErrIntegrity) {
					return err
				}
				doc.Leagues, faults = append(doc.Leagues, l), append(faults, err)
			}
			err = as.print(t, doc, nil, func(p *terminal.Printer) { screen.Leagues(p, doc.Leagues) })
			return errors.Join(append(faults, err)...)
		},
	}
	at.storeFlags(cmd.Flags())
	as.flags(cmd.Flags(), "")
	return cmd
}
