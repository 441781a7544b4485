package thresholds

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Names of the files that stand beside the resources of every version.
const (
	ManifestFile   = "manifest.json"
	SumsFile       = "SHA256SUMS"
	DescriptorFile = "datapackage.json"
	ProvenanceFile = "provenance.intoto.json"
	SchemasDir     = "schemas" // folder of the JSON Schemas
)

// Option narrows what Open accepts.
type Option func(*options)

type options struct {
	version     string
	major       int
	definitions map[string]string
	retracted   bool
	lazy        bool
}

// WithVersion opens the named version ("v1.2.0") of a store.
func WithVersion(v string) Option { return func(o *options) { o.version = v } }

// WithMajor opens the newest version of a store whose number has this major,
// so that a breaking change is never picked up unasked.
func WithMajor(n int) Option { return func(o *options) { o.major = n } }

// WithDefinitions gives what the caller's own variables measure, by name
// (such as "velocity": "velocity/release/mph"). Open refuses a version that
// defines one of them otherwise; names the version does not know are ignored.
func WithDefinitions(d map[string]string) Option {
	return func(o *options) { o.definitions = maps.Clone(d) }
}

// WithRetracted opens the version that WithVersion names even where it was
// retracted, for those who look into why.
func WithRetracted() Option { return func(o *options) { o.retracted = true } }

// Lazily verifies the manifest on opening and every other file only when it is
// read; what is never read is then never verified.
func Lazily() Option { return func(o *options) { o.lazy = true } }

// Table is one opened, verified version. It is safe for use by several
// goroutines. Large resources are read on first use, and verified again then.
type Table struct {
	fsys     fs.FS
	dir      string
	release  Release // zero where the folder stands in no store
	manifest Manifest

	thresholds lazy[Threshold]
	verdicts   lazy[Verdict]
	zones      lazy[Zone]
	stretches  lazy[Stretch]
	curves     lazy[CurvePoint]
	bins       lazy[Bin]
	contrasts  lazy[Contrast]
	references lazy[Reference]
	slopes     lazy[Slope]
	opponents  lazy[Opponent]

	certain struct { // whether the zones have their stretches
		sync.Once
		err error
	}
	index lazyIndex
}

// Open opens a published version: dir is a version's own folder, or a store,
// of which the newest version (or the one an option names) is taken. Every
// file is verified against its checksum; a failure is a FileError and an
// ErrIntegrity. A version whose folder lies in a store must be in its log.
// Other errors are ErrSchema, ErrDefinition and ErrNoVersion.
func Open(dir string, opts ...Option) (*Table, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("open thresholds: %w", err)
	}
	if _, err := ParseSemver(filepath.Base(abs)); err == nil {
		if _, err := os.Stat(filepath.Join(filepath.Dir(abs), LogDir)); err == nil {
			return OpenFS(os.DirFS(filepath.Dir(abs)), append(opts, WithVersion(filepath.Base(abs)))...)
		}
	}
	return OpenFS(os.DirFS(abs), opts...)
}

// OpenFS is Open on a file system whose root is a version or a store.
func OpenFS(fsys fs.FS, opts ...Option) (*Table, error) {
	o := options{major: -1}
	for _, opt := range opts {
		opt(&o)
	}
	t, entry := &Table{fsys: fsys, dir: "."}, (*Entry)(nil)
	if _, err := fs.Stat(fsys, LogDir); err == nil {
		release, err := choose(fsys, o)
		if err != nil {
			return nil, fmt.Errorf("open thresholds: %w", err)
		}
		t.release, t.dir, entry = *release, release.Version, &release.Entry
	}
	if err := t.open(entry, o); err != nil {
		return nil, fmt.Errorf("open thresholds: %w", err)
	}
	return t, nil
}

// choose picks a version by the log.
func choose(store fs.FS, o options) (*Release, error) {
	log, err := ReadLog(store)
	if err != nil {
		return nil, err
	}
	releases := Releases(log)
	if o.version != "" {
		v, err := ParseSemver(o.version)
		if err != nil {
			return nil, err
		}
		for i := range releases {
			if releases[i].Semver != v {
				continue
			}
			if why := releases[i].Retracted; why != "" && !o.retracted {
				return nil, fmt.Errorf("%w: %s was retracted: %s", ErrNoVersion, v, why)
			}
			return &releases[i], nil
		}
		return nil, fmt.Errorf("%w: %s is not in the log", ErrNoVersion, v)
	}
	if o.major >= 0 {
		releases = slices.DeleteFunc(releases, func(r Release) bool { return r.Major != o.major })
	}
	r := Newest(releases)
	if r == nil {
		return nil, fmt.Errorf("%w: the log names none", ErrNoVersion)
	}
	return r, nil
}

// open verifies the version and reads its manifest.
func (t *Table) open(entry *Entry, o options) error {
	raw, err := readFile(t.fsys, t.path(ManifestFile))
	if errors.Is(err, fs.ErrNotExist) && entry == nil {
		return fmt.Errorf("%w: the folder holds neither %s nor a store's %s", ErrNoVersion, ManifestFile, LogDir)
	}
	if err != nil {
		return t.fault(ManifestFile, err.Error())
	}
	if entry != nil && hashOf(raw) != entry.ManifestSHA256 {
		return t.fault(ManifestFile, "sha256 differs from the log's")
	}
	sums, err := readFile(t.fsys, t.path(SumsFile))
	if err != nil {
		return t.fault(SumsFile, err.Error())
	}
	listed, err := ParseSums(sums)
	if err != nil {
		return t.fault(SumsFile, err.Error())
	}
	if entry == nil && listed[ManifestFile] != hashOf(raw) {
		return t.fault(ManifestFile, "sha256 differs from that in "+SumsFile)
	}
	// The schema comes before the rest: a newer major may list files otherwise.
	var head struct {
		SchemaVersion string `json:"schema_version"`
	}
	if err := json.Unmarshal(raw, &head); err != nil {
		return t.fault(ManifestFile, err.Error())
	}
	if err := checkSchema(t.path(ManifestFile), head.SchemaVersion); err != nil {
		return err
	}
	if err := json.Unmarshal(raw, &t.manifest); err != nil {
		return t.fault(ManifestFile, err.Error())
	}
	if entry != nil && t.manifest.Version != entry.Version {
		return t.fault(ManifestFile, "is of version "+t.manifest.Version)
	}
	if !o.lazy {
		if err := t.verify(listed, hashOf(raw)); err != nil {
			return err
		}
	}
	return checkDefinitions(t.manifest.Variables, o.definitions)
}

// verify checks every file against the manifest, and SHA256SUMS with it. It
// names every file at fault.
func (t *Table) verify(listed map[string]string, manifestSum string) error {
	want := map[string]string{ManifestFile: manifestSum}
	var faults []error
	fault := func(file, msg string) { faults = append(faults, t.fault(file, msg)) }
	for _, f := range t.manifest.Outputs {
		if !fs.ValidPath(f.Path) || f.Path == "." {
			return t.fault(ManifestFile, fmt.Sprintf("lists a file named %q", f.Path))
		}
		want[f.Path] = f.SHA256
	}
	for _, f := range t.manifest.Outputs {
		sum, n, err := hashFile(t.fsys, t.path(f.Path))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			fault(f.Path, "is missing")
		case err != nil:
			fault(f.Path, err.Error())
		case sum != f.SHA256 || n != f.Bytes:
			fault(f.Path, "sha256 differs from the manifest's")
		}
	}
	if !maps.Equal(want, listed) {
		fault(SumsFile, "differs from the manifest")
	}
	_ = fs.WalkDir(t.fsys, t.dir, func(name string, d fs.DirEntry, err error) error {
		rel := strings.TrimPrefix(strings.TrimPrefix(name, t.dir), "/")
		switch {
		case err != nil:
			fault(cmp.Or(rel, "."), err.Error())
			return fs.SkipDir
		case d.IsDir() || rel == SumsFile:
		case want[rel] == "":
			fault(rel, "is not in the manifest")
		}
		return nil
	})
	return errors.Join(faults...)
}

func (t *Table) path(file string) string { return path.Join(t.dir, file) }

func (t *Table) fault(file, msg string) error { return &FileError{t.path(file), msg} }

// checkSchema refuses a newer major.
func checkSchema(file, version string) error {
	major, _, ok := strings.Cut(version, ".")
	n, err := strconv.Atoi(major)
	if !ok || err != nil || n < 1 {
		return &FileError{file, fmt.Sprintf("has no schema version (%q)", version)}
	}
	known, _, _ := strings.Cut(SchemaVersion, ".")
	if k, _ := strconv.Atoi(known); n > k {
		return fmt.Errorf("%w: %s has schema %s, this reader knows %s; use a newer sill/pipeline/thresholds", ErrSchema, file, version, SchemaVersion)
	}
	return nil
}

func checkDefinitions(variables []Variable, want map[string]string) error {
	for _, v := range variables {
		if w, ok := want[v.Name]; ok && w != v.Definition {
			return fmt.Errorf("%w: %s is published as %q, the caller measures %q", ErrDefinition, v.Name, v.Definition, w)
		}
	}
	return nil
}

// ParseSums reads the lines of a SHA256SUMS file: path to sha256 in hex.
func ParseSums(b []byte) (map[string]string, error) {
	if len(b) == 0 || b[len(b)-1] != '\n' {
		return nil, errors.New("is cut short")
	}
	out := map[string]string{}
	for line := range strings.Lines(string(b)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if _, err := hex.DecodeString(sum); !ok || err != nil || len(sum) != 64 {
			return nil, fmt.Errorf("has a malformed line %q", line)
		}
		if _, twice := out[name]; twice {
			return nil, fmt.Errorf("names %s twice", name)
		}
		out[name] = sum
	}
	return out, nil
}

// readFile reads a regular file; links and devices are refused.
func readFile(fsys fs.FS, name string) ([]byte, error) {
	if err := checkRegular(fsys, name); err != nil {
		return nil, err
	}
	return fs.ReadFile(fsys, name)
}

func hashFile(fsys fs.FS, name string) (sum string, n int64, err error) {
	if err := checkRegular(fsys, name); err != nil {
		return "", 0, err
	}
	f, err := fsys.Open(name)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	n, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), n, err
}

func checkRegular(fsys fs.FS, name string) error {
	info, err := fs.Lstat(fsys, name)
	if err != nil {
		return err
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("is not a regular file (%s)", info.Mode().Type())
	}
	return nil
}

// Manifest returns the manifest. Its slices are shared and must not be changed.
func (t *Table) Manifest() Manifest { return t.manifest }

// Deprecated returns why the version is no longer advised, "" if it still is.
// Such a version opens as before; show the reason to whoever pinned it.
func (t *Table) Deprecated() string { return t.release.Deprecated }

// Retracted returns why the version was retracted, "" if it was not (see
// WithRetracted).
func (t *Table) Retracted() string { return t.release.Retracted }

// Version returns the version's number, such as "v1.2.0".
func (t *Table) Version() string { return t.manifest.Version }

// Optional is Bytes for a file that a version which no run made may lack; nil where
// it does.
func (t *Table) Optional(name string) ([]byte, error) {
	b, err := t.Bytes(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return b, err
}

// Bytes returns the content of one published file, verified again.
func (t *Table) Bytes(file string) ([]byte, error) {
	for _, f := range t.manifest.Outputs {
		if f.Path != file {
			continue
		}
		b, err := readFile(t.fsys, t.path(file))
		if err != nil {
			return nil, t.fault(file, err.Error())
		}
		if hashOf(b) != f.SHA256 {
			return nil, t.fault(file, "sha256 differs from the manifest's")
		}
		return b, nil
	}
	return nil, fmt.Errorf("read %s: %w", file, fs.ErrNotExist)
}

// Thresholds walks the headline view.
func (t *Table) Thresholds() iter.Seq2[Threshold, error] { return t.thresholds.all(t, "thresholds") }

// Verdicts walks the verdicts.
func (t *Table) Verdicts() iter.Seq2[Verdict, error] { return t.verdicts.all(t, "verdicts") }

// Zones walks the zones.
func (t *Table) Zones() iter.Seq2[Zone, error] { return each(t.zoned) }

// Stretches walks the certain stretches, those of Zone.Certain. A version before
// schema 1.3 told one a zone.
func (t *Table) Stretches() iter.Seq2[Stretch, error] {
	return each(func() ([]Stretch, error) {
		zones, err := t.zoned()
		return Stretches(zones), err
	})
}

// Stretches makes the rows of the stretches resource.
func Stretches(zones []Zone) []Stretch {
	var out []Stretch
	for _, z := range zones {
		for _, s := range z.Certain {
			out = append(out, Stretch{Key: z.Key, Reference: z.Reference, Zone: z.Zone, Sign: z.Sign, Lo: s.Lo, Hi: s.Hi})
		}
	}
	return out
}

// zoned reads the zones with their certain stretches.
func (t *Table) zoned() ([]Zone, error) {
	t.certain.Do(func() {
		zones, err := t.zones.get(t, "zones")
		stretches, err2 := t.stretches.get(t, "stretches")
		if t.certain.err = errors.Join(err, err2); t.certain.err != nil {
			return
		}
		type zoneKey struct {
			curveKey
			zone int64
		}
		at := make(map[zoneKey]*Zone, len(zones))
		for i := range zones {
			z := &zones[i]
			z.Certain = nil // of the stretches alone
			at[zoneKey{curveKey{z.Key, z.Reference}, z.Zone}] = z
			if t.precedes("stretches") && z.CertainLo != nil && z.CertainHi != nil {
				z.Certain = []Span{{*z.CertainLo, *z.CertainHi}}
			}
		}
		for _, s := range stretches {
			if z := at[zoneKey{curveKey{s.Key, s.Reference}, s.Zone}]; z != nil {
				z.Certain = append(z.Certain, Span{s.Lo, s.Hi})
			}
		}
	})
	return t.zones.rows, t.certain.err
}

// Curves walks the points of all curves.
func (t *Table) Curves() iter.Seq2[CurvePoint, error] { return t.curves.all(t, "curves") }

// Bins walks the bins.
func (t *Table) Bins() iter.Seq2[Bin, error] { return t.bins.all(t, "bins") }

// Contrasts walks the contrasts.
func (t *Table) Contrasts() iter.Seq2[Contrast, error] { return t.contrasts.all(t, "contrasts") }

// References walks the lines.
func (t *Table) References() iter.Seq2[Reference, error] { return t.references.all(t, "references") }

// Slopes walks the slopes inside and between pitchers; a version before schema 1.2
// has none.
func (t *Table) Slopes() iter.Seq2[Slope, error] { return t.slopes.all(t, "slopes") }

// Opponents walks who was facing the pitchers of each cell; a version before schema
// 1.2 has none.
func (t *Table) Opponents() iter.Seq2[Opponent, error] { return t.opponents.all(t, "opponents") }

// Load reads all resources. The slices are shared and must not be changed.
func (t *Table) Load() (*Tables, error) {
	var out Tables
	var errs [9]error
	out.Thresholds, errs[0] = t.thresholds.get(t, "thresholds")
	out.Verdicts, errs[1] = t.verdicts.get(t, "verdicts")
	out.Zones, errs[2] = t.zoned()
	out.Curves, errs[3] = t.curves.get(t, "curves")
	out.Bins, errs[4] = t.bins.get(t, "bins")
	out.Contrasts, errs[5] = t.contrasts.get(t, "contrasts")
	out.References, errs[6] = t.references.get(t, "references")
	out.Slopes, errs[7] = t.slopes.get(t, "slopes")
	out.Opponents, errs[8] = t.opponents.get(t, "opponents")
	if err := errors.Join(errs[:]...); err != nil {
		return nil, err
	}
	return &out, nil
}

// lazy is one resource, read from its JSON file on first use.
type lazy[T any] struct {
	once sync.Once
	rows []T
	err  error
}

func (l *lazy[T]) get(t *Table, resource string) ([]T, error) {
	l.once.Do(func() {
		file := resource + ".json"
		if t.precedes(resource) {
			return
		}
		raw, err := t.Bytes(file)
		if err != nil {
			l.err = err
			return
		}
		var doc struct {
			SchemaVersion string   `json:"schema_version"`
			Resource      string   `json:"resource"`
			Columns       []Column `json:"columns"`
			Rows          []T      `json:"rows"`
		}
		if err := json.NewDecoder(bytes.NewReader(raw)).Decode(&doc); err != nil {
			l.err = t.fault(file, err.Error())
			return
		}
		if l.err = checkSchema(t.path(file), doc.SchemaVersion); l.err != nil {
			return
		}
		if doc.Resource != resource {
			l.err = t.fault(file, fmt.Sprintf("holds resource %q", doc.Resource))
			return
		}
		if l.err = checkColumns(t.path(file), doc.SchemaVersion, doc.Columns, Columns[T]()); l.err != nil {
			return
		}
		l.rows = doc.Rows
	})
	return l.rows, l.err
}

// precedes tells whether the version is older than a resource.
func (t *Table) precedes(resource string) bool {
	for _, r := range Resources() {
		if r.Name == resource {
			return minorOf(t.manifest.SchemaVersion) < minorOf(r.Since)
		}
	}
	return false
}

// checkColumns refuses a file in which a column this reader relies on is
// missing or changed its type or unit. Further columns are a newer minor's, and
// one that came after the file's own schema version may be missing.
func checkColumns(file, version string, have, want []Column) error {
	for _, w := range want {
		i := slices.IndexFunc(have, func(h Column) bool { return h.Name == w.Name })
		if i < 0 && w.Since != "" && minorOf(version) < minorOf(w.Since) {
			continue
		}
		if i < 0 {
			return &FileError{file, "has no column " + w.Name}
		}
		if h := have[i]; h.Type != w.Type || h.Unit != w.Unit {
			return &FileError{file, fmt.Sprintf("column %s is %s [%s], want %s [%s]", w.Name, h.Type, h.Unit, w.Type, w.Unit)}
		}
	}
	return nil
}

// minorOf is the minor part of a schema version, 0 where there is none.
func minorOf(version string) int {
	_, minor, _ := strings.Cut(version, ".")
	n, _ := strconv.Atoi(minor)
	return n
}

func (l *lazy[T]) all(t *Table, resource string) iter.Seq2[T, error] {
	return each(func() ([]T, error) { return l.get(t, resource) })
}

// each walks rows that are read when the walk begins.
func each[T any](read func() ([]T, error)) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		rows, err := read()
		if err != nil {
			var zero T
			yield(zero, err)
			return
		}
		for i := range rows {
			if !yield(rows[i], nil) {
				return
			}
		}
	}
}
