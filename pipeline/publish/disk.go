package publish

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"sill/pipeline/thresholds"
)

// disk does every change of the file system, one method a step. A test may
// make any step fail, or all from one step on, as a crash does.
type disk struct {
	fault func(step, path string) error
	fast  bool // leaves out the syncs themselves, which only a power cut would miss
}

func (d disk) step(name, path string) error {
	if d.fault == nil {
		return nil
	}
	return d.fault(name, path)
}

// do takes a step.
func (d disk) do(name, path string, act func() error) error {
	if err := d.step(name, path); err != nil {
		return err
	}
	return act()
}

// sync is do for what a fast disk leaves out.
func (d disk) sync(name, path string, act func() error) error {
	return d.do(name, path, func() error {
		if d.fast {
			return nil
		}
		return act()
	})
}

// folder makes one folder if it is absent and refuses a link in its place.
func (d disk) folder(path string) error {
	return d.do("mkdir", path, func() error {
		if err := os.Mkdir(path, 0o755); err != nil && !os.IsExist(err) {
			return err
		}
		return checkFolder(path)
	})
}

// create writes a new read-only file and syncs it; the name must be free.
func (d disk) create(path string, write func(io.Writer) error) (file thresholds.File, err error) {
	if err := d.step("create", path); err != nil {
		return file, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o444)
	if err != nil {
		return file, err
	}
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	sum := sha256.New()
	count := &offset{Writer: io.MultiWriter(faulty{f, d, path}, sum)}
	out := bufio.NewWriterSize(count, 1<<16)
	if err := write(out); err != nil {
		return file, err
	}
	if err := out.Flush(); err != nil {
		return file, err
	}
	if err := d.sync("sync", path, f.Sync); err != nil {
		return file, err
	}
	return thresholds.File{Path: filepath.Base(path), Bytes: count.n, SHA256: hex.EncodeToString(sum.Sum(nil))}, nil
}

func (d disk) createBytes(path string, b []byte) (thresholds.File, error) {
	return d.create(path, func(w io.Writer) error {
		_, err := w.Write(b)
		return err
	})
}

// faulty writes half of what it is given before a fault, as a full disk does.
type faulty struct {
	w    io.Writer
	d    disk
	path string
}

func (f faulty) Write(b []byte) (int, error) {
	if err := f.d.step("write", f.path); err != nil {
		n, _ := f.w.Write(b[:len(b)/2])
		return n, err
	}
	return f.w.Write(b)
}

// rename moves a folder to a name that must be free (fs.ErrExist otherwise).
func (d disk) rename(from, to string) error {
	return d.do("rename", to, func() error { return renameExclusive(from, to) })
}

// replace puts a file in place of another at once.
func (d disk) replace(from, to string) error {
	return d.do("replace", to, func() error { return os.Rename(from, to) })
}

// link gives a file a second name that must be free (fs.ErrExist otherwise).
func (d disk) link(from, to string) error {
	return d.do("link", to, func() error { return os.Link(from, to) })
}

func (d disk) remove(path string) error {
	return d.do("remove", path, func() error { return os.Remove(path) })
}

// removeAll removes a folder, sealed or not.
func (d disk) removeAll(path string) error {
	return d.do("remove", path, func() error {
		if err := modeOfFolders(path, 0o755); err != nil && !os.IsNotExist(err) {
			return err
		}
		return os.RemoveAll(path)
	})
}

// seal makes a folder and those in it read-only.
func (d disk) seal(path string) error {
	return d.do("chmod", path, func() error { return modeOfFolders(path, 0o555) })
}

// modeOfFolders sets the mode of a folder, then of the folders in it. A link is
// not followed.
func modeOfFolders(path string, mode fs.FileMode) error {
	return filepath.WalkDir(path, func(name string, entry fs.DirEntry, err error) error {
		if err != nil || !entry.IsDir() {
			return err
		}
		return os.Chmod(name, mode)
	})
}

// syncFolder makes the names in a folder durable.
func (d disk) syncFolder(path string) error {
	return d.sync("sync folder", path, func() error { return syncFolder(path) })
}

// probe finds out, before anything is written, whether the file system has what
// the protocol needs: a second name for a file that fails where it is taken. A
// system without an exclusive rename is no hindrance (see renameFolder).
func (d disk) probe(dir string) error {
	file, second := filepath.Join(dir, "probe"), filepath.Join(dir, "probe-link")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		return err
	}
	err := d.step("probe", file)
	if err == nil {
		err = os.Link(file, second)
	}
	if err != nil {
		return fmt.Errorf("%w: %w; name another output folder", ErrFileSystem, err)
	}
	if err := os.Link(file, second); !errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w: a taken name was given twice (%w); name another output folder", ErrFileSystem, err)
	}
	return errors.Join(os.Remove(file), os.Remove(second))
}
