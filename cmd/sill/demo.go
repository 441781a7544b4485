package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"sill/pipeline/demo"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
)

// demoDocument is what `demo --json` prints.
type demoDocument struct {
	document
	*demo.Summary
}

// newDemo is the command that writes an invented league.
func newDemo(t *terminal.Terminal) *cobra.Command {
	o := demo.DefaultOptions()
	o.Dir = "demo"
	var asJSON, force bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Write seasons of an invented league, with its truth",
		Long: `demo writes seasons of an invented league the way a tracking provider might,
with a source profile, a configuration and truth.json, which holds the thresholds
that were planted. Every club and player is invented.`,
		Example: `  sill demo --dir demo
  sill demo --dir demo --seasons 2 --pitches 100000 --seed 7
  sill run --config demo/sill.yaml`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := o.Validate(); err != nil {
				return usageError{err}
			}
			if held, err := os.ReadDir(o.Dir); err == nil && len(held) > 0 && !force {
				return usagef("write the demo: %s holds files already; name another folder with --dir, or replace those of an earlier demo with --force", filepath.ToSlash(o.Dir))
			}
			s, err := demo.Write(cmd.Context(), o)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(t.Out, demoDocument{head("demo"), s})
			}
			_, err = fmt.Fprintf(t.Out, "Wrote to %s: %s\n\nNext:\n  sill run --config %s\n", filepath.ToSlash(o.Dir), demoWords(s), filepath.ToSlash(filepath.Join(o.Dir, "sill.yaml")))
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.Dir, "dir", o.Dir, "`folder` to write to")
	f.StringVar(&o.League, "league", o.League, "`name` of the invented league")
	f.IntVar(&o.Pitches, "pitches", o.Pitches, "pitches a season, 0 for the league's own `number`")
	f.IntVar(&o.Seasons, "seasons", o.Seasons, "`number` of seasons")
	f.Uint64Var(&o.Seed, "seed", o.Seed, "seed of every random draw")
	f.BoolVar(&force, "force", false, "write into a folder that holds files, over those of an earlier demo")
	f.BoolVar(&asJSON, "json", false, "print a summary as JSON")
	return cmd
}

// demoWords says what was written.
func demoWords(s *demo.Summary) string {
	return fmt.Sprintf("the %s league, %s, %s, %s in %s (%s MB)", s.League, words.Plural(int64(s.Seasons), "season"),
		words.Plural(int64(s.Games), "game"), screen.Pitches(int64(s.Pitches)), words.Plural(int64(len(s.Files)), "file"), words.Number(float64(s.Bytes)/1e6, 1))
}
