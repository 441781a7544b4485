package publish

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"sill/pipeline/thresholds"
)

// Difference is one file of a version that another run did not make the same,
// with the first place where it differs.
type Difference struct {
	File   string `json:"file"`
	Fault  string `json:"fault" doc:"in words what differs"`
	Row    int    `json:"row,omitempty" doc:"first row that differs, from 1; absent where no row can be named"`
	Column string `json:"column,omitempty" doc:"first column that differs in that row, or member of the manifest"`
	Was    string `json:"was,omitempty" doc:"published value"`
	Now    string `json:"now,omitempty" doc:"value made again"`
}

// Differences holds a version, made again in the folder now, against the one
// published in the folder was, byte for byte. Files that tell of the clock, the
// host and the program are compared without these: the manifest and the
// provenance by what else they say; SHA256SUMS, which opening both folders holds
// against their manifests, follows from the other files. It returns how many
// files were compared.
func Differences(was, now string) ([]Difference, int, error) {
	a, err := thresholds.OpenFS(os.DirFS(was))
	if err != nil {
		return nil, 0, err
	}
	b, err := thresholds.OpenFS(os.DirFS(now))
	if err != nil {
		return nil, 0, err
	}
	sum := func(t *thresholds.Table) map[string]string {
		out := map[string]string{}
		for _, f := range t.Manifest().Outputs {
			out[f.Path] = f.SHA256
		}
		return out
	}
	old, made := sum(a), sum(b)
	all := maps.Clone(old)
	maps.Copy(all, made)
	out := []Difference{}
	for _, file := range slices.Sorted(maps.Keys(all)) {
		switch {
		case old[file] == made[file]:
		case made[file] == "":
			out = append(out, Difference{File: file, Fault: "was published and is not made again"})
		case old[file] == "":
			out = append(out, Difference{File: file, Fault: "is made now and was not published"})
		default:
			d, err := firstDifference(was, now, file)
			if err != nil {
				return nil, 0, err
			}
			if d != nil {
				d.File = file
				out = append(out, *d)
			}
		}
	}
	if d := manifests(a.Manifest(), b.Manifest()); d != nil {
		out = append(out, *d)
	}
	return out, len(all) + 2, nil
}

// firstDifference finds the first place where two files of different bytes differ; nil
// where all that differs is the clock or the program.
func firstDifference(was, now, file string) (*Difference, error) {
	kind := path.Ext(file)
	stem := strings.TrimSuffix(file, kind)
	rows := slices.ContainsFunc(thresholds.Resources(), func(r thresholds.Resource) bool { return r.Name == stem })
	if rows {
		file = stem + "." + csvFormat
	}
	a, err := os.ReadFile(filepath.Join(was, filepath.FromSlash(file)))
	if err != nil {
		return nil, err
	}
	b, err := os.ReadFile(filepath.Join(now, filepath.FromSlash(file)))
	if err != nil {
		return nil, err
	}
	if rows {
		return differingRow(file, a, b)
	}
	if file == thresholds.ProvenanceFile {
		old, err := timeless(a)
		if err != nil {
			return nil, err
		}
		made, err := timeless(b)
		if err != nil || reflect.DeepEqual(old, made) {
			return nil, err
		}
		return &Difference{Fault: "tells of other settings or inputs"}, nil
	}
	at := 0
	for at < min(len(a), len(b)) && a[at] == b[at] {
		at++
	}
	if slices.Contains([]string{".json", ".md", ".html", ".csv"}, kind) {
		return &Difference{Fault: fmt.Sprintf("differs in line %d", 1+bytes.Count(a[:at], []byte("\n")))}, nil
	}
	return &Difference{Fault: fmt.Sprintf("differs from byte %d on", at)}, nil
}

// differingRow finds the first row and column in which two tables in CSV differ.
func differingRow(file string, a, b []byte) (*Difference, error) {
	old, errOld := csv.NewReader(bytes.NewReader(a)).ReadAll()
	made, errMade := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err := errors.Join(errOld, errMade); err != nil {
		return nil, fmt.Errorf("read %s: %w", file, err)
	}
	for i := range min(len(old), len(made)) {
		for j := range min(len(old[i]), len(made[i])) {
			if old[i][j] != made[i][j] {
				return &Difference{Fault: fmt.Sprintf("row %d, column %s: was %q, is %q", i, old[0][j], old[i][j], made[i][j]),
					Row: i, Column: old[0][j], Was: old[i][j], Now: made[i][j]}, nil
			}
		}
	}
	if len(old) != len(made) {
		return &Difference{Fault: fmt.Sprintf("had %d rows, has %d", len(old)-1, len(made)-1), Row: min(len(old), len(made))}, nil
	}
	return &Difference{Fault: "holds the same rows in other bytes"}, nil
}

// timeless reads a provenance statement without clock, program and the files it
// is about, which are compared themselves.
func timeless(b []byte) (*statement, error) {
	var s statement
	if err := json.Unmarshal(b, &s); err != nil {
		return nil, fmt.Errorf("read %s: %w", thresholds.ProvenanceFile, err)
	}
	run := &s.Predicate.RunDetails
	s.Subject, run.Builder.ID, run.Builder.Version, run.Metadata.FinishedOn = nil, "", nil, ""
	return &s, nil
}

// manifests finds the first member in which two manifests differ, but for the
// clock, the host, the program, local settings, where a setting came from, and
// the list of files, which are compared themselves.
func manifests(a, b thresholds.Manifest) *Difference {
	for _, m := range []*thresholds.Manifest{&a, &b} {
		m.Created, m.Host, m.Tool, m.Outputs = "", "", thresholds.Tool{}, nil
		m.Configuration = slices.DeleteFunc(slices.Clone(m.Configuration), func(s thresholds.Setting) bool { return s.Local })
		for i := range m.Configuration {
			m.Configuration[i].Origin = ""
		}
	}
	was, now := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range was.NumField() {
		if reflect.DeepEqual(was.Field(i).Interface(), now.Field(i).Interface()) {
			continue
		}
		name, _, _ := strings.Cut(was.Type().Field(i).Tag.Get("json"), ",")
		d := &Difference{File: thresholds.ManifestFile, Fault: name + " differs", Column: name}
		if k := was.Field(i).Kind(); k != reflect.Slice && k != reflect.Struct {
			d.Was, d.Now = fmt.Sprint(was.Field(i)), fmt.Sprint(now.Field(i))
			d.Fault = fmt.Sprintf("%s was %s, is %s", name, d.Was, d.Now)
		}
		return d
	}
	return nil
}

// Before copies into the folder to what a store held when it published a version:
// the log so far, the version that it follows, and that one's hand-over file
// where it is kept. A version published there gets the same number and is
// compared with the same parent.
func Before(dir string, r thresholds.Release, to string) error {
	files := []string{}
	for serial := 1; serial < r.Serial; serial++ {
		files = append(files, thresholds.EntryName(serial))
	}
	if r.Parent != "" {
		parent, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(r.Parent), thresholds.WithRetracted())
		if err != nil {
			return err
		}
		if err := os.CopyFS(filepath.Join(to, r.Parent), os.DirFS(filepath.Join(dir, r.Parent))); err != nil {
			return err
		}
		kept := path.Join(handoverDir, parent.Manifest().Handover)
		if info, err := os.Stat(filepath.Join(dir, filepath.FromSlash(kept))); err == nil && info.Mode().IsRegular() {
			files = append(files, kept)
		}
	}
	for _, name := range files {
		b, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		file := filepath.Join(to, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(file), fs.ModePerm); err != nil {
			return err
		}
		if err := os.WriteFile(file, b, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// StepTo returns the step that leads from the newest of the releases before r to
// its number.
func StepTo(releases []thresholds.Release, r thresholds.Release) Bump {
	earlier := slices.DeleteFunc(slices.Clone(releases), func(x thresholds.Release) bool { return x.Serial >= r.Serial })
	if len(earlier) == 0 {
		return Auto
	}
	switch last := earlier[len(earlier)-1]; {
	case last.Major != r.Major:
		return Major
	case last.Minor != r.Minor:
		return Minor
	}
	return Patch
}
