package publish

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// renameExclusive moves a folder and fails with fs.ErrExist where the new name
// is taken.
func renameExclusive(from, to string) error {
	err := unix.Renameat2(unix.AT_FDCWD, from, unix.AT_FDCWD, to, unix.RENAME_NOREPLACE)
	if errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EINVAL) {
		return renameFolder(from, to) // a file system without the flag
	}
	if err != nil {
		return &os.LinkError{Op: "rename", Old: from, New: to, Err: err}
	}
	return nil
}
