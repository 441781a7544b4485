package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"syscall"

	"sill/pipeline"
	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/publish"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// The exit codes, for scripts.
const (
	exitOK          = 0
	exitFailure     = 1
	exitUsage       = 2 // usage or configuration
	exitData        = 3 // input data invalid
	exitIntegrity   = 4 // a published file is not what its checksum says, or not made again
	exitConflict    = 5 // version conflict or breaking change
	exitNo          = 6 // the verdict asked for with --gate is no
	exitInterrupted = 130
)

// usageError is a fault of the command line or of the configuration.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

// usagef returns a usageError.
func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errNo says that a gate asked for with --gate stays shut.
var errNo = errors.New("verdict is no")

// unknown reports a word that is not among the known ones, with the nearest of
// them, or all where none is near.
func unknown(what, word string, known []string) error {
	if len(known) == 0 {
		return usagef("unknown %s %q: there is none here", what, word)
	}
	if near := near(word, known); near != "" {
		return usagef("unknown %s %q (did you mean %q?)", what, word, near)
	}
	return usagef("unknown %s %q (known: %s)", what, word, words.Commas(known))
}

// tradeWords are words that people of the trade use for ours.
var tradeWords = map[string]string{
	"speed": "velocity", "velo": "velocity", "rise": "induced_vertical_break", "run": "horizontal_break",
	"sweep": "horizontal_break", "approach_angle": "vertical_approach_angle", "spin": "spin_rate",
	"height": "plate_height", "fastball": "four_seam", "curve": "curveball", "misses": "whiff_rate",
}

// near returns the known word that is most likely meant: what the trade's word
// stands for, the only one that holds it as a part, or the nearest in spelling; ""
// where none is near.
func near(word string, known []string) string {
	folded := fold(word)
	if w := tradeWords[folded]; slices.Contains(known, w) {
		return w
	}
	var holding []string
	for _, k := range known {
		if len(folded) > 2 && strings.Contains(k, strings.TrimSuffix(folded, "s")) {
			holding = append(holding, k)
		}
	}
	if len(holding) == 1 {
		return holding[0]
	}
	return pitch.Nearest(word, known)
}

// exitCode is the one place where errors become exit codes.
func exitCode(err error) int {
	var usage usageError
	var file *ingest.FileError
	switch {
	case err == nil, errors.Is(err, syscall.EPIPE): // the reader of our output has seen enough
		return exitOK
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.Is(err, errNo):
		return exitNo
	case errors.As(err, &file), errors.Is(err, ingest.ErrTooManyRejects), errors.Is(err, ingest.ErrNothingInScope):
		return exitData
	case errors.As(err, &usage), errors.Is(err, pipeline.ErrProfile), errors.Is(err, pipeline.ErrStratum):
		return exitUsage
	case errors.Is(err, thresholds.ErrIntegrity), errors.Is(err, errDiffers):
		return exitIntegrity
	case errors.Is(err, publish.ErrConflict), errors.Is(err, publish.ErrBump),
		errors.Is(err, thresholds.ErrSchema), errors.Is(err, thresholds.ErrDefinition):
		return exitConflict
	}
	return exitFailure
}
