package publish

import (
	"fmt"
	"os"
	"path/filepath"

	"sill/pipeline/thresholds"
)

// Handover reads the tally file that a store keeps under a sha256. Where it is
// not kept the error is fs.ErrNotExist, where it is another file now
// thresholds.ErrIntegrity.
func Handover(dir, sum string) ([]byte, error) {
	if !plainName.MatchString(sum) {
		return nil, fmt.Errorf("read hand-over: %q is no sha256", sum)
	}
	b, err := os.ReadFile(filepath.Join(dir, handoverDir, sum))
	if err != nil {
		return nil, fmt.Errorf("read hand-over: %w", err)
	}
	if hashOf(b) != sum {
		return nil, fmt.Errorf("read hand-over: %w: %s is not what its name says; remove it to compare without it",
			thresholds.ErrIntegrity, filepath.Join(dir, handoverDir, sum))
	}
	return b, nil
}
