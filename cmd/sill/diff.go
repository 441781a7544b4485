package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"sill/pipeline/analysis/compare"
	"sill/pipeline/render/screen"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// newDiff is the command that says how two published versions differ.
func newDiff(t *terminal.Terminal) *cobra.Command {
	var at place
	var only filters
	var as form
	var reference string
	var all, gate bool
	cmd := &cobra.Command{
		Use:   "diff A B",
		Short: "Say how two published versions, seasons or leagues differ",
		Long: `diff says which breakpoints and lines moved from A to B, by how much and whether
beyond their error, which appeared or vanished, and which verdicts are others now.
Whether something moved is read off the interval of the difference: where the same
pitchers threw in both, they are drawn again together.

A and B are each a version of the league in use (v1.0.0), a league of the store
(lantern, its newest version), a folder, or either with a version behind it
(lantern@v1.0.0, outputs/lantern@v1.0.0). Filters only hide rows: no verdict
depends on what is shown; the gate looks at the rows shown.`,
		Example: `  sill diff v1.0.0 v1.1.0                  # two versions of the only league
  sill diff v1.0.0 v1.1.0 --league lantern
  sill diff v1.0.0 v1.1.0 --type four_seam --matchup L-v-L
  sill diff lantern kestrel                # the newest versions of two leagues
  sill diff outputs/lantern@v1.0.0 elsewhere/lantern/v1.2.0 --json
  sill diff v1.0.0 v1.1.0 --gate || echo "something moved"`,
		Args: args("A", "B"),
		RunE: func(cmd *cobra.Command, named []string) error {
			if err := as.check(cmd); err != nil {
				return err
			}
			var sides [2]compare.Side
			for i, word := range named {
				s, err := at.side(word)
				if err != nil {
					return err
				}
				sides[i] = s
			}
			if _, err := parseWord("reference", compare.References)(reference); err != nil {
				return err
			}
			wanted, err := only.selection(sides[1].Tables, reference)
			if err != nil {
				return err
			}
			d, err := compare.Compare(cmd.Context(), sides[0], sides[1], compare.DefaultOptions())
			if err != nil {
				return err
			}
			part := d.Only(func(r compare.Row) bool {
				lines := r.Kind == compare.KindLine // they belong to every matchup and quality
				return in(wanted.Types, r.PitchType) && in(wanted.Outcomes, r.Outcome) &&
					(lines || in(wanted.Matchups, words.Matchup(r.Key.Hand, r.Key.Side)) && in(wanted.Variables, r.Variable))
			})
			err = as.print(t, diffDocument{head("diff"), part.Body(reference)}, csvOf(part.Rows), func(p *terminal.Printer) {
				screen.Diff(p, d, part, reference, all || len(part.Rows) < len(d.Rows))
			})
			if err == nil && gate && part.AnyMoved(reference) {
				return fmt.Errorf("%w: something moved beyond its error", errNo)
			}
			return err
		},
	}
	f := cmd.Flags()
	at.flags(f)
	_ = f.MarkHidden("version") // A and B name theirs
	only.flags(cmd, "type", "matchup", "variable", "outcome")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "headline `line` compared with")
	f.BoolVar(&all, "all", false, "also list what stayed within error, what cannot be told and every verdict that changed")
	f.BoolVar(&gate, "gate", false, fmt.Sprintf("exit %d where a breakpoint or line moved beyond its error, for scripts", exitNo))
	as.flags(f, "print every row as CSV")
	complete(cmd, "reference", compare.References)
	return cmd
}

// diffDocument is what `diff --json` prints.
type diffDocument struct {
	document
	compare.Body
}

// side opens the version that an argument of diff names.
func (a *place) side(word string) (compare.Side, error) {
	at, err := a.named(word)
	if err != nil {
		return compare.Side{}, err
	}
	return at.kept()
}

// kept opens the version with its hand-over, where that is kept.
func (a *place) kept() (compare.Side, error) {
	v, err := a.open()
	if err != nil {
		return compare.Side{}, err
	}
	dir, err := a.dir()
	if err != nil {
		return compare.Side{}, err
	}
	if _, err := os.Stat(filepath.Join(dir, thresholds.LogDir)); err != nil {
		dir = filepath.Dir(filepath.Clean(dir)) // a version's own folder
	}
	return compare.Kept(dir, v.table)
}

// named finds where the version that a word names lies.
func (a *place) named(word string) (*place, error) {
	if _, err := thresholds.ParseSemver(word); err == nil {
		return &place{store: a.store, league: a.league, version: word}, nil
	}
	base, version := word, ""
	if i := strings.LastIndex(word, "@"); i >= 0 {
		base, version = word[:i], word[i+1:]
		if _, err := thresholds.ParseSemver(version); err != nil {
			return nil, usageError{err}
		}
	}
	if info, err := os.Stat(base); err == nil && info.IsDir() {
		return &place{store: base, version: version}, nil
	}
	known, err := leagues(a.store)
	if err != nil {
		return nil, err
	}
	for _, name := range known {
		if name == base {
			return &place{store: a.store, league: name, version: version}, nil
		}
	}
	if strings.ContainsAny(base, `/\`) {
		return nil, usagef("diff: no folder %s: name a version's folder, a league's folder, or one of these with @v1.0.0", base)
	}
	return nil, unknown("version or league", word, known)
}
