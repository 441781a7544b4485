package publish

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"sill/pipeline/thresholds"
)

// Repaired says what Repair did.
type Repaired struct {
	Adopted []string // whole versions that were not in the log and now are
	Removed []string // broken versions that were not in the log, and staging folders
}

// CleanStaging removes what interrupted writers left in staging and returns
// the names. Folders changed at or after before may belong to a live writer
// and stay; the zero time removes all.
func CleanStaging(o Options, before time.Time) ([]string, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	s := &store{o.Dir, o.disk}
	list, err := os.ReadDir(s.path(stagingDir))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("clean staging: %w", err)
	}
	var removed []string
	for _, d := range list {
		info, err := d.Info()
		if errors.Is(err, os.ErrNotExist) || err == nil && !before.IsZero() && !info.ModTime().Before(before) {
			continue
		}
		if err == nil {
			err = s.disk.removeAll(s.path(stagingDir, d.Name()))
		}
		if err != nil {
			return removed, fmt.Errorf("clean staging: %w", err)
		}
		removed = append(removed, filepath.ToSlash(filepath.Join(stagingDir, d.Name())))
	}
	return removed, nil
}

// Repair brings a store to the state that its log tells of: it cleans staging
// (see CleanStaging), logs whole versions that lie in place without an entry,
// removes broken ones that were never logged, and rewrites the derived views.
// It never touches a logged version. Doing it twice does no more than once.
func Repair(o Options, before time.Time) (*Repaired, error) {
	removed, err := CleanStaging(o, before)
	if err != nil {
		return nil, err
	}
	out := &Repaired{Removed: removed}
	s, err := openStore(o)
	if err == nil {
		err = s.repair(out)
	}
	if err == nil {
		err = s.refresh()
	}
	if err != nil {
		return out, fmt.Errorf("repair %s: %w", o.Dir, err)
	}
	return out, nil
}

func (s *store) repair(out *Repaired) error {
	log, err := s.log()
	if err != nil {
		return err
	}
	logged := map[string]bool{}
	for _, e := range log {
		logged[e.Version] = true
	}
	list, err := os.ReadDir(s.dir)
	if err != nil {
		return err
	}
	for _, d := range list {
		name := d.Name()
		if _, err := thresholds.ParseSemver(name); err != nil || logged[name] {
			continue
		}
		if err := checkFolder(s.path(name)); err != nil {
			return err
		}
		switch err := s.adopt(name); {
		case err == nil:
			out.Adopted = append(out.Adopted, name)
		case errors.Is(err, thresholds.ErrIntegrity), errors.Is(err, thresholds.ErrNoVersion):
			if err := s.disk.removeAll(s.path(name)); err != nil {
				return err
			}
			out.Removed = append(out.Removed, name)
		default:
			return err
		}
	}
	return nil
}
