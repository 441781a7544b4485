package publish

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"sill/pipeline/thresholds"
)

// Repaired says what Repair did, or would do.
type Repaired struct {
	Adopted   []string `json:"adopted" doc:"whole versions that were not in the log and now are"`
	Removed   []string `json:"removed" doc:"broken versions that were not in the log, old drafts and staging folders, hand-over files of no version"`
	Rewritten []string `json:"rewritten" doc:"derived views that did not tell what the log tells"`
}

// cleanStaging removes what interrupted writers left in staging, and drafts
// that were never published, and returns the names. Folders changed at or after
// before may belong to a live writer and stay; the zero time removes all.
func (s *store) cleanStaging(before time.Time, dry bool) ([]string, error) {
	return s.clean(stagingDir, before, dry, func(string) bool { return true })
}

// clean removes what stands in a folder of the store, is older and is unwanted.
func (s *store) clean(folder string, before time.Time, dry bool, unwanted func(name string) bool) (removed []string, err error) {
	list, err := os.ReadDir(s.path(folder))
	if errors.Is(err, fs.ErrNotExist) {
		return []string{}, nil
	}
	removed = []string{}
	for _, d := range list {
		info, e := d.Info()
		if errors.Is(e, fs.ErrNotExist) || e == nil && !before.IsZero() && !info.ModTime().Before(before) || !unwanted(d.Name()) {
			continue
		}
		if e == nil && !dry {
			e = s.disk.removeAll(s.path(folder, d.Name()))
		}
		if e != nil {
			return removed, e
		}
		removed = append(removed, filepath.ToSlash(filepath.Join(folder, d.Name())))
	}
	return removed, err
}

// Repair brings a store to the state that its log tells of: it removes what was
// left in staging and is older than before, logs whole versions that lie in place without an entry,
// removes broken ones that were never logged and hand-over files that no version
// names, and rewrites the derived views. It never touches a logged version.
// Doing it twice does no more than once. Where dry is set it only says what it
// would do.
func Repair(o Options, before time.Time, dry bool) (*Repaired, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	out := &Repaired{Adopted: []string{}, Removed: []string{}, Rewritten: []string{}}
	if err := repair(o, before, dry, out); err != nil {
		return out, fmt.Errorf("repair %s: %w", o.Dir, err)
	}
	return out, nil
}

func repair(o Options, before time.Time, dry bool, out *Repaired) (err error) {
	s := &store{o.Dir, o.disk}
	if !dry {
		if s, err = openStore(o); err != nil {
			return err
		}
	}
	log, err := s.log()
	if err != nil {
		return err
	}
	if out.Removed, err = s.cleanStaging(before, dry); err != nil {
		return err
	}
	logged, err := s.repairVersions(log, dry, out)
	if err != nil {
		return err
	}
	named, err := s.handovers()
	if err != nil {
		return err
	}
	orphans, err := s.clean(handoverDir, before, dry, func(name string) bool { return !named[name] })
	out.Removed = append(out.Removed, orphans...)
	if err != nil {
		return err
	}
	if dry {
		log = append(log, logged...)
	} else if log, err = s.log(); err != nil {
		return err
	}
	out.Rewritten, err = s.staleViews(log)
	if err != nil || dry || len(out.Rewritten) == 0 {
		return err
	}
	return s.refresh()
}

// repairVersions logs or removes versions that are not in the log. It returns
// the entries of those that it logged, or would log.
func (s *store) repairVersions(log []thresholds.Entry, dry bool, out *Repaired) (logged []thresholds.Entry, err error) {
	strange, err := s.unlogged(log)
	for _, name := range strange {
		if err != nil {
			return logged, err
		}
		if err := checkFolder(s.path(name)); err != nil {
			return logged, err
		}
		m, sum, fault := s.whole(name)
		switch {
		case fault == nil:
			out.Adopted, logged = append(out.Adopted, name), append(logged, publishEntry(m, sum))
			if !dry {
				err = s.adopt(name)
			}
		case errors.Is(fault, thresholds.ErrIntegrity), errors.Is(fault, thresholds.ErrNoVersion):
			out.Removed = append(out.Removed, name)
			if !dry {
				err = s.disk.removeAll(s.path(name))
			}
		default:
			return logged, fault
		}
	}
	return logged, err
}

// unlogged lists the folders that are called like a version and are none.
func (s *store) unlogged(log []thresholds.Entry) ([]string, error) {
	list, err := os.ReadDir(s.dir)
	var out []string
	for _, d := range list {
		_, e := thresholds.ParseSemver(d.Name())
		if e == nil && !slices.ContainsFunc(log, func(e thresholds.Entry) bool { return e.Version == d.Name() }) {
			out = append(out, d.Name())
		}
	}
	return out, err
}

// handovers lists the hand-over files that a manifest in the store or in its
// staging names. A manifest that cannot be read stops the search: nothing may be
// called unused then.
func (s *store) handovers() (map[string]bool, error) {
	named := map[string]bool{}
	for _, folder := range []string{"", stagingDir} {
		list, err := os.ReadDir(s.path(folder))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		for _, d := range list {
			raw, err := os.ReadFile(s.path(folder, d.Name(), thresholds.ManifestFile))
			if err != nil {
				if _, strange := os.Stat(s.path(folder, d.Name(), thresholds.ManifestFile)); strange == nil {
					return nil, err
				}
				continue // no version, or one still without a manifest
			}
			var m thresholds.Manifest
			if err := json.Unmarshal(raw, &m); err != nil {
				return nil, fmt.Errorf("read %s: %w; no hand-over file was removed", filepath.Join(folder, d.Name(), thresholds.ManifestFile), err)
			}
			named[m.Handover] = true
		}
	}
	return named, nil
}

// staleViews lists the derived views that differ from what the log tells. A
// store without a log needs none.
func (s *store) staleViews(log []thresholds.Entry) ([]string, error) {
	stale := []string{}
	derived, err := views(log)
	if err != nil || len(log) == 0 {
		return stale, err
	}
	for _, name := range []string{catalogFile, latestFile} {
		if have, err := os.ReadFile(s.path(name)); err != nil || !bytes.Equal(have, derived[name]) {
			stale = append(stale, name)
		}
	}
	return stale, nil
}
