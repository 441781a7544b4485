package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"sill/config"
	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/publish"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// newRun is the command that turns a season into a published table.
func newRun(t *terminal.Terminal) *cobra.Command {
	var file string
	var dryRun, draft, asJSON bool
	var bump string
	cmd := &cobra.Command{
		Use:   "run",
		Short: "Turn season Parquet into a published table of thresholds",
		Long: `run reads a season of pitches through a source profile, estimates where each
quality of each pitch type beats the line in each matchup, and publishes the
table as an immutable version. The same inputs and settings give the same bytes;
where they are published already, nothing is written and the exit code is 0.

Settings come from flags, then SILL_… variables, then the configuration file,
then defaults; ` + "`sill config show`" + ` prints each with its origin. With --draft the
finished version waits in the store's staging until ` + "`sill publish`" + `.`,
		Example: `  sill run --config demo/sill.yaml
  sill run --config demo/sill.yaml --dry-run           # read and check, publish nothing
  sill run --league winter --input 'season=2030/*.parquet' --profile profile.yaml
  sill run --config demo/sill.yaml --set estimate.replicates=500 --json`,
		Args: args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			resolved, err := config.Load(cmd.Flags(), file, t.Environ)
			if err != nil {
				return usageError{err}
			}
			o := resolved.Options
			if err := o.Validate(); err != nil {
				return usageError{err}
			}
			if _, err := ingest.Find(o.Inputs); err != nil {
				return usageError{err} // the settings name nothing to read
			}
			var finish func()
			o.Log, o.Progress, finish = watch(t, asJSON)
			o.DryRun, o.Draft, o.Tool = dryRun, draft, toolOf(thisBuild())
			if o.Bump, err = publish.ParseBump(bump); err != nil {
				return usageError{err}
			}
			if o.Created, err = pipeline.Now(terminal.Lookup(t.Environ)("SOURCE_DATE_EPOCH")); err != nil {
				return usageError{err}
			}
			result, err := pipeline.Run(cmd.Context(), o)
			finish()
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(t.Out, summarize(o, result))
			}
			return printRun(t, o, result)
		},
	}
	f := cmd.Flags()
	config.Flags(f)
	f.StringVarP(&file, "config", "c", "", "configuration `file` (YAML)")
	f.BoolVar(&dryRun, "dry-run", false, "read and check the inputs, publish nothing")
	f.BoolVar(&draft, "draft", false, "leave the finished version unpublished; sill publish publishes it")
	f.StringVar(&bump, "bump", "auto", "`step` of the version number: auto, patch, minor or major; too small a one is refused")
	f.BoolVar(&asJSON, "json", false, "print a summary as JSON")
	complete(cmd, "bump", []string{"auto", "patch", "minor", "major"})
	return cmd
}

// runSummary is what `run --json` prints.
type runSummary struct {
	document
	League    string                `json:"league"`
	Version   string                `json:"version"`
	Dir       string                `json:"dir"`
	Unchanged bool                  `json:"unchanged"`
	DryRun    bool                  `json:"dry_run"`
	Draft     string                `json:"draft,omitempty" doc:"content id of the draft, for sill publish"`
	Parent    string                `json:"parent"`
	Reasons   []string              `json:"reasons" doc:"why the step of the number is no smaller"`
	Verdicts  map[string]int64      `json:"verdicts"`
	Report    *ingest.Report        `json:"rows"`
	Skipped   []string              `json:"skipped_variables"`
	Splits    []screen.SplitSummary `json:"strata" doc:"how far the data reach into each stratum"`
	Notes     []string              `json:"notes"`
}

func summarize(o pipeline.Options, r *pipeline.Result) runSummary {
	s := runSummary{document: head("run"), League: o.League, Version: r.Version, Dir: r.Dir,
		Unchanged: r.Unchanged, DryRun: o.DryRun, Verdicts: map[string]int64{},
		Skipped: append([]string{}, r.Skipped...), Notes: append([]string{}, r.Notes...), Reasons: []string{}, Splits: []screen.SplitSummary{}}
	if c := r.Committed; c != nil {
		s.Parent, s.Reasons = c.Parent, append(s.Reasons, c.Reasons...)
		if o.Draft && !c.Unchanged {
			s.Draft = c.ContentID
		}
	}
	if r.Report != nil {
		rows := *r.Report
		rows.Rejects = nil // the quarantine holds them
		s.Report = &rows
	}
	if r.Tables != nil {
		s.Verdicts = screen.CountVerdicts(r.Tables, thresholds.HeadlineReference)
		s.Splits = screen.SplitsOf(r.Tables)
	}
	return s
}

// printRun prints the headline table, how the rows fared and where the version
// lies.
func printRun(t *terminal.Terminal, o pipeline.Options, r *pipeline.Result) error {
	p := terminal.NewPrinter(t)
	if r.Tables != nil {
		see := "sill show"
		if !o.Draft || r.Unchanged {
			see += " --store " + filepath.ToSlash(r.Dir)
		}
		p.Line(terminal.Bold, "%s %s", o.League, r.Version)
		p.Blank()
		screen.Headline(p, r.Tables, thresholds.HeadlineReference, see)
		p.Blank()
		p.Prose(terminal.Plain, "", "", "Verdicts: "+screen.Tally(r.Tables, thresholds.HeadlineReference)+".")
		for _, s := range screen.SplitsOf(r.Tables) {
			p.Prose(terminal.Plain, "", "  ", screen.SplitsSentence(s)+".")
		}
	}
	screen.Rows(p, r.Report)
	if len(r.Skipped) > 0 {
		p.Prose(terminal.Plain, "", "  ", "Not in the data: "+words.Spaced(words.Commas(r.Skipped))+".")
	}
	for _, n := range r.Notes {
		p.Prose(terminal.Plain, "", "  ", "Note: "+words.Note(n))
	}
	switch {
	case o.DryRun:
		p.Line(terminal.Plain, "Dry run: nothing was published.")
	case r.Unchanged:
		p.Line(terminal.Plain, "Unchanged: %s holds this content already.", filepath.ToSlash(r.Dir))
	case o.Draft:
		printStep(p, r.Committed)
		p.Line(terminal.Bold, "Draft %s", filepath.ToSlash(r.Dir))
		p.Line(terminal.Plain, "Publish it: sill publish %s --store %s", publish.Short(r.Committed.ContentID), filepath.ToSlash(filepath.Join(o.Output, o.League)))
	default:
		p.Line(terminal.Bold, "Published %s", filepath.ToSlash(r.Dir))
	}
	return p.Close()
}

// toolOf describes this program for the manifest.
func toolOf(b buildInfo) thresholds.Tool {
	return thresholds.Tool{Version: b.Version, Commit: b.Commit, Go: b.Go, GOARCH: b.goarch, GOAMD64: b.goamd64}
}
