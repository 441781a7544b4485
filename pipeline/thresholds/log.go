package thresholds

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
)

// LogDir is the folder of a store that holds its log, one file an entry. The
// log alone says which versions exist; catalog.json and LATEST are derived.
const LogDir = "_log"

// Actions of the log.
const (
	Publish   = "publish"
	Deprecate = "deprecate" // still readable, no longer advised
	Retract   = "retract"   // wrong: no longer opened
)

// Entry is one line of a store's append-only log.
type Entry struct {
	SchemaVersion  string `json:"schema_version"`
	Serial         int    `json:"serial"` // from 1, without a gap
	Action         string `json:"action"`
	Version        string `json:"version"`
	ManifestSHA256 string `json:"manifest_sha256,omitempty"` // of a publish
	ContentID      string `json:"content_id,omitempty"`      // of a publish
	Parent         string `json:"parent"`
	Time           string `json:"time"` // RFC 3339, UTC
	Reason         string `json:"reason,omitempty"`
	Check          string `json:"check"` // sha256 of the entry with an empty check
}

// EntryName returns the slash path of an entry inside its store.
func EntryName(serial int) string { return path.Join(LogDir, fmt.Sprintf("%08d.json", serial)) }

// Encode returns the entry's bytes with its check filled in.
func (e Entry) Encode() []byte {
	e.Check = ""
	e.Check = hashOf(e.marshal())
	return e.marshal()
}

func (e Entry) marshal() []byte {
	b, err := json.MarshalIndent(e, "", "  ")
	if err != nil {
		panic("thresholds: encode log entry: " + err.Error()) // plain texts and a number always encode
	}
	return append(b, '\n')
}

// decodeEntry reads one entry and checks it against itself and its serial.
func decodeEntry(b []byte, serial int) (Entry, string) {
	var e Entry
	if err := json.Unmarshal(b, &e); err != nil {
		return e, "not a log entry: " + err.Error()
	}
	bare := bytes.Replace(b, []byte(`"check": "`+e.Check+`"`), []byte(`"check": ""`), 1)
	switch {
	case hashOf(bare) != e.Check:
		return e, "does not match its own checksum"
	case e.Serial != serial:
		return e, fmt.Sprintf("holds serial %d", e.Serial)
	}
	if _, err := ParseSemver(e.Version); err != nil {
		return e, err.Error()
	}
	return e, ""
}

var entryForm = regexp.MustCompile(`^[0-9]{8}\.json$`)

// ReadLog reads the whole log of a store, in order. A store without a log has
// no entries. A missing or damaged entry is a FileError.
func ReadLog(store fs.FS) ([]Entry, error) {
	var log []Entry
	for {
		serial := len(log) + 1
		b, err := readFile(store, EntryName(serial))
		if errors.Is(err, fs.ErrNotExist) {
			later, err := laterEntry(store, serial)
			if err != nil {
				return nil, err
			}
			if !later {
				return log, nil
			}
			// a later one exists: this one was being written, or is lost
			if b, err = readFile(store, EntryName(serial)); err != nil {
				return nil, &FileError{EntryName(serial), "missing, though later entries exist"}
			}
		} else if err != nil {
			return nil, fmt.Errorf("read log: %w", err)
		}
		e, fault := decodeEntry(b, serial)
		if fault != "" {
			return nil, &FileError{EntryName(serial), fault}
		}
		if err := checkSchema(EntryName(serial), e.SchemaVersion); err != nil {
			return nil, err
		}
		log = append(log, e)
	}
}

func laterEntry(store fs.FS, serial int) (bool, error) {
	list, err := fs.ReadDir(store, LogDir)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("read log: %w", err)
	}
	return slices.ContainsFunc(list, func(d fs.DirEntry) bool {
		return entryForm.MatchString(d.Name()) && d.Name() > path.Base(EntryName(serial))
	}), nil
}

// Release is the state of one logged version.
type Release struct {
	Semver
	Entry             // the publish entry
	Deprecated string // reason, "" if it is not
	Retracted  string // reason, "" if it is not
}

// Releases returns the logged versions, lowest first, with what later entries
// say about them.
func Releases(log []Entry) []Release {
	var out []Release
	for _, e := range log {
		v, err := ParseSemver(e.Version)
		if err != nil {
			continue // ReadLog has refused it
		}
		i := slices.IndexFunc(out, func(r Release) bool { return r.Semver == v })
		switch {
		case e.Action == Publish && i < 0:
			out = append(out, Release{Semver: v, Entry: e})
		case e.Action == Deprecate && i >= 0:
			out[i].Deprecated = cmp.Or(e.Reason, noReason)
		case e.Action == Retract && i >= 0:
			out[i].Retracted = cmp.Or(e.Reason, noReason)
		}
	}
	slices.SortFunc(out, func(a, b Release) int { return a.Compare(b.Semver) })
	return out
}

const noReason = "no reason given"

// Newest returns the highest version that is not retracted, nil if there is
// none.
func Newest(releases []Release) *Release {
	for i := len(releases) - 1; i >= 0; i-- {
		if releases[i].Retracted == "" {
			return &releases[i]
		}
	}
	return nil
}

func hashOf(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}
