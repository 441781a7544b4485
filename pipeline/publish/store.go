package publish

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"sill/pipeline/thresholds"
)

// Names inside a store.
const (
	stagingDir  = ".staging"
	handoverDir = "_handover"
	catalogFile = "catalog.json"
	latestFile  = "LATEST"
)

// store is one league's folder.
type store struct {
	dir  string
	disk disk
}

// openStore makes the folders of a store that are absent.
func openStore(o Options) (*store, error) {
	s := &store{o.Dir, o.disk}
	if err := os.MkdirAll(filepath.Dir(o.Dir), 0o755); err != nil {
		return nil, err
	}
	for _, dir := range []string{s.dir, s.path(thresholds.LogDir), s.path(stagingDir), s.path(handoverDir)} {
		if err := s.disk.folder(dir); err != nil {
			return nil, err
		}
	}
	return s, nil
}

func (s *store) path(names ...string) string {
	return filepath.Join(append([]string{s.dir}, names...)...)
}

func (s *store) log() ([]thresholds.Entry, error) { return thresholds.ReadLog(os.DirFS(s.dir)) }

// stage makes a staging folder of its own.
func (s *store) stage() (string, error) {
	if err := s.disk.step("stage", s.path(stagingDir)); err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp(s.path(stagingDir), "version-")
	if err != nil {
		return "", err
	}
	return dir, os.Chmod(dir, 0o755) // folders under way in are readable
}

// append adds an entry to the log at the next free serial. build makes the
// entry from the log as it stands, or returns nil where it is there already;
// it is asked again after each lost race.
func (s *store) append(build func(log []thresholds.Entry) (*thresholds.Entry, error)) error {
	for {
		log, err := s.log()
		if err != nil {
			return err
		}
		e, err := build(log)
		if e == nil || err != nil {
			return err
		}
		e.SchemaVersion, e.Serial = thresholds.SchemaVersion, len(log)+1
		err = s.put(e.Encode(), filepath.FromSlash(thresholds.EntryName(e.Serial)), s.disk.link)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("append to the log: %w", err)
		}
		return s.disk.syncFolder(s.path(thresholds.LogDir))
	}
}

// put gives bytes a name, whole and synced at once: by a link the name must be free
// (fs.ErrExist otherwise), by a replacement it need not.
func (s *store) put(b []byte, name string, place func(from, to string) error) error {
	dir, err := s.stage()
	if dir != "" {
		defer s.disk.removeAll(dir) //nolint:errcheck // left over: cleanStaging's work
	}
	if err != nil {
		return err
	}
	file := filepath.Join(dir, "file")
	if _, err := s.disk.createBytes(file, b); err != nil {
		return err
	}
	return place(file, s.path(name))
}

// keepHandover stores the tally file under its sha256.
func (s *store) keepHandover(b []byte) (string, error) {
	sum := hashOf(b)
	name := filepath.Join(handoverDir, sum)
	if err := s.put(b, name, s.disk.link); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", err
	}
	return sum, s.disk.syncFolder(s.path(handoverDir))
}

// catalogue is catalog.json: the log, told by version.
type catalogue struct {
	SchemaVersion string         `json:"schema_version"`
	Latest        string         `json:"latest"`
	Versions      []catalogueRow `json:"versions"` // lowest first
}

type catalogueRow struct {
	Version        string `json:"version"`
	Parent         string `json:"parent"`
	Time           string `json:"time"`
	ManifestSHA256 string `json:"manifest_sha256"`
	ContentID      string `json:"content_id"`
	Deprecated     string `json:"deprecated,omitempty"`
	Retracted      string `json:"retracted,omitempty"`
}

// views derives catalog.json and LATEST from the log, by name.
func views(log []thresholds.Entry) (map[string][]byte, error) {
	releases := thresholds.Releases(log)
	c := catalogue{SchemaVersion: thresholds.SchemaVersion, Versions: []catalogueRow{}}
	if r := thresholds.Newest(releases); r != nil {
		c.Latest = r.Version
	}
	for _, r := range releases {
		c.Versions = append(c.Versions, catalogueRow{r.Version, r.Parent, r.Time, r.ManifestSHA256, r.ContentID, r.Deprecated, r.Retracted})
	}
	b, err := readableJSON(c)
	return map[string][]byte{catalogFile: b, latestFile: []byte(c.Latest + "\n")}, err
}

// refresh rewrites the derived views. It looks at the log again afterwards:
// whoever wrote last has then seen every entry.
func (s *store) refresh() error {
	for {
		log, err := s.log()
		if err != nil {
			return err
		}
		derived, err := views(log)
		if err != nil {
			return err
		}
		for _, name := range []string{catalogFile, latestFile} {
			if err := s.put(derived[name], name, s.disk.replace); err != nil {
				return err
			}
		}
		if err := s.disk.syncFolder(s.dir); err != nil {
			return err
		}
		again, err := s.log()
		if err != nil {
			return err
		}
		if len(again) == len(log) {
			return nil
		}
	}
}

// whole reads a version that lies in place without a log entry, if it is whole:
// its manifest and the sha256 of that.
func (s *store) whole(version string) (m thresholds.Manifest, sum string, err error) {
	table, err := thresholds.OpenFS(os.DirFS(s.path(version)))
	if err != nil {
		return m, "", fmt.Errorf("%w: %s is in the way, not in the log and not whole; repair the store: %w", ErrConflict, version, err)
	}
	if m = table.Manifest(); m.Version != version {
		return m, "", fmt.Errorf("%w: %s is in the way and calls itself %s", ErrConflict, version, m.Version)
	}
	raw, err := os.ReadFile(s.path(version, thresholds.ManifestFile))
	return m, hashOf(raw), err
}

// adopt logs a whole version that lies in place without a log entry.
func (s *store) adopt(version string) error {
	m, sum, err := s.whole(version)
	if err != nil {
		return err
	}
	if err := s.finish(version); err != nil {
		return err
	}
	return s.logVersion(m, sum)
}

// finish seals a renamed version and makes its name durable.
func (s *store) finish(version string) error {
	if err := s.disk.seal(s.path(version)); err != nil {
		return err
	}
	return s.disk.syncFolder(s.dir)
}

// logVersion logs a version that lies in place, unless it is logged already.
// Writer and adopter make the same entry from the manifest.
func (s *store) logVersion(m thresholds.Manifest, manifestSum string) error {
	return s.append(func(log []thresholds.Entry) (*thresholds.Entry, error) {
		for _, e := range log {
			if e.Action == thresholds.Publish && e.Version == m.Version {
				if e.ManifestSHA256 != manifestSum {
					return nil, fmt.Errorf("%w: the log holds another %s", ErrConflict, m.Version)
				}
				return nil, nil
			}
		}
		e := publishEntry(m, manifestSum)
		return &e, nil
	})
}

// publishEntry is the log's entry of a version, still without its serial.
func publishEntry(m thresholds.Manifest, manifestSum string) thresholds.Entry {
	return thresholds.Entry{
		Action: thresholds.Publish, Version: m.Version, ManifestSHA256: manifestSum,
		ContentID: m.ContentID, Parent: m.Parent, Time: m.Created,
	}
}

// Mark appends a deprecation or a retraction of a version to the log, with the
// reason, and refreshes the derived views.
func Mark(o Options, action, version, reason string) error {
	if err := o.Validate(); err != nil {
		return err
	}
	if action != thresholds.Deprecate && action != thresholds.Retract {
		return fmt.Errorf("mark %s: unknown action %q", version, action)
	}
	s, err := openStore(o)
	if err != nil {
		return fmt.Errorf("mark %s: %w", version, err)
	}
	err = s.append(func(log []thresholds.Entry) (*thresholds.Entry, error) {
		for _, r := range thresholds.Releases(log) {
			if r.Version == version {
				return &thresholds.Entry{Action: action, Version: version, Parent: r.Parent, Time: stamp(o.Created), Reason: reason}, nil
			}
		}
		return nil, thresholds.ErrNoVersion
	})
	if err == nil {
		err = s.refresh()
	}
	if err != nil {
		return fmt.Errorf("mark %s: %w", version, err)
	}
	return nil
}

func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }
