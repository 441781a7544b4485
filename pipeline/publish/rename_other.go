//go:build !linux && !darwin

package publish

// renameExclusive moves a folder and fails with fs.ErrExist where the new name
// is taken.
func renameExclusive(from, to string) error { return renameFolder(from, to) }
