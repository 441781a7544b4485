package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline/ingest"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
)

// inspectDocument is what `inspect --json` prints.
type inspectDocument struct {
	document
	*ingest.Inspection
}

// newInspect is the command that says what a provider's file holds.
func newInspect(t *terminal.Terminal) *cobra.Command {
	var profileFile, write string
	var asJSON, force bool
	cmd := &cobra.Command{
		Use:   "inspect FILE",
		Short: "Say what a Parquet file holds, and write a starter profile",
		Long: `inspect reads one Parquet file and prints its columns with types, null shares,
ranges and values. With --profile it also says how much of the dictionary the
profile covers and which values it leaves out. With --write it writes a starter
profile to complete by hand.`,
		Example: `  sill inspect season/april.parquet
  sill inspect season/april.parquet --write profile.yaml
  sill inspect season/april.parquet --profile profile.yaml
  sill inspect season/april.parquet --json`,
		Args: args("FILE"),
		RunE: func(cmd *cobra.Command, words []string) error {
			file := words[0]
			if info, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
				return usagef("inspect: %w", err)
			} else if err == nil && info.IsDir() {
				return usagef("inspect: %s is a folder; name one Parquet file in it", file)
			}
			found, err := ingest.Find([]string{file})
			if err != nil {
				return usageError{err}
			}
			var profile *ingest.Profile
			if profileFile != "" {
				if profile, err = config.LoadProfile(profileFile); err != nil {
					return usageError{err}
				}
			}
			in, err := ingest.Inspect(cmd.Context(), found[0], profile)
			if err != nil {
				return err
			}
			if write != "" {
				if err := writeNew(write, ingest.Starter(in), force); err != nil {
					return err
				}
			}
			if asJSON {
				err = writeJSON(t.Out, inspectDocument{head("inspect"), in})
			} else {
				p := terminal.NewPrinter(t)
				screen.Inspection(p, in, profile != nil)
				if write != "" {
					p.Blank()
					p.Line(terminal.Plain, "Wrote %s: complete it by hand, then run", filepath.ToSlash(write))
					p.Line(terminal.Plain, "  sill inspect %s --profile %s", filepath.ToSlash(file), filepath.ToSlash(write))
				}
				err = p.Close()
			}
			if err == nil && len(in.Problems) > 0 {
				return &ingest.FileError{File: in.File, RowGroup: -1, Msg: fmt.Sprintf("the profile does not fit: %s", strings.Join(in.Problems, "; "))}
			}
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&profileFile, "profile", "", "source profile to hold against the `file`")
	f.StringVar(&write, "write", "", "write a starter profile to a new `file`")
	f.BoolVar(&force, "force", false, "let --write replace a file")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// writeNew writes a file that must not exist yet, unless force is set.
func writeNew(name string, content []byte, force bool) error {
	how := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if force {
		how = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	f, err := os.OpenFile(name, how, 0o666)
	if errors.Is(err, fs.ErrExist) {
		return usagef("write %s: it exists; --force replaces it", name)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	return errors.Join(err, f.Close())
}
