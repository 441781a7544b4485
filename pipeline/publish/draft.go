package publish

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"sill/pipeline/thresholds"
)

// What the staging folder of a draft begins with, before its content id: while
// it waits, and while someone publishes it.
const (
	draftPrefix = "draft-"
	takenPrefix = "publishing-"
)

// ErrNoDraft says that no draft, or more than one, has the name asked for.
var ErrNoDraft = errors.New("no such draft")

// Drafted is a finished version that waits in staging to be published.
type Drafted struct {
	ContentID string   `json:"content_id"`
	Version   string   `json:"version" doc:"number that it would get"`
	Parent    string   `json:"parent" doc:"version that it would follow, empty for the first"`
	Created   string   `json:"created"`
	Reasons   []string `json:"reasons" doc:"why the step of the number is no smaller"`
	Dir       string   `json:"dir"`
}

// Draft does all that Commit does but publish: the finished files wait in the
// store's staging under their content id until CommitDraft or, by age,
// Repair. A draft of the same content is replaced. Where the newest
// version holds the content already, nothing is written and it is returned.
func Draft(ctx context.Context, o Options, v Version) (*Committed, error) {
	return o.publish(ctx, "draft for", &v, func(s *store, p *prepared, releases []thresholds.Release) (*Committed, error) {
		out, err := s.number(o, p, releases)
		if err != nil {
			return nil, err
		}
		if _, err := s.describe(p); err != nil {
			return nil, err
		}
		out.Dir = s.path(stagingDir, draftPrefix+p.m.ContentID)
		err = s.disk.rename(p.dir, out.Dir)
		if errors.Is(err, fs.ErrExist) {
			if err := s.disk.removeAll(out.Dir); err != nil {
				return nil, err
			}
			err = s.disk.rename(p.dir, out.Dir)
		}
		return out, err
	})
}

// Drafts lists the drafts of a store, oldest first.
func Drafts(dir string) ([]Drafted, error) {
	s := &store{dir: dir}
	list, err := os.ReadDir(s.path(stagingDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	out := []Drafted{}
	for _, d := range list {
		if !strings.HasPrefix(d.Name(), draftPrefix) {
			continue
		}
		folder := s.path(stagingDir, d.Name())
		raw, err := os.ReadFile(filepath.Join(folder, thresholds.ManifestFile))
		if errors.Is(err, fs.ErrNotExist) {
			continue // being published or removed
		}
		var m thresholds.Manifest
		if err == nil {
			err = json.Unmarshal(raw, &m)
		}
		if err != nil {
			return nil, fmt.Errorf("read draft %s: %w", d.Name(), err)
		}
		out = append(out, Drafted{ContentID: m.ContentID, Version: m.Version, Parent: m.Parent, Created: m.Created,
			Reasons: m.Changes, Dir: folder})
	}
	slices.SortStableFunc(out, func(a, b Drafted) int { return strings.Compare(a.Created, b.Created) })
	return out, nil
}

// FindDraft returns the one draft whose content id starts with name, or the
// newest where name is empty. Otherwise it is an ErrNoDraft.
func FindDraft(dir, name string) (*Drafted, error) {
	all, err := Drafts(dir)
	if err != nil {
		return nil, err
	}
	fit := slices.DeleteFunc(slices.Clone(all), func(d Drafted) bool { return !strings.HasPrefix(d.ContentID, name) })
	switch {
	case len(all) == 0:
		return nil, fmt.Errorf("%w: %s has none; `sill run --draft` makes one", ErrNoDraft, dir)
	case name == "" || len(fit) == 1:
		return &fit[len(fit)-1], nil
	case len(fit) > 1:
		return nil, fmt.Errorf("%w: %d drafts start with %q; give more of the content id", ErrNoDraft, len(fit), name)
	}
	var known []string
	for _, d := range all {
		known = append(known, Short(d.ContentID))
	}
	return nil, fmt.Errorf("%w %q: %s has %s", ErrNoDraft, name, dir, strings.Join(known, ", "))
}

// Short is a content id for people.
func Short(id string) string { return id[:min(len(id), 12)] }

// CommitDraft publishes a draft as it lies there: every file is verified first,
// and only what tells its number is written anew where Options.Bump asks for
// another one: page, provenance, manifest and checksums. Options.Page is needed
// where the draft has a page. A draft whose parent is no longer the newest version is an
// ErrConflict, since what it says of its parent would be wrong.
func CommitDraft(ctx context.Context, o Options, contentID string) (*Committed, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	out, err := commitDraft(ctx, o, contentID)
	if err != nil {
		return nil, fmt.Errorf("publish draft %s: %w", Short(contentID), err)
	}
	return out, nil
}

func commitDraft(ctx context.Context, o Options, contentID string) (*Committed, error) {
	s, err := openStore(o)
	if err != nil {
		return nil, err
	}
	// whoever can take the draft away has it alone
	waiting, taken := s.path(stagingDir, draftPrefix+contentID), s.path(stagingDir, takenPrefix+contentID)
	err = s.disk.rename(waiting, taken)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrExist) {
		if done, _, err := s.alreadyThere(o, contentID); done != nil || err != nil {
			return done, err
		}
		return nil, fmt.Errorf("%w: it is gone, or another process publishes it: see `sill list`", ErrConflict)
	}
	if err != nil {
		return nil, err
	}
	p, err := s.openDraft(taken, contentID, o)
	var out *Committed
	if err == nil && p.page == nil && sumOf(p.m.Outputs, PageFile) != "" {
		err = errors.New("the draft has a page: Options.Page is missing")
	}
	if err == nil {
		out, err = s.settle(ctx, o, p)
	}
	switch {
	case err != nil:
		// what was not put in place waits again
		if back := s.disk.rename(taken, waiting); back != nil && !errors.Is(back, fs.ErrNotExist) {
			err = errors.Join(err, back)
		}
	case out.Unchanged:
		err = s.disk.removeAll(taken)
	}
	return out, err
}

// JudgeDraft says what CommitDraft would do, and fails where it would. It
// changes nothing.
func JudgeDraft(_ context.Context, o Options, contentID string) (*Committed, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	s := &store{o.Dir, o.disk}
	p, err := s.openDraft(s.path(stagingDir, draftPrefix+contentID), contentID, o)
	if err != nil {
		return nil, fmt.Errorf("publish draft %s: %w", Short(contentID), err)
	}
	log, err := s.log()
	if err != nil {
		return nil, err
	}
	releases := thresholds.Releases(log)
	if done := unchanged(o, thresholds.Newest(releases), contentID); done != nil {
		return done, nil
	}
	return s.number(o, p, releases)
}

// openDraft verifies a draft.
func (s *store) openDraft(dir, contentID string, o Options) (*prepared, error) {
	table, err := thresholds.OpenFS(os.DirFS(dir))
	if err != nil {
		return nil, err
	}
	p := &prepared{dir: dir, m: table.Manifest(), page: o.Page}
	if p.m.ContentID != contentID {
		return nil, &thresholds.FileError{File: thresholds.ManifestFile, Msg: "is of content " + p.m.ContentID}
	}
	follows := p.m.Parent
	p.follows = &follows
	late := []string{PageFile, thresholds.ProvenanceFile}
	p.files = slices.DeleteFunc(slices.Clone(p.m.Outputs), func(f thresholds.File) bool { return slices.Contains(late, f.Path) })
	if p.descriptor, err = readDescriptor(table); err != nil {
		return nil, err
	}
	raw, err := table.Bytes(thresholds.ProvenanceFile)
	if err != nil {
		return nil, err
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber() // which keeps every digit
	err = d.Decode(&p.provenance)
	p.provenance.Subject = slices.DeleteFunc(p.provenance.Subject, func(a artifact) bool { return a.Name == PageFile })
	return p, err
}
