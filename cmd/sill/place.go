package main

import (
	"errors"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// place says which published version a reading command reads.
type place struct{ store, league, version string }

// flags registers the place's flags.
func (a *place) flags(f *pflag.FlagSet) {
	f.StringVar(&a.store, "store", "outputs", "`folder` of published leagues, of one league, or of one version")
	f.StringVar(&a.league, "league", "", "`name` of the league, where the store holds several")
	f.StringVar(&a.version, "version", "", "`version`, such as v1.0.0 (default the newest)")
}

// published is an opened version.
type published struct {
	league, version string
	table           *thresholds.Table
	manifest        thresholds.Manifest
	tables          *thresholds.Tables // the resources that were asked for
}

// open opens and verifies the version, and reads its verdicts, zones and lines.
func (a *place) open() (*published, error) {
	dir, err := a.dir()
	if err != nil {
		return nil, err
	}
	var opts []thresholds.Option
	if a.version != "" {
		if c := a.version[0]; c >= '0' && c <= '9' {
			a.version = "v" + a.version
		}
		if _, err := thresholds.ParseSemver(a.version); err != nil {
			return nil, usageError{err}
		}
		opts = append(opts, thresholds.WithVersion(a.version))
	}
	t, err := thresholds.Open(dir, opts...)
	if errors.Is(err, thresholds.ErrNoVersion) {
		return nil, usagef("%s: %w; publish one with `sill run`, or name its folder with --store", dir, err)
	}
	if err != nil {
		return nil, err
	}
	p := &published{league: t.Manifest().Name, version: t.Version(), table: t, manifest: t.Manifest(), tables: &thresholds.Tables{}}
	return p, errors.Join(
		collect(&p.tables.Verdicts, t.Verdicts()),
		collect(&p.tables.Zones, t.Zones()),
		collect(&p.tables.References, t.References()))
}

// title heads what is printed of the version.
func (p *published) title(to *terminal.Printer) {
	to.Line(terminal.Bold, "%s %s", p.league, p.version)
	to.Blank()
}

// more reads the resources that only one threshold's evidence needs.
func (p *published) more() error {
	return errors.Join(
		collect(&p.tables.Curves, p.table.Curves()),
		collect(&p.tables.Bins, p.table.Bins()),
		collect(&p.tables.Contrasts, p.table.Contrasts()),
		collect(&p.tables.Slopes, p.table.Slopes()))
}

func collect[T any](dst *[]T, rows iter.Seq2[T, error]) error {
	for row, err := range rows {
		if err != nil {
			return err
		}
		*dst = append(*dst, row)
	}
	return nil
}

// dir returns the folder of the league or version that is meant.
func (a *place) dir() (string, error) {
	if a.league != "" {
		if !filepath.IsLocal(a.league) {
			return "", usagef("--league %q is a name, not a path; use --store for paths", a.league)
		}
		known, err := leagues(a.store)
		if err != nil {
			return "", err
		}
		if !slices.Contains(known, a.league) {
			return "", unknown("league", a.league, known)
		}
		return filepath.Join(a.store, a.league), nil
	}
	for _, name := range []string{thresholds.LogDir, thresholds.ManifestFile} {
		if _, err := os.Stat(filepath.Join(a.store, name)); err == nil {
			return a.store, nil
		}
	}
	known, err := leagues(a.store)
	switch {
	case err != nil:
		return "", err
	case len(known) == 1:
		return filepath.Join(a.store, known[0]), nil
	case len(known) == 0:
		return "", usagef("%s holds no published version; publish one with `sill run`, or name its folder with --store", a.store)
	}
	return "", usagef("%s holds several leagues; choose one with --league: %s", a.store, words.Commas(known))
}

// leagues lists the stores in a folder.
func leagues(folder string) ([]string, error) {
	list, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, usagef("open store: %w; publish a version with `sill run`, or name its folder with --store", err)
	}
	if err != nil {
		return nil, err
	}
	var out []string
	for _, d := range list {
		if _, err := os.Stat(filepath.Join(folder, d.Name(), thresholds.LogDir)); err == nil {
			out = append(out, d.Name())
		}
	}
	return out, nil
}

// complete offers words for a flag to the shell.
func complete(cmd *cobra.Command, flag string, words []string) {
	err := cmd.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return words, cobra.ShellCompDirectiveNoFileComp
	})
	if err != nil {
		panic("sill: complete a flag that is not registered: " + err.Error())
	}
}
