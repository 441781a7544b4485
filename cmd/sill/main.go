// Command sill turns a season of pitch-level Parquet into a versioned table of
// thresholds by handedness matchup, and reads such a table back for people and
// for programs.
//
// It knows flags, streams, words and exit codes; everything else is in the
// packages it calls. Results go to standard output, talk to standard error.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"sill/pipeline/render/terminal"
)

func main() { os.Exit(program()) }

// program runs the command line of this process and returns its exit code. An
// interrupt cancels the context; a second one ends the process at once.
func program() int {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(50) // a season fits in 400 MB, for a twentieth more time
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	return execute(ctx, os.Args[1:], terminal.Process(os.Stdout, os.Stderr, os.Environ()))
}
