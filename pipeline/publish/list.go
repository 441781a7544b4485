package publish

import (
	"errors"
	"os"
	"path/filepath"

	"sill/pipeline/thresholds"
)

// Listing is a league with its versions and drafts.
type Listing struct {
	League   string    `json:"league"`
	Dir      string    `json:"dir"`
	Newest   string    `json:"newest" doc:"version that a reader gets who names none, empty where there is none"`
	Versions []Listed  `json:"versions" doc:"newest first"`
	Drafts   []Drafted `json:"drafts" doc:"oldest first"`
}

// Listed is a version in a listing.
type Listed struct {
	Version    string           `json:"version"`
	Parent     string           `json:"parent"`
	Created    string           `json:"created"`
	Status     string           `json:"status" doc:"published, deprecated, retracted or damaged"`
	Reason     string           `json:"reason,omitempty" doc:"why it is deprecated or retracted, or what is damaged"`
	Newest     bool             `json:"newest"`
	NewestOf   int              `json:"newest_of_major,omitempty" doc:"major number whose newest version this is: a reader pinned to it gets this one"`
	Verdicts   map[string]int64 `json:"verdicts" doc:"headline verdicts against the median line, by word; pitches without a type of their own have none"`
	Inputs     int              `json:"inputs"`
	Bytes      int64            `json:"bytes"`
	ManifestID string           `json:"manifest_sha256"`
}

// List lists a league; faults of its versions are in the list and the error.
func List(dir string) (Listing, error) {
	l := Listing{League: League(dir), Dir: filepath.ToSlash(dir), Versions: []Listed{}, Drafts: []Drafted{}}
	releases, err := Releases(dir)
	if err != nil {
		return l, err
	}
	if l.Drafts, err = Drafts(dir); err != nil {
		return l, err
	}
	if r := thresholds.Newest(releases); r != nil {
		l.Newest = r.Version
	}
	majors := map[int]bool{}
	var faults []error
	for i := len(releases) - 1; i >= 0; i-- {
		r := releases[i]
		v := Listed{Version: r.Version, Parent: r.Parent, Created: r.Time, Status: "published", Newest: r.Version == l.Newest,
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
func (v *Listed) read(dir string) error {
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
		if row.Headline && row.Reference == thresholds.HeadlineReference && row.Stratum == "" && !row.Untyped() {
			v.Verdicts[row.Verdict]++
		}
	}
	return nil
}

// League is the name of a league by its folder.
func League(dir string) string {
	abs, err := filepath.Abs(dir)
	if err != nil {
		abs = dir
	}
	return filepath.Base(abs)
}

// Releases lists the versions of a league.
func Releases(dir string) ([]thresholds.Release, error) {
	log, err := thresholds.ReadLog(os.DirFS(dir))
	return thresholds.Releases(log), err
}
