package main

import (
	"errors"
	"path/filepath"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// What `verify --json` prints.
type (
	verifyDocument struct {
		document
		OK      bool           `json:"ok"`
		Leagues []verifyLeague `json:"leagues"`
	}
	verifyLeague struct {
		League string `json:"league"`
		Dir    string `json:"dir"`
		publish.Verified
	}
)

// newVerify is the command that reads back what is published.
func newVerify(t *terminal.Terminal) *cobra.Command {
	var at place
	var as form
	cmd := &cobra.Command{
		Use:   "verify [VERSION]",
		Short: "Read every published byte back and hold it against manifest and log",
		Long: `verify checks the log against itself, each version's manifest against the log,
each file against the manifest, SHA256SUMS and its rows, the kept hand-over files
against their names, LATEST and catalog.json against the log, and that nothing
strange stands in the store. It changes nothing. Whatever is not as it was
published is named, and the exit code is 4. With a version only that one is read.`,
		Example: `  sill verify                            # all leagues in outputs
  sill verify v1.0.0 --league lantern
  sill verify --json`,
		Args: atMost("VERSION"),
		RunE: func(_ *cobra.Command, got []string) error {
			dirs, err := at.all()
			if err != nil {
				return err
			}
			version := ""
			if len(got) > 0 {
				dir, err := at.one()
				if err != nil {
					return err
				}
				version, dirs = got[0], []string{dir}
				if _, err := knownVersion(dir, version); err != nil {
					return err
				}
			}
			doc := verifyDocument{document: head("verify"), Leagues: []verifyLeague{}}
			var faults []error
			for _, dir := range dirs {
				v, err := publish.Verify(dir, version)
				if err != nil {
					return err
				}
				doc.Leagues = append(doc.Leagues, verifyLeague{publish.League(dir), filepath.ToSlash(dir), *v})
				faults = append(faults, v.Err())
			}
			err = errors.Join(faults...)
			doc.OK = err == nil
			return errors.Join(err, as.print(t, doc, nil, func(p *terminal.Printer) { printVerify(p, doc.Leagues) }))
		},
	}
	at.storeFlags(cmd.Flags())
	as.flags(cmd.Flags(), "")
	return cmd
}

func printVerify(p *terminal.Printer, leagues []verifyLeague) {
	for _, l := range leagues {
		verdict := "all as published"
		if n := len(l.Faults); n > 0 {
			verdict = words.Plural(int64(n), "fault")
		}
		p.Prose(terminal.Plain, "", "  ", l.League+": "+verdict+". Read "+words.Plural(int64(len(l.Versions)), "whole version")+" with "+
			words.Plural(int64(l.Files), "file")+", "+screen.Size(l.Bytes)+"; "+words.Count(int64(l.Entries))+" in the log.")
	}
}

// atMost returns a check that allows arguments to be left out.
func atMost(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, got []string) error {
		if len(got) > len(names) {
			return args(names...)(cmd, got)
		}
		return nil
	}
}
