package main

import (
	"github.com/spf13/cobra"

	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
)

// newVocabulary is the command that prints the data dictionary.
func newVocabulary(t *terminal.Terminal) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "vocabulary",
		Short: "Print the data dictionary as Markdown",
		Long: `vocabulary prints every canonical column with its unit, range and words, to which
a source profile maps a provider's columns; every variable, verdict and caveat;
and every column of the published tables with its unit and meaning.`,
		Example: "  sill vocabulary\n  sill vocabulary --json",
		Args:    args(),
		RunE: func(*cobra.Command, []string) error {
			d := screen.Vocabulary()
			if asJSON {
				return writeJSON(t.Out, vocabularyDocument{head("vocabulary"), d})
			}
			return d.Markdown(t.Out)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// vocabularyDocument is what `vocabulary --json` prints.
type vocabularyDocument struct {
	document
	screen.Dictionary
}
