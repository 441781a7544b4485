//go:build unix

package main

import (
	"time"

	"golang.org/x/sys/unix"
)

// processorSeconds is how long the program has kept processors busy.
func processorSeconds() float64 {
	var u unix.Rusage
	if unix.Getrusage(unix.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return (time.Duration(u.Utime.Nano()) + time.Duration(u.Stime.Nano())).Seconds()
}
