package pipeline

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"sill/pipeline/ingest"
	"sill/pipeline/publish"
	"sill/pipeline/thresholds"
)

// Reproduced is what making a version again came to.
type Reproduced struct {
	Differences []publish.Difference
	Files       int // compared
}

// Reproduce makes a published version again, in a temporary folder, from the
// restored options o (see config.Restore), whose inputs must be the version's, and
// holds every file against the published one. The store in dir is only read.
// Inputs that are missing, changed or too many are ingest.FileErrors.
func Reproduce(ctx context.Context, dir, version string, o Options) (*Reproduced, error) {
	log, err := thresholds.ReadLog(os.DirFS(dir))
	if err != nil {
		return nil, err
	}
	releases := thresholds.Releases(log)
	at := slices.IndexFunc(releases, func(r thresholds.Release) bool { return r.Version == version })
	if at < 0 {
		return nil, fmt.Errorf("reproduce %s: %w", version, thresholds.ErrNoVersion)
	}
	r := releases[at]
	table, err := thresholds.OpenFS(os.DirFS(dir), thresholds.WithVersion(version), thresholds.WithRetracted())
	if err != nil {
		return nil, err
	}
	m := table.Manifest()
	if err := sameInputs(ctx, o.Inputs, m.Inputs); err != nil {
		return nil, err
	}
	temporary, err := os.MkdirTemp("", "sill-reproduce-")
	if err != nil {
		return nil, err
	}
	defer removeSealed(temporary)
	if err := publish.Before(dir, r, filepath.Join(temporary, o.League)); err != nil {
		return nil, fmt.Errorf("reproduce %s: %w", version, err)
	}
	o.Output, o.Bump, o.Host = temporary, publish.StepTo(releases, r), m.Host
	if o.Created, err = time.Parse(time.RFC3339, m.Created); err != nil {
		return nil, fmt.Errorf("reproduce %s: %w", version, err)
	}
	made, err := Run(ctx, o)
	if err != nil {
		return nil, err
	}
	var out Reproduced
	out.Differences, out.Files, err = publish.Differences(filepath.Join(dir, version), made.Dir)
	return &out, err
}

// removeSealed removes a folder that holds published versions.
func removeSealed(dir string) {
	_ = filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			return os.Chmod(name, 0o700)
		}
		return nil
	})
	_ = os.RemoveAll(dir) // what is left is the system's temporary folder's
}

const inputFix = "name the version's own files with --input"

// sameInputs demands that the paths hold exactly the files that a version was
// made from, by name and content. It tells of every file at fault.
func sameInputs(ctx context.Context, paths []string, want []thresholds.Input) error {
	fault := func(name, msg string, err error) error {
		return &ingest.FileError{File: name, RowGroup: -1, Msg: msg, Fix: inputFix, Err: err}
	}
	files, err := ingest.Find(paths)
	if err != nil {
		return fault(cmp.Or(strings.Join(paths, ", "), "inputs"), "the version was made from it", err)
	}
	found := map[string]string{}
	for _, f := range files {
		found[f.Name] = f.Path
	}
	var faults []error
	for _, in := range want {
		path, ok := found[in.Name]
		delete(found, in.Name)
		if !ok {
			faults = append(faults, fault(in.Name, "the version was made from it and it is not there", nil))
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if sum, err := sumOf(path); err != nil {
			faults = append(faults, fault(in.Name, "cannot be read", err))
		} else if sum != in.SHA256 {
			faults = append(faults, fault(in.Name, "has changed since the version was made from it: sha256 was "+in.SHA256+", is "+sum, nil))
		}
	}
	for _, f := range files {
		if _, extra := found[f.Name]; extra {
			faults = append(faults, fault(f.Name, "the version was not made from it", nil))
		}
	}
	return errors.Join(faults...)
}

func sumOf(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
