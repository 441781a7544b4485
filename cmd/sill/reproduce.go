package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// What `reproduce --json` prints.
type (
	reproduceDocument struct {
		document
		League      string               `json:"league"`
		Version     string               `json:"version"`
		Same        bool                 `json:"same" doc:"whether every file is made again to the byte, but for clock, host and program"`
		Files       int                  `json:"files" doc:"files compared"`
		Program     []reproduceProgram   `json:"program" doc:"how this program is another one than that which published; bytes are promised only where it is not"`
		Differences []publish.Difference `json:"differences" doc:"files that differ, by name"`
	}
	reproduceProgram struct {
		What string `json:"what" doc:"algorithm, version, commit, go, goarch or goamd64"`
		Was  string `json:"was"`
		Now  string `json:"now"`
	}
)

// errDiffers says that a version could not be made again to the byte.
var errDiffers = errors.New("not the same bytes")

// newReproduce is the command that makes a version again and compares.
func newReproduce(t *terminal.Terminal) *cobra.Command {
	var at place
	var inputs []string
	var as form
	cmd := &cobra.Command{
		Use:   "reproduce VERSION",
		Short: "Make a published version again from its inputs and compare every byte",
		Long: `reproduce reads a version's manifest, checks that the files it was made from are
there and unchanged, runs again with the recorded settings, profile and seed in a
temporary folder, and holds every file against the published one. Clock, host and
program are left out: they stand in the manifest, the provenance, SHA256SUMS and
the log only. Each file that differs is named, with its first row and column that
do, and the exit code is 4. Nothing is written into the store.

The same bytes are promised for one version of sill and of Go and one processor
architecture; where this program is another one, that is said first. Relative
paths of the recorded inputs are meant from the working directory.`,
		Example: `  sill reproduce v1.0.0
  sill reproduce v1.2.0 --league lantern --input seasons/2031/ --json`,
		Args: args("VERSION"),
		RunE: func(cmd *cobra.Command, got []string) error {
			dir, err := at.one()
			if err != nil {
				return err
			}
			if _, err := knownVersion(dir, got[0]); err != nil {
				return err
			}
			table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(got[0]), thresholds.WithRetracted())
			if err != nil {
				return err
			}
			m := table.Manifest()
			doc := reproduceDocument{document: head("reproduce"), League: m.Name, Version: m.Version,
				Program: otherProgram(m, toolOf(thisBuild()))}
			if !as.json {
				for _, p := range doc.Program {
					fmt.Fprintf(t.Err, "sill: warning: published by another program: %s was %s, is %s\n", p.What, p.Was, p.Now)
				}
			}
			o, err := config.Restore(m)
			if err != nil {
				return usageError{fmt.Errorf("%w; use sill %s, which published it", err, m.Tool.Version)}
			}
			if len(inputs) > 0 {
				o.Inputs = inputs
			}
			var finish func()
			o.League, o.Tool = m.Name, toolOf(thisBuild())
			o.Log, o.Progress, finish = watch(t, as.json)
			again, err := pipeline.Reproduce(cmd.Context(), dir, m.Version, o)
			finish()
			if err != nil {
				return err
			}
			doc.Files, doc.Differences, doc.Same = again.Files, again.Differences, len(again.Differences) == 0
			err = as.print(t, doc, nil, func(p *terminal.Printer) { printReproduced(p, doc) })
			return errors.Join(err, doc.err())
		},
	}
	at.storeFlags(cmd.Flags())
	cmd.Flags().StringSliceVar(&inputs, "input", nil, "season `Parquet` that the version was made from, where it lies elsewhere now: files, folders or globs")
	as.flags(cmd.Flags(), "")
	return cmd
}

// otherProgram lists how this program differs from the one that published.
func otherProgram(m thresholds.Manifest, now thresholds.Tool) []reproduceProgram {
	out := []reproduceProgram{}
	for _, p := range []reproduceProgram{{"algorithm", m.Algorithm, pipeline.Algorithm}, {"version", m.Tool.Version, now.Version}, {"commit", m.Tool.Commit, now.Commit},
		{"go", m.Tool.Go, now.Go}, {"goarch", m.Tool.GOARCH, now.GOARCH}, {"goamd64", m.Tool.GOAMD64, now.GOAMD64}} {
		if p.Was != p.Now {
			out = append(out, p)
		}
	}
	return out
}

// err returns nil where all is the same, else errDiffers with the files' names.
func (d *reproduceDocument) err() error {
	if d.Same {
		return nil
	}
	var names []string
	for _, x := range d.Differences {
		names = append(names, x.File)
	}
	hint := "the inputs and settings are the recorded ones, so either the program or the published files are not what they claim"
	if len(d.Program) > 0 {
		hint = "this is another program than the one that published; try with that one"
	}
	return fmt.Errorf("reproduce %s: %w: %s (%s)", d.Version, errDiffers, strings.Join(names, ", "), hint)
}

func printReproduced(p *terminal.Printer, d reproduceDocument) {
	if d.Same {
		p.Line(terminal.Plain, "%s %s: same bytes. %s compared.", d.League, d.Version, words.Plural(int64(d.Files), "file"))
		return
	}
	p.Line(terminal.Bold, "%s %s: %s of %s differ.", d.League, d.Version, words.Count(int64(len(d.Differences))), words.Plural(int64(d.Files), "file"))
	for _, x := range d.Differences {
		p.Prose(terminal.Plain, "  ", "    ", filepath.ToSlash(x.File)+": "+x.Fault)
	}
}
