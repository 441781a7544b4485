package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/pflag"

	"sill/pipeline"
	"sill/pipeline/publish"
	"sill/pipeline/render/terminal"
	"sill/pipeline/thresholds"
)

// storeFlags registers the flags that say which leagues are meant.
func (a *place) storeFlags(f *pflag.FlagSet) {
	f.StringVar(&a.store, "store", "outputs", "`folder` of published leagues, or of one league")
	f.StringVar(&a.league, "league", "", "`name` of the league, where the store holds several")
}

// one returns the folder of the one league that is meant.
func (a *place) one() (string, error) {
	dir, err := a.dir()
	if err != nil {
		return "", err
	}
	if _, err := os.Stat(filepath.Join(dir, thresholds.LogDir)); err != nil {
		return "", usagef("%s is a version, not a league; name the folder above it with --store", filepath.ToSlash(dir))
	}
	return dir, nil
}

// all returns the folders of the leagues that are meant: the one that is named,
// else all in the store.
func (a *place) all() ([]string, error) {
	_, err := os.Stat(filepath.Join(a.store, thresholds.LogDir))
	if a.league != "" || err == nil {
		dir, err := a.one()
		return []string{dir}, err
	}
	names, err := leagues(a.store)
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, usagef("%s holds no published version; publish one with `sill run`, or name its folder with --store", a.store)
	}
	var dirs []string
	for _, name := range names {
		dirs = append(dirs, filepath.Join(a.store, name))
	}
	return dirs, nil
}

// now is the time by which a command goes: SOURCE_DATE_EPOCH where it is set.
func now(t *terminal.Terminal) (time.Time, error) {
	at, err := pipeline.Now(terminal.Lookup(t.Environ)("SOURCE_DATE_EPOCH"))
	if err != nil {
		return at, usageError{err}
	}
	return at, nil
}

// writing returns the options of a command that writes into a league's folder.
func writing(t *terminal.Terminal, dir string) (publish.Options, error) {
	at, err := now(t)
	abs, e := filepath.Abs(dir)
	if err == nil {
		err = e
	}
	return publish.Options{Dir: abs, Created: at}, err
}

// knownVersion refuses a version that the league does not have.
func knownVersion(dir, version string) (*thresholds.Release, error) {
	if _, err := thresholds.ParseSemver(version); err != nil {
		return nil, usageError{err}
	}
	releases, err := publish.Releases(dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for i := range releases {
		if releases[i].Version == version {
			return &releases[i], nil
		}
		names = append(names, releases[i].Version)
	}
	return nil, unknown("version", version, names)
}

// warnDeprecated tells whoever reads a version that is no longer advised.
func warnDeprecated(t *terminal.Terminal, v *published) {
	if why := v.table.Deprecated(); why != "" {
		fmt.Fprintf(t.Err, "sill: warning: %s %s is deprecated: %s\n", v.league, v.version, why)
	}
}
