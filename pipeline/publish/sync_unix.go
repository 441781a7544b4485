//go:build !windows

package publish

import "os"

// syncFolder makes the names in a folder durable.
func syncFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}
