package main

import (
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// markDocument is what `deprecate --json` and `retract --json` print.
type markDocument struct {
	document
	League    string `json:"league"`
	Version   string `json:"version"`
	Status    string `json:"status" doc:"deprecated or retracted"`
	Reason    string `json:"reason"`
	Unchanged bool   `json:"unchanged" doc:"the log said so already"`
	Newest    string `json:"newest" doc:"version that a reader gets who names none, empty where there is none left"`
}

func newDeprecate(t *terminal.Terminal) *cobra.Command {
	return newMark(t, thresholds.Deprecate, "deprecated", &cobra.Command{
		Short: "Advise against a version; it still opens, with a warning",
		Long: `deprecate writes into the log that a version is no longer advised, and why. It
still opens, for those who name it and as the newest; readers are told the reason.
Nothing is deleted. It cannot be taken back: publish a further version instead.`,
		Example: "  sill deprecate v1.0.0 --reason 'bins of spin rate were too wide'",
	})
}

func newRetract(t *terminal.Terminal) *cobra.Command {
	return newMark(t, thresholds.Retract, "retracted", &cobra.Command{
		Short: "Withdraw a version that is wrong; it opens no more",
		Long: `retract writes into the log that a version is wrong, and why. No reader opens it
any more: who names it is told the reason, who names none gets the newest of the
others. Its files stay as evidence, its number is never used again, and it cannot
be taken back; its content may be published anew under the next number.`,
		Example: "  sill retract v1.1.0 --reason 'two games were read twice'",
	})
}

// newMark fills in a command that says something of a version in the log.
func newMark(t *terminal.Terminal, action, status string, cmd *cobra.Command) *cobra.Command {
	var at place
	var reason string
	var as form
	cmd.Use = action + " VERSION"
	cmd.Args = args("VERSION")
	cmd.RunE = func(_ *cobra.Command, got []string) error {
		if strings.TrimSpace(reason) == "" {
			return usagef("%s: say why with --reason; readers are shown it", action)
		}
		dir, err := at.one()
		if err != nil {
			return err
		}
		r, err := knownVersion(dir, got[0])
		if err != nil {
			return err
		}
		doc := markDocument{document: head(action), League: publish.League(dir), Version: r.Version, Status: status, Reason: reason}
		before := map[string]string{thresholds.Deprecate: r.Deprecated, thresholds.Retract: r.Retracted}[action]
		if doc.Unchanged = before == reason; !doc.Unchanged {
			o, err := writing(t, dir)
			if err != nil {
				return err
			}
			if err := publish.Mark(o, action, r.Version, reason); err != nil {
				return err
			}
		}
		releases, err := publish.Releases(dir)
		if err != nil {
			return err
		}
		if newest := thresholds.Newest(releases); newest != nil {
			doc.Newest = newest.Version
		}
		return as.print(t, doc, nil, func(p *terminal.Printer) {
			if doc.Unchanged {
				p.Line(terminal.Plain, "Unchanged: the log says so already.")
			}
			p.Prose(terminal.Plain, "", "  ", doc.League+" "+doc.Version+" is "+status+": "+reason)
			if doc.Newest == "" {
				p.Line(terminal.Plain, "No version is left to open; publish one with `sill run`.")
			} else {
				p.Line(terminal.Plain, "Who names no version gets %s.", doc.Newest)
			}
		})
	}
	at.storeFlags(cmd.Flags())
	cmd.Flags().StringVar(&reason, "reason", "", "why, shown to readers")
	as.flags(cmd.Flags(), "")
	return cmd
}
