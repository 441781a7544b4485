package main

import (
	"bytes"
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/spf13/pflag"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
)

// docsDocument is what `docs --json` prints.
type docsDocument struct {
	document
	Dir   string   `json:"dir"`
	Files []string `json:"files" doc:"what was written, relative to the folder"`
}

// newDocs is the command that writes the documentation that follows from the code.
func newDocs(t *terminal.Terminal) *cobra.Command {
	var dir string
	var force, asJSON bool
	cmd := &cobra.Command{
		Use:   "docs",
		Short: "Print every command with its flags and settings, or write manual pages",
		Long: `docs prints the reference of all commands, their flags and all settings as
Markdown. With --dir it writes the whole documentation that follows from the
program itself: manual pages (man), completions for bash, zsh, fish and PowerShell
(completions), reference.md and the data dictionary, vocabulary.md.`,
		Example: `  sill docs | less
  sill docs --dir docs
  man docs/man/sill-run.1
  source docs/completions/sill.bash                           # bash, until the shell ends
  cp docs/completions/sill.fish ~/.config/fish/completions/   # fish, from now on`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if dir == "" {
				if asJSON {
					return usagef("docs: --json tells what --dir wrote; `sill config reference --json` and `sill vocabulary --json` are for programs")
				}
				return writeReference(t, cmd.Root())
			}
			files, err := docFiles(t, cmd.Root())
			if err != nil {
				return err
			}
			for _, f := range files {
				name := filepath.Join(dir, filepath.FromSlash(f.name))
				if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
					return err
				}
				if err := writeNew(name, f.content, force); err != nil {
					return err
				}
			}
			if asJSON {
				d := docsDocument{document: head("docs"), Dir: filepath.ToSlash(dir)}
				for _, f := range files {
					d.Files = append(d.Files, f.name)
				}
				return writeJSON(t.Out, d)
			}
			_, err = fmt.Fprintf(t.Out, "Wrote %d files to %s: man, completions, reference.md, vocabulary.md\n", len(files), filepath.ToSlash(dir))
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&dir, "dir", "", "`folder` to write everything to")
	f.BoolVar(&force, "force", false, "replace files")
	f.BoolVar(&asJSON, "json", false, "print what was written as JSON")
	return cmd
}

// docFile is one file of the documentation.
type docFile struct {
	name    string // relative to the folder, with slashes
	content []byte
}

// docFiles makes every file, in the order of their names.
func docFiles(t *terminal.Terminal, root *cobra.Command) ([]docFile, error) {
	day, err := pipeline.Now(terminal.Lookup(t.Environ)("SOURCE_DATE_EPOCH"))
	if err != nil {
		return nil, usageError{err}
	}
	var out []docFile
	var b bytes.Buffer
	add := func(name string, err error) error {
		out = append(out, docFile{name, bytes.Clone(b.Bytes())})
		b.Reset()
		return err
	}
	for _, c := range tree(root) {
		name := strings.ReplaceAll(c.CommandPath(), " ", "-")
		header := &doc.GenManHeader{Title: strings.ToUpper(name), Section: "1", Date: &day, Source: "sill " + root.Version, Manual: "sill"}
		if err := add("man/"+name+".1", doc.GenMan(c, header, &b)); err != nil {
			return nil, err
		}
	}
	for _, shell := range []struct {
		file  string
		write func() error
	}{
		{"sill.bash", func() error { return root.GenBashCompletionV2(&b, true) }},
		{"_sill", func() error { return root.GenZshCompletion(&b) }},
		{"sill.fish", func() error { return root.GenFishCompletion(&b, true) }},
		{"sill.ps1", func() error { return root.GenPowerShellCompletionWithDesc(&b) }},
	} {
		if err := add("completions/"+shell.file, shell.write()); err != nil {
			return nil, err
		}
	}
	page := *t
	page.Out = &b
	if err := add("reference.md", writeReference(&page, root)); err != nil {
		return nil, err
	}
	if err := add("vocabulary.md", screen.Vocabulary().Markdown(page.Out)); err != nil {
		return nil, err
	}
	slices.SortFunc(out, func(a, b docFile) int { return strings.Compare(a.name, b.name) })
	return out, nil
}

// tree lists a command and all below it that a person may call, but for the
// shells, of which their own command tells.
func tree(c *cobra.Command) []*cobra.Command {
	out := []*cobra.Command{c}
	for _, sub := range c.Commands() {
		if sub.IsAvailableCommand() && c.Name() != "completion" {
			out = append(out, tree(sub)...)
		}
	}
	return out
}

// writeReference writes every command with its flags, and every setting.
func writeReference(t *terminal.Terminal, root *cobra.Command) error {
	var b bytes.Buffer
	b.WriteString("# Reference of sill\n\nFlags of every command:\n\n```\n" + root.PersistentFlags().FlagUsages() + "```\n")
	for _, c := range tree(root)[1:] {
		fmt.Fprintf(&b, "\n## %s\n\n%s\n\n```\n", c.CommandPath(), strings.TrimSpace(cmp.Or(c.Long, c.Short+".")))
		if c.HasAvailableSubCommands() {
			b.WriteString(c.CommandPath() + " " + strings.Join(commandNames(c), "|") + "\n")
		} else {
			b.WriteString(strings.TrimSuffix(c.UseLine(), " [flags]") + "\n")
		}
		if c.Example != "" {
			b.WriteString("\n" + c.Example + "\n")
		}
		flags := pflag.NewFlagSet("", pflag.ContinueOnError)
		c.LocalNonPersistentFlags().VisitAll(func(f *pflag.Flag) {
			if f.Name != "help" { // which stands there once it was asked for
				flags.AddFlag(f)
			}
		})
		if flags.HasFlags() {
			b.WriteString("\n" + flags.FlagUsages())
		}
		b.WriteString("```\n")
	}
	b.WriteString("\n## Settings\n\nA flag comes before the environment, that before the file, that before the default.\n\n")
	if err := config.WriteReference(&b); err != nil {
		return err
	}
	_, err := t.Out.Write(b.Bytes())
	return err
}
