//go:build !unix

package main

// processorSeconds is how long the program has kept processors busy: not known here.
func processorSeconds() float64 { return 0 }
