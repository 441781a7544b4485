package main

import (
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline"
	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
)

// publishDocument is what `publish --json` prints.
type publishDocument struct {
	document
	League    string   `json:"league"`
	Version   string   `json:"version"`
	Parent    string   `json:"parent"`
	Dir       string   `json:"dir"`
	ContentID string   `json:"content_id"`
	Bump      string   `json:"bump" doc:"step of the number: major, minor or patch; empty where unchanged"`
	Reasons   []string `json:"reasons" doc:"why the step is no smaller"`
	Unchanged bool     `json:"unchanged" doc:"the newest version holds this content already"`
	DryRun    bool     `json:"dry_run"`
}

// newPublish is the command that publishes a draft.
func newPublish(t *terminal.Terminal) *cobra.Command {
	var at place
	var newest, dryRun, asJSON bool
	var bump string
	cmd := &cobra.Command{
		Use:   "publish [DRAFT]",
		Short: "Publish a draft that `sill run --draft` left",
		Long: `publish makes a version of a draft: exactly the files that were looked at, each
verified first. The draft is named by its content id or the beginning of it. A
draft follows the version that was newest when it was made; where another one is
newest by now, it is refused and the run is to be repeated. So is a --bump that
hides a larger change. ` + "`sill list`" + ` shows the drafts.`,
		Example: `  sill run --config demo/sill.yaml --draft
  sill publish --newest --dry-run
  sill publish 5f3a91c20b44`,
		Args: atMost("DRAFT"),
		RunE: func(cmd *cobra.Command, got []string) error {
			step, err := publish.ParseBump(bump)
			if err != nil {
				return usageError{err}
			}
			name := strings.Join(got, "")
			if (name == "") != newest {
				return usagef("publish: name a draft by its content id, or --newest; `sill list` shows them")
			}
			dir, err := at.one()
			if err != nil {
				return err
			}
			d, err := publish.FindDraft(dir, name)
			if err != nil {
				return usageError{err}
			}
			o, err := writing(t, dir)
			if err != nil {
				return err
			}
			o.Bump, o.Page = step, pipeline.DraftPage
			act := publish.CommitDraft
			if dryRun {
				act = publish.JudgeDraft
			}
			c, err := act(cmd.Context(), o, d.ContentID)
			if err != nil {
				return err
			}
			if asJSON {
				doc := publishDocument{document: head("publish"), League: publish.League(dir), Version: c.Version, Parent: c.Parent,
					Dir: filepath.ToSlash(filepath.Join(dir, c.Version)), ContentID: c.ContentID, Reasons: append([]string{}, c.Reasons...),
					Unchanged: c.Unchanged, DryRun: dryRun}
				if !c.Unchanged {
					doc.Bump = c.Bump.String()
				}
				return writeJSON(t.Out, doc)
			}
			p := terminal.NewPrinter(t)
			switch {
			case c.Unchanged:
				p.Line(terminal.Plain, "Unchanged: %s %s holds this content already.", publish.League(dir), c.Version)
			case dryRun:
				printStep(p, c)
				p.Line(terminal.Plain, "Dry run: nothing was published.")
			default:
				printStep(p, c)
				p.Line(terminal.Bold, "Published %s", filepath.ToSlash(filepath.Join(dir, c.Version)))
			}
			return p.Close()
		},
	}
	f := cmd.Flags()
	at.storeFlags(f)
	f.BoolVar(&newest, "newest", false, "take the newest draft")
	f.StringVar(&bump, "bump", "auto", "`step` of the version number: auto, patch, minor or major")
	f.BoolVar(&dryRun, "dry-run", false, "verify the draft and say what would be done, and do nothing")
	f.BoolVar(&asJSON, "json", false, "print JSON")
	complete(cmd, "bump", []string{"auto", "patch", "minor", "major"})
	return cmd
}

// printStep says which number a version gets and why.
func printStep(p *terminal.Printer, c *publish.Committed) {
	after := "the first version"
	if c.Parent != "" {
		after = c.Bump.String() + " step after " + c.Parent + ": " + strings.Join(c.Reasons, "; ")
	}
	p.Prose(terminal.Plain, "", "  ", "Version "+c.Version+", "+after+".")
}
