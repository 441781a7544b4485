package thresholds

import "errors"

// What a caller may want to tell apart with errors.Is.
var (
	// ErrIntegrity: a file is missing, changed, or not what its checksum says.
	ErrIntegrity = errors.New("integrity failure")
	// ErrSchema: the version was written by a newer sill whose major schema
	// this package does not know.
	ErrSchema = errors.New("unknown schema")
	// ErrDefinition: a variable is defined otherwise than the caller expects.
	ErrDefinition = errors.New("definition mismatch")
	// ErrNoVersion: the store holds no such version.
	ErrNoVersion = errors.New("no such version")
)

// FileError names the file of a version or store that failed a check. It is an
// ErrIntegrity.
type FileError struct {
	File string // slash path inside the opened folder
	Msg  string
}

// Error returns "verify FILE: message".
func (e *FileError) Error() string { return "verify " + e.File + ": " + e.Msg }

// Unwrap returns ErrIntegrity.
func (e *FileError) Unwrap() error { return ErrIntegrity }
