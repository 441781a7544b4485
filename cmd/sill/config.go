package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline/render/terminal"
)

// What the commands on settings print as JSON.
type (
	configDocument struct {
		document
		File     string         `json:"file"`
		Settings []config.Value `json:"settings"`
	}
	referenceDocument struct {
		document
		Settings []config.Setting `json:"settings"`
	}
)

// newConfig holds the commands on settings.
func newConfig(t *terminal.Terminal) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "config",
		Short:   "Look at the settings",
		Example: "  sill config show --config demo/sill.yaml\n  sill config reference",
		Args: func(cmd *cobra.Command, got []string) error {
			if len(got) == 0 {
				return nil
			}
			return unknown("command", "config "+got[0], prefixed("config ", commandNames(cmd)))
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newConfigShow(t), newConfigReference(t))
	return cmd
}

func prefixed(prefix string, words []string) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = prefix + w
	}
	return out
}

// newConfigShow prints every resolved setting with its origin.
func newConfigShow(t *terminal.Terminal) *cobra.Command {
	var file string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show",
		Short: "Print each setting with its origin",
		Long:  "show resolves the settings exactly as `sill run` would and says where each came from.",
		Example: `  sill config show --config demo/sill.yaml
  SILL_SEED=7 sill config show --set estimate.replicates=500 --json`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			r, err := config.Load(cmd.Flags(), file, t.Environ)
			if err != nil {
				return usageError{err}
			}
			if asJSON {
				return writeJSON(t.Out, configDocument{head("config show"), r.File, r.Values()})
			}
			p := terminal.NewPrinter(t)
			tab := &terminal.Table{Fit: 2}
			for _, v := range r.Values() {
				tab.Add(terminal.Cell{Text: v.Key}, terminal.Cell{Text: settingText(v.Value)}, terminal.Cell{Text: v.Origin.String(), Style: terminal.Dim})
			}
			p.Table(tab, 0)
			return p.Close()
		},
	}
	config.Flags(cmd.Flags())
	cmd.Flags().StringVarP(&file, "config", "c", "", "configuration `file` (YAML)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// newConfigReference prints what every setting means.
func newConfigReference(t *terminal.Terminal) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "reference",
		Short:   "Print what every setting means, as Markdown",
		Example: "  sill config reference\n  sill config reference --json",
		Args:    args(),
		RunE: func(*cobra.Command, []string) error {
			if asJSON {
				return writeJSON(t.Out, referenceDocument{head("config reference"), config.Reference()})
			}
			return config.WriteReference(t.Out)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// settingText prints a value so that nothing looks like nothing.
func settingText(v any) string {
	switch x := v.(type) {
	case string:
		return fmt.Sprintf("%q", x)
	case []string:
		return fmt.Sprintf("%q", x)
	}
	return fmt.Sprint(v)
}
