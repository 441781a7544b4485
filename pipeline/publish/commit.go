package publish

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"sill/pipeline/parallel"
	"sill/pipeline/thresholds"
)

// Commit publishes a version, or finds that the newest one has the same
// content and writes nothing. On an error nothing that was published has
// changed; a version that was already in place when the error came is
// completed by the next Commit or Repair. Errors: ErrConflict, ErrBump,
// thresholds.ErrIntegrity, and those of the file system.
func Commit(ctx context.Context, o Options, v Version) (*Committed, error) {
	return o.publish(ctx, "publish to", &v, func(s *store, p *prepared, _ []thresholds.Release) (*Committed, error) {
		return s.settle(ctx, o, p)
	})
}

// publish prepares a version in staging and finishes it, unless the newest one of
// the releases has the same content.
func (o Options) publish(ctx context.Context, verb string, v *Version,
	finish func(*store, *prepared, []thresholds.Release) (*Committed, error)) (_ *Committed, err error) {
	if err := errors.Join(o.Validate(), v.validate()); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s %s: %w", verb, o.Dir, err)
		}
	}()
	id, err := ContentID(*v)
	if err != nil {
		return nil, err
	}
	s, err := openStore(o)
	if err != nil {
		return nil, err
	}
	done, releases, err := s.alreadyThere(o, id)
	if done != nil || err != nil {
		return done, err
	}
	dir, err := s.stage()
	if dir != "" {
		defer s.disk.removeAll(dir) //nolint:errcheck // gone after the rename, or cleanStaging's work
	}
	if err != nil {
		return nil, err
	}
	p, err := s.prepare(ctx, dir, o, v, id)
	if err != nil {
		return nil, err
	}
	return finish(s, p, releases)
}

// Current returns the newest version of the store if its content id is that
// of v, whose tables may still be nil; otherwise nil. So a run can learn
// before it computes anything that there is nothing to publish.
func Current(o Options, v Version) (*Committed, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	id, err := ContentID(v)
	if err != nil {
		return nil, err
	}
	log, err := thresholds.ReadLog(os.DirFS(o.Dir))
	if err != nil {
		return nil, err
	}
	return unchanged(o, thresholds.Newest(thresholds.Releases(log)), id), nil
}

func unchanged(o Options, newest *thresholds.Release, id string) *Committed {
	if newest == nil || newest.ContentID != id {
		return nil
	}
	return &Committed{Version: newest.Version, Dir: filepath.Join(o.Dir, newest.Version), Unchanged: true,
		Parent: newest.Parent, ContentID: id}
}

// validate checks what every format needs, before anything is written.
func (v *Version) validate() error {
	if v.Tables == nil {
		return errors.New("publish: no tables given")
	}
	var errs []error
	for _, t := range append(v.tables(), v.quarantine()) {
		errs = append(errs, t.check())
	}
	seen := map[string]bool{}
	for _, x := range v.Variables {
		if seen[x.Name] || x.Name == "" || x.Definition == "" {
			errs = append(errs, fmt.Errorf("publish: variable %q is given twice, or without a name or definition", x.Name))
		}
		seen[x.Name] = true
	}
	for _, name := range v.Formats {
		if !slices.Contains(OptionalFormats(), name) {
			errs = append(errs, fmt.Errorf("publish: unknown optional format %q: use %s", name, strings.Join(OptionalFormats(), ", ")))
		}
	}
	own := v.ownFiles()
	for name := range v.Files {
		if !plainName.MatchString(name) || slices.Contains(own, name) {
			errs = append(errs, fmt.Errorf("publish: file %q: not a plain name, or one that every version has", name))
		}
	}
	return errors.Join(errs...)
}

func (v *Version) quarantine() table {
	return newTable("quarantine", "the rejected rows of the inputs", v.Quarantine)
}

// QualityFile is the quality report of a version.
const QualityFile = "quality.json"

// ownFiles lists the names of the files that every version has or may have.
func (v *Version) ownFiles() []string {
	names := []string{thresholds.ManifestFile, thresholds.SumsFile, thresholds.DescriptorFile, thresholds.ProvenanceFile,
		thresholds.SchemasDir, QualityFile, PageFile, "quarantine.parquet"}
	for _, t := range v.tables() {
		for _, f := range Formats {
			names = append(names, t.name+"."+f.Extension)
		}
	}
	return names
}

// settle gives a prepared version its number, puts it in place and logs it.
func (s *store) settle(ctx context.Context, o Options, p *prepared) (*Committed, error) {
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		// one look at the log for both: a same content would take the same number
		done, releases, err := s.alreadyThere(o, p.m.ContentID)
		if done != nil || err != nil {
			return done, err
		}
		out, err := s.number(o, p, releases)
		if err != nil {
			return nil, err
		}
		sum, err := s.describe(p)
		if err != nil {
			return nil, err
		}
		err = s.disk.rename(p.dir, s.path(p.m.Version))
		if errors.Is(err, fs.ErrExist) {
			// another writer was faster, or was interrupted: log what is there
			if err := s.adopt(p.m.Version); err != nil {
				return nil, err
			}
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := s.finish(p.m.Version); err != nil {
			return nil, err
		}
		if err := s.logVersion(p.m, sum); err != nil {
			return nil, err
		}
		if err := s.refresh(); err != nil {
			return nil, fmt.Errorf("%s is published, but its catalogue is not refreshed: %w", p.m.Version, err)
		}
		out.Dir = s.path(p.m.Version)
		return out, nil
	}
}

// alreadyThere finds the newest version where it has this content, and mends
// the derived views that an interrupted writer may have left behind. It
// returns the releases that it looked at.
func (s *store) alreadyThere(o Options, id string) (*Committed, []thresholds.Release, error) {
	log, err := s.log()
	if err != nil {
		return nil, nil, err
	}
	releases := thresholds.Releases(log)
	done := unchanged(o, thresholds.Newest(releases), id)
	if done == nil {
		return nil, releases, nil
	}
	if b, err := os.ReadFile(s.path(latestFile)); err != nil || string(b) != done.Version+"\n" {
		return done, releases, s.refresh()
	}
	return done, releases, nil
}

// prepared is a version in staging, with all its files but the page, the
// provenance, the manifest and the checksums, which wait for its number.
type prepared struct {
	dir        string
	m          thresholds.Manifest
	files      []thresholds.File
	descriptor descriptor
	provenance statement // of the files
	page       func(dir string, m thresholds.Manifest) ([]byte, error)
	follows    *string // the parent that it was made to follow, nil for any
}

// prepare writes a version into its folder in staging.
func (s *store) prepare(ctx context.Context, dir string, o Options, v *Version, id string) (*prepared, error) {
	if err := s.disk.probe(dir); err != nil {
		return nil, err
	}
	p := &prepared{dir: dir, page: o.Page, follows: v.Follows}
	var err error
	if p.m, err = manifestOf(filepath.Base(o.Dir), o, v, id); err != nil {
		return nil, err
	}
	if p.files, err = s.writeFiles(ctx, dir, v); err != nil {
		return nil, err
	}
	p.descriptor = describe(v, p.files)
	b, err := readableJSON(p.descriptor)
	if err != nil {
		return nil, err
	}
	f, err := s.disk.createBytes(filepath.Join(dir, thresholds.DescriptorFile), b)
	if err != nil {
		return nil, err
	}
	p.files = append(p.files, f)
	p.provenance = provenanceOf(&p.m, p.files)
	if v.Handover != nil {
		p.m.Handover, err = s.keepHandover(v.Handover)
	}
	return p, err
}

func sortFiles(files []thresholds.File) {
	slices.SortFunc(files, func(a, b thresholds.File) int { return cmp.Compare(a.Path, b.Path) })
}

// writeFiles writes the files that no other file is needed for.
func (s *store) writeFiles(ctx context.Context, stage string, v *Version) ([]thresholds.File, error) {
	type job struct {
		name          string
		rows, columns int
		write         func(io.Writer) error
	}
	var jobs []job
	of := func(t table, f Format) {
		jobs = append(jobs, job{t.name + "." + f.Extension, t.len(), len(t.columns), func(w io.Writer) error { return f.write(w, &t, v) }})
	}
	for _, t := range v.tables() {
		for _, f := range v.formats() {
			of(t, f)
		}
	}
	of(v.quarantine(), Formats[slices.IndexFunc(Formats, func(f Format) bool { return f.Name == "parquet" })])
	quality, err := readableJSON(v.Quality)
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", QualityFile, err)
	}
	plain := func(name string, b []byte) {
		jobs = append(jobs, job{name: name, write: func(w io.Writer) error { _, err := w.Write(b); return err }})
	}
	plain(QualityFile, quality)
	for name, b := range v.Files {
		plain(name, b)
	}
	if err := s.disk.folder(filepath.Join(stage, thresholds.SchemasDir)); err != nil {
		return nil, err
	}
	for document, described := range Schemas(*v) {
		b, err := readableJSON(described)
		if err != nil {
			return nil, fmt.Errorf("write the schema of %s: %w", document, err)
		}
		plain(schemaFile(document), b)
	}
	slices.SortFunc(jobs, func(a, b job) int { return cmp.Compare(a.name, b.name) })

	files := make([]thresholds.File, len(jobs))
	err = parallel.Each(ctx, runtime.GOMAXPROCS(0), len(jobs), func(_, i int) (err error) {
		j := jobs[i]
		files[i], err = s.disk.create(filepath.Join(stage, filepath.FromSlash(j.name)), j.write)
		files[i].Path, files[i].Rows, files[i].Columns = j.name, int64(j.rows), j.columns
		return err
	})
	return files, errors.Join(err, s.disk.syncFolder(filepath.Join(stage, thresholds.SchemasDir)))
}

func manifestOf(name string, o Options, v *Version, id string) (thresholds.Manifest, error) {
	configuration, err := canonicalConfiguration(*v)
	if err != nil {
		return thresholds.Manifest{}, err
	}
	return thresholds.Manifest{
		SchemaVersion: thresholds.SchemaVersion, Name: name, Created: stamp(o.Created), Host: o.Host, Status: "final",
		ContentID: id, Algorithm: v.Algorithm, Tool: v.Tool, Seed: v.Seed, Replicates: v.Replicates,
		Families: v.Families, Variables: append([]thresholds.Variable{}, v.Variables...), Warnings: append([]thresholds.Warning{}, v.Warnings...),
		Configuration: append([]thresholds.Setting{}, v.Configuration...), ConfigurationSHA256: hashOf(configuration),
		Inputs: append([]thresholds.Input{}, v.Inputs...), Rows: v.Rows, Notes: v.Notes,
	}, nil
}

// number gives a prepared version its number and parent by the releases so far.
func (s *store) number(o Options, p *prepared, releases []thresholds.Release) (*Committed, error) {
	m, step := &p.m, Major
	parent := thresholds.Newest(releases)
	switch {
	case len(releases) == 0:
		m.Parent, m.Changes = "", []string{"the first version"}
	case parent == nil:
		step, m.Parent, m.Changes = Minor, "", []string{"every earlier version is retracted"}
	default:
		table, err := thresholds.OpenFS(os.DirFS(s.dir), thresholds.WithVersion(parent.Version))
		if err != nil {
			return nil, err
		}
		if step, m.Changes, err = needed(table, p); err != nil {
			return nil, err
		}
		m.Parent = parent.Version
	}
	if p.follows != nil && *p.follows != m.Parent {
		return nil, fmt.Errorf("%w: it was made to follow %s, but the newest version is %s now; run again",
			ErrParent, cmp.Or(*p.follows, "no version"), cmp.Or(m.Parent, "none"))
	}
	if o.Bump != Auto && o.Bump < step && len(releases) > 0 {
		return nil, fmt.Errorf("%w: %s asked for, %s needed: %s", ErrBump, o.Bump, step, strings.Join(m.Changes, "; "))
	}
	step = max(step, o.Bump)
	m.Version = thresholds.Semver{Major: 1}.String()
	if n := len(releases); n > 0 { // retracted or not: a number is never used twice
		m.Version = step.next(releases[n-1].Semver).String()
	}
	return &Committed{Version: m.Version, Parent: m.Parent, ContentID: m.ContentID, Bump: step, Reasons: m.Changes}, nil
}

// describe writes the files that wait for the number, then reads the whole
// version back. It returns the sha256 of the manifest.
func (s *store) describe(p *prepared) (string, error) {
	write := func(name string, b []byte) (thresholds.File, error) {
		path := filepath.Join(p.dir, name)
		if have, err := os.ReadFile(path); err == nil && bytes.Equal(have, b) {
			return thresholds.File{Path: name, Bytes: int64(len(b)), SHA256: hashOf(b)}, nil // a draft's
		}
		if err := s.disk.remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return thresholds.File{}, err // of an earlier number
		}
		return s.disk.createBytes(path, b)
	}
	document := func(name string, of any) (thresholds.File, error) {
		b, err := readableJSON(of)
		if err != nil {
			return thresholds.File{}, err
		}
		return write(name, b)
	}
	files, stated := slices.Clone(p.files), p.provenance
	if p.page != nil {
		b, err := p.page(p.dir, p.m)
		if err != nil {
			return "", fmt.Errorf("make %s: %w", PageFile, err)
		}
		if len(b) > 0 {
			f, err := write(PageFile, b)
			if err != nil {
				return "", err
			}
			files, stated.Subject = append(files, f), append(slices.Clone(stated.Subject), artifactOf(f))
		}
	}
	f, err := document(thresholds.ProvenanceFile, stated)
	if err != nil {
		return "", err
	}
	files = append(files, f)
	sortFiles(files)
	p.m.Outputs = files
	manifest, err := document(thresholds.ManifestFile, p.m)
	if err != nil {
		return "", err
	}
	listed := append(slices.Clip(p.m.Outputs), manifest)
	sortFiles(listed)
	if _, err := write(thresholds.SumsFile, sums(listed)); err != nil {
		return "", err
	}
	if err := s.disk.syncFolder(p.dir); err != nil {
		return "", err
	}
	if err := s.disk.step("verify", p.dir); err != nil {
		return "", err
	}
	if _, err := thresholds.OpenFS(os.DirFS(p.dir)); err != nil {
		return "", fmt.Errorf("read back: %w", err)
	}
	return manifest.SHA256, nil
}
