package publish

import (
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
	"sync"

	"sill/pipeline/thresholds"
)

// Commit publishes a version, or finds that the newest one has the same
// content and writes nothing. On an error nothing that was published has
// changed; a version that was already in place when the error came is
// completed by the next Commit or Repair. Errors: ErrConflict, ErrBump,
// thresholds.ErrIntegrity, and those of the file system.
func Commit(ctx context.Context, o Options, v Version) (*Committed, error) {
	if err := errors.Join(o.Validate(), v.validate()); err != nil {
		return nil, err
	}
	out, err := commit(ctx, o, &v)
	if err != nil {
		return nil, fmt.Errorf("publish to %s: %w", o.Dir, err)
	}
	return out, nil
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

const qualityFile = "quality.json"

// ownFiles lists the names of the files that every version has.
func (v *Version) ownFiles() []string {
	names := []string{thresholds.ManifestFile, thresholds.SumsFile, thresholds.DescriptorFile, qualityFile, "quarantine.parquet"}
	for _, t := range v.tables() {
		for _, f := range Formats {
			names = append(names, t.name+"."+f.Extension)
		}
	}
	return names
}

func commit(ctx context.Context, o Options, v *Version) (*Committed, error) {
	id, err := ContentID(*v)
	if err != nil {
		return nil, err
	}
	s, err := openStore(o)
	if err != nil {
		return nil, err
	}
	if done, _, err := s.alreadyThere(o, id); done != nil || err != nil {
		return done, err
	}
	stage, err := s.stage()
	if stage != "" {
		defer s.disk.removeAll(stage) //nolint:errcheck // gone after the rename, or CleanStaging's work
	}
	if err != nil {
		return nil, err
	}
	files, err := s.writeFiles(ctx, stage, v)
	if err != nil {
		return nil, err
	}
	m, err := manifestOf(filepath.Base(o.Dir), o, v, id)
	if err != nil {
		return nil, err
	}
	if v.Handover != nil {
		if m.Handover, err = s.keepHandover(v.Handover); err != nil {
			return nil, err
		}
	}
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		// one look at the log for both: a same content would take the same number
		done, releases, err := s.alreadyThere(o, id)
		if done != nil || err != nil {
			return done, err
		}
		step, err := s.number(o, v, &m, files, releases)
		if err != nil {
			return nil, err
		}
		sum, err := s.describe(stage, v, &m, files)
		if err != nil {
			return nil, err
		}
		err = s.disk.rename(stage, s.path(m.Version))
		if errors.Is(err, fs.ErrExist) {
			// another writer was faster, or was interrupted: log what is there
			if err := s.adopt(m.Version); err != nil {
				return nil, err
			}
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := s.finish(m.Version); err != nil {
			return nil, err
		}
		if err := s.logVersion(m, sum); err != nil {
			return nil, err
		}
		if err := s.refresh(); err != nil {
			return nil, fmt.Errorf("%s is published, but its catalogue is not refreshed: %w", m.Version, err)
		}
		return &Committed{Version: m.Version, Dir: s.path(m.Version), Parent: m.Parent, ContentID: id, Bump: step, Reasons: m.Changes}, nil
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

// writeFiles writes all files but those that depend on the version's number.
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
		for _, f := range Formats {
			of(t, f)
		}
	}
	of(v.quarantine(), Formats[slices.IndexFunc(Formats, func(f Format) bool { return f.Name == "parquet" })])
	quality, err := readableJSON(v.Quality)
	if err != nil {
		return nil, fmt.Errorf("write %s: %w", qualityFile, err)
	}
	plain := func(name string, b []byte) {
		jobs = append(jobs, job{name: name, write: func(w io.Writer) error { _, err := w.Write(b); return err }})
	}
	plain(qualityFile, quality)
	for name, b := range v.Files {
		plain(name, b)
	}
	slices.SortFunc(jobs, func(a, b job) int { return cmp.Compare(a.name, b.name) })

	files, errs := make([]thresholds.File, len(jobs)), make([]error, len(jobs))
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(jobs)) {
		workers.Go(func() {
			for i := range next {
				if errs[i] = ctx.Err(); errs[i] != nil {
					continue
				}
				files[i], errs[i] = s.disk.create(filepath.Join(stage, jobs[i].name), jobs[i].write)
				files[i].Rows, files[i].Columns = int64(jobs[i].rows), jobs[i].columns
			}
		})
	}
	for i := range jobs {
		next <- i
	}
	close(next)
	workers.Wait()
	return files, errors.Join(errs...)
}

func manifestOf(name string, o Options, v *Version, id string) (thresholds.Manifest, error) {
	configuration, err := canonicalConfiguration(*v)
	if err != nil {
		return thresholds.Manifest{}, err
	}
	return thresholds.Manifest{
		SchemaVersion: thresholds.SchemaVersion, Name: name, Created: stamp(o.Created), Host: o.Host, Status: "final",
		ContentID: id, Algorithm: v.Algorithm, Tool: v.Tool, Seed: v.Seed, Replicates: v.Replicates,
		Families: v.Families, Variables: append([]thresholds.Variable{}, v.Variables...),
		Configuration: append([]thresholds.Setting{}, v.Configuration...), ConfigurationSHA256: hashOf(configuration),
		Inputs: append([]thresholds.Input{}, v.Inputs...), Rows: v.Rows, Notes: v.Notes,
	}, nil
}

// number gives the manifest its version and parent by the releases so far.
func (s *store) number(o Options, v *Version, m *thresholds.Manifest, files []thresholds.File, releases []thresholds.Release) (Bump, error) {
	if len(releases) == 0 {
		m.Version, m.Parent, m.Changes = thresholds.Semver{Major: 1}.String(), "", []string{"the first version"}
		return Major, nil
	}
	highest := releases[len(releases)-1].Semver // retracted or not: a number is never used twice
	step := Minor
	m.Parent, m.Changes = "", []string{"every earlier version is retracted"}
	if parent := thresholds.Newest(releases); parent != nil {
		table, err := thresholds.OpenFS(os.DirFS(s.dir), thresholds.WithVersion(parent.Version))
		if err != nil {
			return Auto, err
		}
		if step, m.Changes, err = needed(table, v, files); err != nil {
			return Auto, err
		}
		m.Parent = parent.Version
	}
	if o.Bump != Auto && o.Bump < step {
		return Auto, fmt.Errorf("%w: %s asked for, %s needed: %v", ErrBump, o.Bump, step, m.Changes)
	}
	step = max(step, o.Bump)
	m.Version = step.next(highest).String()
	return step, nil
}

// describe writes the files that depend on the number, the manifest and the
// checksums last, then reads the whole version back. It returns the sha256 of
// the manifest.
func (s *store) describe(stage string, v *Version, m *thresholds.Manifest, files []thresholds.File) (string, error) {
	write := func(name string, b []byte, err error) (thresholds.File, error) {
		if err != nil {
			return thresholds.File{}, err
		}
		path := filepath.Join(stage, name)
		if err := s.disk.remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return thresholds.File{}, err // of an earlier number
		}
		return s.disk.createBytes(path, b)
	}
	b, err := readableJSON(describe(v, files))
	f, err := write(thresholds.DescriptorFile, b, err)
	if err != nil {
		return "", err
	}
	m.Outputs = append(slices.Clip(files), f)
	slices.SortFunc(m.Outputs, func(a, b thresholds.File) int { return cmp.Compare(a.Path, b.Path) })
	b, err = readableJSON(m)
	manifest, err := write(thresholds.ManifestFile, b, err)
	if err != nil {
		return "", err
	}
	listed := append(slices.Clip(m.Outputs), manifest)
	slices.SortFunc(listed, func(a, b thresholds.File) int { return cmp.Compare(a.Path, b.Path) })
	if _, err := write(thresholds.SumsFile, sums(listed), nil); err != nil {
		return "", err
	}
	if err := s.disk.syncFolder(stage); err != nil {
		return "", err
	}
	if err := s.disk.step("verify", stage); err != nil {
		return "", err
	}
	if _, err := thresholds.OpenFS(os.DirFS(stage)); err != nil {
		return "", fmt.Errorf("read back: %w", err)
	}
	return manifest.SHA256, nil
}
