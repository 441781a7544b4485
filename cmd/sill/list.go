package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"sill/pipeline/render/screen"

	"github.com/spf13/cobra"

	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// What `list --json` prints.
type (
	listDocument struct {
		document
		Leagues []listLeague `json:"leagues"`
	}
	listLeague struct {
		League   string            `json:"league"`
		Dir      string            `json:"dir"`
		Newest   string            `json:"newest" doc:"version that a reader gets who names none, empty where there is none"`
		Versions []listVersion     `json:"versions" doc:"newest first"`
		Drafts   []publish.Drafted `json:"drafts" doc:"oldest first"`
	}
	listVersion struct {
		Version    string           `json:"version"`
		Parent     string           `json:"parent"`
		Created    string           `json:"created"`
		Status     string           `json:"status" doc:"published, deprecated, retracted or damaged"`
		Reason     string           `json:"reason,omitempty" doc:"why it is deprecated or retracted, or what is damaged"`
		Newest     bool             `json:"newest"`
		NewestOf   int              `json:"newest_of_major,omitempty" doc:"major number whose newest version this is: a reader pinned to it gets this one"`
		Verdicts   map[string]int64 `json:"verdicts" doc:"headline verdicts against the median line, by word"`
		Inputs     int              `json:"inputs"`
		Bytes      int64            `json:"bytes"`
		ManifestID string           `json:"manifest_sha256"`
	}
)

// newList is the command that lists what is published.
func newList(t *terminal.Terminal) *cobra.Command {
	var at place
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the published versions of one league or all",
		Long: `list prints every version of a league with its date, status, headline verdicts,
inputs and size. A reader who names no version gets the one marked newest; one
who pins a major number gets the newest of that major. Retracted versions are
opened for nobody. Hashes are not read; ` + "`sill verify`" + ` does that.`,
		Example: `  sill list                              # all leagues in outputs
  sill list --league lantern --json`,
		Args: args(),
		RunE: func(*cobra.Command, []string) error {
			dirs, err := at.all()
			if err != nil {
				return err
			}
			doc := listDocument{document: head("list")}
			var faults []error
			for _, dir := range dirs {
				l, err := listOne(dir)
				if err != nil && !errors.Is(err, thresholds.ErrIntegrity) {
					return err
				}
				doc.Leagues, faults = append(doc.Leagues, l), append(faults, err)
			}
			if asJSON {
				err = writeJSON(t.Out, doc)
			} else {
				err = printList(t, doc.Leagues)
			}
			return errors.Join(append(faults, err)...)
		},
	}
	at.storeFlags(cmd.Flags())
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}

// listOne lists a league; faults of its versions are in the list and the error.
func listOne(dir string) (listLeague, error) {
	l := listLeague{League: leagueOf(dir), Dir: filepath.ToSlash(dir), Versions: []listVersion{}, Drafts: []publish.Drafted{}}
	releases, err := versionsOf(dir)
	if err != nil {
		return l, err
	}
	if l.Drafts, err = publish.Drafts(dir); err != nil {
		return l, err
	}
	if r := thresholds.Newest(releases); r != nil {
		l.Newest = r.Version
	}
	majors := map[int]bool{}
	var faults []error
	for i := len(releases) - 1; i >= 0; i-- {
		r := releases[i]
		v := listVersion{Version: r.Version, Parent: r.Parent, Created: r.Time, Status: "published", Newest: r.Version == l.Newest,
			ManifestID: r.ManifestSHA256, Verdicts: map[string]int64{}}
		switch {
		case r.Retracted != "":
			v.Status, v.Reason = "retracted", r.Retracted
		case r.Deprecated != "":
			v.Status, v.Reason = "deprecated", r.Deprecated
		}
		if r.Retracted == "" && !majors[r.Major] {
			majors[r.Major], v.NewestOf = true, r.Major
		}
		if err := v.read(dir); err != nil {
			v.Status, v.Reason = "damaged", err.Error()
			faults = append(faults, err)
		}
		l.Versions = append(l.Versions, v)
	}
	return l, errors.Join(faults...)
}

// read fills in what the version itself says.
func (v *listVersion) read(dir string) error {
	table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(v.Version), thresholds.WithRetracted(), thresholds.Lazily())
	if err != nil {
		return err
	}
	m := table.Manifest()
	v.Inputs = len(m.Inputs)
	for _, f := range m.Outputs {
		v.Bytes += f.Bytes
	}
	for row, err := range table.Verdicts() {
		if err != nil {
			return err
		}
		if row.Headline && row.Reference == screen.DefaultReference && row.Stratum == "" {
			v.Verdicts[row.Verdict]++
		}
	}
	return nil
}

func printList(t *terminal.Terminal, leagues []listLeague) error {
	p := terminal.NewPrinter(t)
	for i, l := range leagues {
		if i > 0 {
			p.Blank()
		}
		p.Line(terminal.Bold, "%s (%s)", l.League, l.Dir)
		tab := &terminal.Table{Fit: 4, Limit: []int{0, 0, 26}}
		tab.Add(terminal.Cell{Text: "version", Style: terminal.Dim}, terminal.Cell{Text: "date", Style: terminal.Dim}, terminal.Cell{Text: "status", Style: terminal.Dim},
			terminal.Cell{Text: "verdicts", Style: terminal.Dim}, terminal.Cell{Text: "inputs", Style: terminal.Dim, Right: true}, terminal.Cell{Text: "size", Style: terminal.Dim, Right: true})
		for _, v := range l.Versions {
			tab.Add(terminal.Cell{Text: v.Version}, terminal.Cell{Text: day(v.Created)}, terminal.Cell{Text: v.marks()}, terminal.Cell{Text: verdictCounts(v.Verdicts)},
				terminal.Cell{Text: words.Count(int64(v.Inputs)), Right: true}, terminal.Cell{Text: size(v.Bytes), Right: true})
		}
		if len(l.Versions) > 0 {
			p.Table(tab, 2)
		} else {
			p.Line(terminal.Plain, "  no version yet")
		}
		for _, d := range l.Drafts {
			p.Line(terminal.Plain, "  draft %s of %s would be %s; sill publish %s", publish.Short(d.ContentID), day(d.Created), d.Version, publish.Short(d.ContentID))
		}
	}
	return p.Close()
}

// marks says what a reader gets to see of the version.
func (v *listVersion) marks() string {
	var said []string
	switch {
	case v.Newest:
		said = append(said, "newest")
	case v.NewestOf > 0:
		said = append(said, fmt.Sprintf("newest%sv%d", words.NoBreak, v.NewestOf))
	}
	if v.Status != "published" {
		said = append(said, v.Status+": "+v.Reason)
	}
	return strings.Join(said, "; ")
}

// verdictCounts lists verdicts in the order of the legend.
func verdictCounts(n map[string]int64) string {
	var parts []string
	for _, word := range words.VerdictWords() {
		if n[word] > 0 {
			parts = append(parts, strings.ReplaceAll(words.Count(n[word])+" "+words.Spaced(word), " ", words.NoBreak))
		}
	}
	return words.Commas(parts)
}
