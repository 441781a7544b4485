package ingest

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// File is one input file.
type File struct {
	Path string
	// Name is stable: the path relative to the root it was found under, with
	// forward slashes and its key=value folders, so that it does not change
	// with the machine.
	Name string
	// Hive holds the key=value folders of the path. They act as text columns
	// where the file itself has no such column.
	Hive map[string]string
}

// Find returns the Parquet files that the paths name, sorted by name. A path is
// a file, a folder (searched through, hidden folders and files that start with
// a dot or an underscore left out) or a glob pattern. The order of paths does
// not matter, and a file named twice counts once.
func Find(paths []string) ([]File, error) {
	if len(paths) == 0 {
		return nil, errors.New("find input: no path given")
	}
	byPath := map[string]File{}
	add := func(root, path string) error {
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		clean := filepath.Clean(path)
		hive, first := hiveParts(clean)
		name := filepath.ToSlash(rel)
		// A file found from inside a partition keeps its key=value folders.
		if parts := strings.Split(filepath.ToSlash(clean), "/"); first >= 0 && len(parts)-first > strings.Count(name, "/")+1 {
			name = strings.Join(parts[first:], "/")
		}
		if old, ok := byPath[clean]; !ok || len(name) > len(old.Name) {
			byPath[clean] = File{Path: clean, Name: name, Hive: hive}
		}
		return nil
	}
	for _, p := range paths {
		matches := []string{p}
		if _, err := os.Stat(p); err != nil {
			if !errors.Is(err, fs.ErrNotExist) {
				return nil, fmt.Errorf("find input: %w", err)
			}
			var bad error
			if matches, bad = filepath.Glob(p); bad != nil {
				return nil, fmt.Errorf("find input %q: %w", p, bad)
			}
			if len(matches) == 0 {
				return nil, fmt.Errorf("find input %q: no such file or folder, and no file matches it as a pattern", p)
			}
		}
		for _, m := range matches {
			if err := walk(m, add); err != nil {
				return nil, fmt.Errorf("find input: %w", err)
			}
		}
	}
	files := make([]File, 0, len(byPath))
	for _, f := range byPath {
		files = append(files, f)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("find input: no Parquet file under %s (files must end in .parquet or .pq)", strings.Join(paths, ", "))
	}
	sortFiles(files)
	// Two roots may hold files of one relative name: then the path tells them
	// apart.
	count := map[string]int{}
	for _, f := range files {
		count[f.Name]++
	}
	for i := range files {
		if count[files[i].Name] > 1 {
			files[i].Name = filepath.ToSlash(files[i].Path)
		}
	}
	sortFiles(files)
	return files, nil
}

func sortFiles(files []File) {
	slices.SortFunc(files, func(a, b File) int {
		return cmp.Or(strings.Compare(a.Name, b.Name), strings.Compare(a.Path, b.Path))
	})
}

func walk(root string, add func(root, path string) error) error {
	info, err := os.Stat(root)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return add(filepath.Dir(root), root)
	}
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		hidden := path != root && strings.ContainsRune("._", rune(d.Name()[0]))
		switch {
		case d.IsDir() && hidden:
			return filepath.SkipDir
		case d.IsDir() || hidden:
			return nil
		}
		if ext := strings.ToLower(filepath.Ext(path)); ext != ".parquet" && ext != ".pq" {
			return nil
		}
		return add(root, path)
	})
}

// hiveParts returns the key=value folders of a path and the index of the first.
func hiveParts(path string) (map[string]string, int) {
	var hive map[string]string
	first := -1
	parts := strings.Split(filepath.ToSlash(path), "/")
	for i, part := range parts[:len(parts)-1] {
		if k, v, ok := strings.Cut(part, "="); ok && k != "" {
			if hive == nil {
				hive, first = map[string]string{}, i
			}
			hive[k] = v
		}
	}
	return hive, first
}
