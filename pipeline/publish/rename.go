package publish

import (
	"errors"
	"io/fs"
	"os"
	"syscall"
)

// renameFolder is the exclusive rename where the system has none. POSIX
// rename refuses to replace a folder that is not empty, Windows any folder,
// and a version's folder is never empty; so the look beforehand only turns the
// usual case into fs.ErrExist, and no race can lose a version.
func renameFolder(from, to string) error {
	if _, err := os.Lstat(to); err == nil {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: fs.ErrExist}
	}
	err := os.Rename(from, to)
	if errors.Is(err, syscall.ENOTEMPTY) {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: fs.ErrExist}
	}
	return err
}
