package publish

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"

	"sill/pipeline/thresholds"
)

// Verified is what Verify found out about a store.
type Verified struct {
	Versions []string `json:"versions" doc:"versions whose every file was read, lowest first"`
	Files    int      `json:"files" doc:"files of these versions"`
	Bytes    int64    `json:"bytes" doc:"bytes of these files"`
	Entries  int      `json:"log_entries"`
	Faults   []Fault  `json:"faults"`
}

// Fault is one file that is not as it was published.
type Fault struct {
	File  string `json:"file" doc:"slash path inside the store"`
	Fault string `json:"fault"`
}

// Err returns nil for a store without faults, else all of them: FileErrors, so
// thresholds.ErrIntegrity.
func (v *Verified) Err() error {
	var all []error
	for _, f := range v.Faults {
		all = append(all, &thresholds.FileError{File: f.File, Msg: f.Fault})
	}
	return errors.Join(all...)
}

// Verify reads every byte of the named version of a store, or of all of them
// ("" for all), and holds it against manifest and log; for all versions also
// that nothing strange stands in the store and that its derived views tell what
// the log tells. It writes nothing, and leaves staging alone, which belongs to
// those who are publishing. An unknown version is thresholds.ErrNoVersion.
func Verify(dir, version string) (*Verified, error) {
	s := &store{dir: dir}
	out := &Verified{Versions: []string{}, Faults: []Fault{}}
	log, err := s.log()
	if err != nil {
		return out, out.add(err)
	}
	out.Entries = len(log)
	for _, r := range thresholds.Releases(log) {
		if version != "" && r.Version != version {
			continue
		}
		table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(r.Version), thresholds.WithRetracted())
		if err != nil {
			if err := out.add(err); err != nil {
				return out, err
			}
			continue
		}
		if _, err := table.Load(); err != nil { // every row is readable, too
			if err := out.add(err); err != nil {
				return out, err
			}
		}
		out.Versions = append(out.Versions, r.Version)
		out.count(table.Manifest())
		if sum := table.Manifest().Handover; sum != "" {
			out.handover(s, sum)
		}
	}
	if version != "" {
		if len(out.Versions)+len(out.Faults) == 0 {
			return out, fmt.Errorf("verify %s: %w: it is not in the log", version, thresholds.ErrNoVersion)
		}
		return out, nil
	}
	return out, out.strangers(s, log)
}

// add takes up the faults that an error tells of, and returns any other error.
func (v *Verified) add(err error) error {
	var many interface{ Unwrap() []error }
	if errors.As(err, &many) {
		for _, e := range many.Unwrap() {
			if err := v.add(e); err != nil {
				return err
			}
		}
		return nil
	}
	var one *thresholds.FileError
	if !errors.As(err, &one) {
		return err
	}
	v.fault(one.File, "%s", one.Msg)
	return nil
}

func (v *Verified) fault(file, format string, args ...any) {
	f := Fault{file, fmt.Sprintf(format, args...)}
	if !slices.Contains(v.Faults, f) {
		v.Faults = append(v.Faults, f)
	}
}

func (v *Verified) count(m thresholds.Manifest) {
	v.Files += len(m.Outputs) + 2 // the manifest and the checksums
	for _, f := range m.Outputs {
		v.Bytes += f.Bytes
	}
}

// handover checks the kept tally file of a version.
func (v *Verified) handover(s *store, sum string) {
	name := path.Join(handoverDir, sum)
	f, err := os.Open(s.path(handoverDir, sum))
	if err != nil {
		v.fault(name, "is missing")
		return
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		v.fault(name, "%v", err)
	} else if hex.EncodeToString(h.Sum(nil)) != sum {
		v.fault(name, "sha256 differs from its name")
	}
}

const repairHint = "`sill repair` adopts or removes it"

// strangers finds what belongs to no version.
func (v *Verified) strangers(s *store, log []thresholds.Entry) error {
	list, err := os.ReadDir(s.dir)
	if err != nil {
		return err
	}
	for _, d := range list {
		_, err := thresholds.ParseSemver(d.Name())
		logged := slices.ContainsFunc(log, func(e thresholds.Entry) bool { return e.Version == d.Name() })
		switch {
		case slices.Contains([]string{thresholds.LogDir, stagingDir, handoverDir, catalogFile, latestFile}, d.Name()), logged:
		case err == nil:
			v.fault(d.Name(), "is not in the log: %s", repairHint)
		default:
			v.fault(d.Name(), "does not belong in a store")
		}
	}
	inLog, err := os.ReadDir(s.path(thresholds.LogDir))
	if err != nil {
		return err
	}
	for i, d := range inLog {
		if name := path.Join(thresholds.LogDir, d.Name()); name != thresholds.EntryName(i+1) {
			v.fault(name, "does not belong in the log")
		}
	}
	stale, err := s.staleViews(log)
	if err != nil {
		return err
	}
	for _, name := range stale {
		v.fault(name, "does not tell what the log tells: `sill repair` rewrites it")
	}
	if busy, _ := os.ReadDir(s.path(stagingDir)); len(busy) > 0 {
		return nil // someone publishes, or drafts wait: files may not be named yet
	}
	named, err := s.handovers()
	if err != nil {
		v.fault(handoverDir, "%v", err)
		return nil
	}
	kept, err := os.ReadDir(s.path(handoverDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for _, d := range kept {
		if !named[d.Name()] {
			v.fault(path.Join(handoverDir, d.Name()), "belongs to no version: %s", repairHint)
		}
	}
	return nil
}
