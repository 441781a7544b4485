package thresholds

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
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

	read  map[string]*read // by resource
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
	t, entry := &Table{fsys: fsys, dir: ".", read: map[string]*read{}}, (*Entry)(nil)
	for _, r := range resources() {
		t.read[r.Name] = new(read)
	}
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
	major, _, ok := parseSchema(version)
	if !ok {
		return &FileError{file, fmt.Sprintf("has no schema version (%q)", version)}
	}
	if known, _, _ := parseSchema(SchemaVersion); major > known {
		return fmt.Errorf("%w: %s has schema %s, this reader knows %s; use a newer sill/pipeline/thresholds",
			ErrSchema, file, version, SchemaVersion)
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
