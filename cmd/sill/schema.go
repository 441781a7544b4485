package main

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline"
	"sill/pipeline/analysis/compare"
	"sill/pipeline/analysis/quality"
	"sill/pipeline/ingest"
	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/schema"
	"sill/pipeline/thresholds"
)

// schemas returns the JSON Schema of everything that sill reads and writes as
// JSON or YAML, by name.
func schemas() map[string]*schema.Schema {
	out := publish.Schemas(publish.Version{Quality: quality.Report{}, Documents: map[string]any{"diff": compare.Document{}}})
	edition := strconv.Itoa(schemaVersion)
	out["config"] = schema.OfSettings("config", thresholds.SchemaVersion, "Settings of a run, as in sill.yaml", pipeline.Options{})
	out["profile"] = schema.OfSettings("profile", thresholds.SchemaVersion, "Source profile: a provider's columns mapped onto sill's", ingest.Profile{})
	for _, printed := range []struct {
		command string
		example any
	}{
		{"run", runSummary{}}, {"show", showDocument{}}, {"explain", explainDocument{}}, {"diff", diffDocument{}},
		{"list", listDocument{}}, {"verify", verifyDocument{}}, {"reproduce", reproduceDocument{}}, {"status", statusDocument{}}, {"publish", publishDocument{}},
		{"deprecate", markDocument{}}, {"retract", markDocument{}}, {"repair", repairDocument{}},
		{"diff", diffDocument{}}, {"trial", trialDocument{}}, {"trend", trendDocument{}}, {"trend-persistence", persistenceDocument{}}, {"grade", gradeDocument{}}, {"stacked", stackedDocument{}}, {"located", locatedDocument{}}, {"opponents", opponentsDocument{}}, {"inspect", inspectDocument{}}, {"demo", demoDocument{}},
		{"config-show", configDocument{}}, {"config-reference", referenceDocument{}}, {"vocabulary", vocabularyDocument{}}, {"version", buildInfo{}},
		{"contrast", contrastDocument{}}, {"platoon", platoonDocument{}},
		{"docs", docsDocument{}},
	} {
		out[printed.command+"-output"] = schema.Of(printed.command+"-output", edition, "What `sill "+strings.ReplaceAll(printed.command, "-", " ")+" --json` prints", printed.example)
	}
	out["error-output"] = schema.Of("error-output", edition, "What a failed command with --json writes to standard error", jsonError{})
	return out
}

// newSchema is the command that prints JSON Schemas.
func newSchema(t *terminal.Terminal) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "schema [NAME]",
		Short: "Print the JSON Schema of a file or of a command's output",
		Long: `schema prints the JSON Schema (draft 2020-12) of one document: the settings and
the source profile (for editors that check YAML), the files of a published
version, which also carries them in its folder schemas, and what the commands
print with --json. Without a name it lists the names.`,
		Example: `  sill schema
  sill schema config >sill.schema.json`,
		Args: atMost("NAME"),
		RunE: func(_ *cobra.Command, got []string) error {
			all := schemas()
			names := slices.Sorted(maps.Keys(all))
			if len(got) == 0 {
				p := terminal.NewPrinter(t)
				tab := &terminal.Table{Fit: 2}
				for _, name := range names {
					tab.Add(terminal.Cell{Text: name}, terminal.Cell{Text: all[name].Title, Style: terminal.Dim})
				}
				p.Table(tab, 0)
				return p.Close()
			}
			if all[got[0]] == nil {
				return unknown("schema", got[0], names)
			}
			return writeJSON(t.Out, all[got[0]])
		},
	}
	cmd.ValidArgsFunction = func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return slices.Sorted(maps.Keys(schemas())), cobra.ShellCompDirectiveNoFileComp
	}
	return cmd
}
