package main

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// buildInfo says which program this is.
type buildInfo struct {
	document
	Version string `json:"version"`
	Commit  string `json:"commit"`
	Go      string `json:"go"`
	System  string `json:"system"`
	Tables  string `json:"table_schema_version"`

	goarch, goamd64 string
}

// thisBuild reads what the Go tool stamped into the program.
func thisBuild() buildInfo {
	b := buildInfo{document: head("version"), Version: "(devel)", Go: runtime.Version(),
		System: runtime.GOOS + "/" + runtime.GOARCH, Tables: thresholds.SchemaVersion, goarch: runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	if info.Main.Version != "" {
		b.Version = info.Main.Version
	}
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			b.Commit = s.Value + b.Commit
		case s.Key == "GOAMD64":
			b.goamd64 = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			b.Commit += " (modified)"
		}
	}
	return b
}

// words say which program this is.
func (b buildInfo) words() string {
	return fmt.Sprintf("sill %s\ncommit %s\n%s %s\npublished tables: schema %s\n", b.Version, b.Commit, b.Go, b.System, b.Tables)
}

// newVersion is the command that says which program this is.
func newVersion(t *terminal.Terminal) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "version",
		Short:   "Say which program this is",
		Example: "  sill version\n  sill version --json",
		Args:    args(),
		RunE: func(*cobra.Command, []string) error {
			b := thisBuild()
			if asJSON {
				return writeJSON(t.Out, b)
			}
			_, err := io.WriteString(t.Out, b.words())
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
