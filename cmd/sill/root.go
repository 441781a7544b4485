package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sill/pipeline/pitch"
	"sill/pipeline/render/terminal"
)

// usageTemplate shows the examples first.
const usageTemplate = `{{if .HasExample}}Examples:
{{.Example}}

{{end}}Usage:
  {{if .HasAvailableSubCommands}}{{.CommandPath}} COMMAND{{else}}{{.UseLine}}{{end}}
{{$all := .Commands}}{{range $g := .Groups}}
{{$g.Title}}:{{range $all}}{{if (and (eq .GroupID $g.ID) (or .IsAvailableCommand (eq .Name "help")))}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}
{{end}}{{if (and .HasAvailableSubCommands (eq (len .Groups) 0))}}
Commands:{{range $all}}{{if .IsAvailableCommand}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}
{{end}}{{if .HasAvailableLocalFlags}}
Flags:
{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}
{{end}}{{if .HasAvailableInheritedFlags}}
Flags of every command:
{{.InheritedFlags.FlagUsages | trimTrailingWhitespaces}}
{{end}}{{if .HasAvailableSubCommands}}
Use "{{.CommandPath}} COMMAND --help" for more about a command.
{{end}}`

// newRoot assembles the commands.
func newRoot(t *terminal.Terminal) *cobra.Command {
	root := &cobra.Command{
		Use:   "sill",
		Short: "Thresholds of pitch quality by handedness matchup",
		Long: `sill reads a season of pitch-level Parquet and publishes a versioned table that
says, for left- and right-handed pitchers against left- and right-handed batters,
from which velocity, movement or approach angle on each pitch type beats the
median line, with intervals.`,
		Example: `  sill demo --dir demo                  # write an invented league to try things on
  sill run --config demo/sill.yaml      # publish its table of thresholds
  sill show --type four_seam            # read it, the matchups side by side
  sill explain four_seam L-v-L velocity # one threshold with its evidence`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return unknown("command", args[0], commandNames(cmd))
		},
		RunE:              func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		SilenceErrors:     true,
		SilenceUsage:      true,
		DisableAutoGenTag: true,
	}
	root.PersistentFlags().Bool("no-color", false, "print without colours (NO_COLOR does the same)")
	root.PersistentFlags().Bool("ascii", false, "print ASCII characters only")
	root.PersistentPreRun = func(cmd *cobra.Command, _ []string) {
		if off, _ := cmd.Flags().GetBool("no-color"); off {
			t.Colour = false
		}
		if on, _ := cmd.Flags().GetBool("ascii"); on {
			t.ASCII = true
		}
	}
	root.Version = thisBuild().Version
	root.SetVersionTemplate(thisBuild().words())
	root.Flags().Bool("version", false, "say which program this is")
	root.SetUsageTemplate(usageTemplate)
	root.SetOut(t.Out)
	root.SetErr(t.Err)
	root.SetFlagErrorFunc(flagError)
	for _, g := range []struct {
		id, title string
		commands  []*cobra.Command
	}{
		{"refresh", "Refresh the table", []*cobra.Command{newInspect(t), newRun(t), newPublish(t), newDemo(t)}},
		{"read", "Read it", []*cobra.Command{newShow(t), newExplain(t), newContrast(t), newPlatoon(t), newDiff(t), newPlot(t), newReport(t)}},
		{"ask", "Ask further", []*cobra.Command{newTrial(t), newGrade(t), newTrend(t), newStacked(t), newLocated(t), newOpponents(t)}},
		{"keep", "Keep what is published", []*cobra.Command{newList(t), newStatus(t), newVerify(t), newReproduce(t), newDeprecate(t), newRetract(t), newRepair(t)}},
		{"help", "Look things up", []*cobra.Command{newConfig(t), newVocabulary(t), newSchema(t), newDocs(t), newVersion(t)}},
	} {
		root.AddGroup(&cobra.Group{ID: g.id, Title: g.title})
		for _, c := range g.commands {
			c.GroupID = g.id
			root.AddCommand(c)
		}
	}
	root.SetHelpCommandGroupID("help")
	root.SetCompletionCommandGroupID("help")
	return root
}

// execute runs one command line and returns the exit code.
func execute(ctx context.Context, args []string, t *terminal.Terminal) int {
	root := newRoot(t)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if ctx.Err() != nil && err != nil {
		err = context.Cause(ctx)
	}
	code := exitCode(err)
	switch {
	case code == exitOK:
	case wantsJSON(args):
		_ = writeJSON(t.Err, jsonError{schemaVersion, err.Error(), code})
	default:
		complain(t.Err, err, code)
	}
	return code
}

// wantsJSON tells whether a command line asks for JSON, be the command line right
// or not: the last --json or --json=true before a bare -- counts.
func wantsJSON(args []string) bool {
	on := false
	for _, a := range args {
		if a == "--" {
			break
		}
		if a == "--json" {
			on = true
		} else if value, ok := strings.CutPrefix(a, "--json="); ok {
			on, _ = strconv.ParseBool(value)
		}
	}
	return on
}

// complain tells a person what went wrong.
func complain(w io.Writer, err error, code int) {
	switch code {
	case exitInterrupted:
		fmt.Fprintln(w, "sill: interrupted; nothing was published and no file is left half-written. Run it again: it starts over and comes to the same.")
	default:
		fmt.Fprintf(w, "sill: %v\n", err)
	}
}

// flagError turns an error of parsing flags into one of usage, with the nearest
// flag where an unknown one was given.
func flagError(cmd *cobra.Command, err error) error {
	if errors.Is(err, pflag.ErrHelp) {
		return err
	}
	var missing *pflag.NotExistError
	if errors.As(err, &missing) && missing.GetSpecifiedShortnames() == "" {
		var names []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, "--"+f.Name) })
		if near := pitch.Nearest("--"+missing.GetSpecifiedName(), names); near != "" {
			return usagef("%w (did you mean %s?)", err, near)
		}
	}
	return usagef("%w; see %s --help", err, cmd.CommandPath())
}

// commandNames lists the names of a command's sub-commands.
func commandNames(cmd *cobra.Command) []string {
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return names
}

// args returns a check of the number of arguments that speaks of them by name.
func args(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, got []string) error {
		switch {
		case len(got) < len(names):
			return usagef("%s: missing argument %s; usage: %s", cmd.CommandPath(), names[len(got)], cmd.UseLine())
		case len(got) > len(names):
			return usagef("%s: unexpected argument %q", cmd.CommandPath(), got[len(names)])
		}
		return nil
	}
}
