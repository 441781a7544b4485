package main

import (
	"errors"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
)

// What `repair --json` prints.
type (
	repairDocument struct {
		document
		DryRun  bool           `json:"dry_run"`
		Leagues []repairLeague `json:"leagues"`
	}
	repairLeague struct {
		League string `json:"league"`
		Dir    string `json:"dir"`
		publish.Repaired
	}
)

// newRepair is the command that tidies up after interrupted publishers.
func newRepair(t *terminal.Terminal) *cobra.Command {
	var at place
	var days float64
	var dryRun bool
	var as form
	cmd := &cobra.Command{
		Use:   "repair",
		Short: "Tidy up what an interrupted run left",
		Long: `repair logs a whole version that was put in place but never logged, removes one
that is not whole, clears staging of what is older than --older-than days (drafts
too), removes hand-over files that no version names, and rewrites LATEST and
catalog.json from the log. It never touches a version in the log. Where
` + "`sill verify`" + ` finds one damaged, bring its files back from a copy, or retract it
and run again.`,
		Example: `  sill repair --dry-run
  sill repair --league lantern --older-than 0   # nobody is publishing now`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			if days < 0 {
				return usagef("--older-than is %g: use a number of days, 0 for whatever age", days)
			}
			dirs, err := at.all()
			if err != nil {
				return err
			}
			doc := repairDocument{document: head("repair"), DryRun: dryRun, Leagues: []repairLeague{}}
			tell := func() error {
				return as.print(t, doc, nil, func(p *terminal.Printer) { printRepair(p, doc) })
			}
			for _, dir := range dirs {
				o, err := writing(t, dir)
				if err != nil {
					return err
				}
				var before time.Time
				if days > 0 { // by the clock that stamps files
					before = time.Now().Add(-time.Duration(days * float64(24*time.Hour)))
				}
				r, err := publish.Repair(o, before, dryRun)
				if r != nil {
					doc.Leagues = append(doc.Leagues, repairLeague{publish.League(dir), filepath.ToSlash(dir), *r})
				}
				if err != nil { // what was done until then is told
					return errors.Join(err, tell())
				}
			}
			return tell()
		},
	}
	at.storeFlags(cmd.Flags())
	cmd.Flags().Float64Var(&days, "older-than", 1, "`days` after which drafts and leftovers are removed; 0 for at once")
	cmd.Flags().BoolVar(&dryRun, "dry-run", false, "say what would be done, and do nothing")
	as.flags(cmd.Flags(), "")
	return cmd
}

func printRepair(p *terminal.Printer, doc repairDocument) {
	for _, l := range doc.Leagues {
		if len(l.Adopted)+len(l.Removed)+len(l.Rewritten) == 0 {
			p.Line(terminal.Plain, "%s: nothing to repair", l.League)
			continue
		}
		say := func(done, would string, names []string) {
			if doc.DryRun {
				done = would
			}
			for _, name := range names {
				p.Line(terminal.Plain, "%s: %s %s", l.League, done, name)
			}
		}
		say("logged", "would log", l.Adopted)
		say("removed", "would remove", l.Removed)
		say("rewrote", "would rewrite", l.Rewritten)
	}
}
