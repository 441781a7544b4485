// Package shape turns a pitch into the shape variables that thresholds are
// sought in: velocity, breaks, approach angles, release and location.
//
// It knows geometry and units, and nothing of outcomes or of statistics.
package shape

import "sill/pipeline/pitch"

// Variable is one quality of a pitch that thresholds are sought in.
type Variable struct {
	Name       string
	Title      string  // for people: "induced vertical break"
	Unit       string  // "mph", "in", "deg", "ft", "rpm", "" for a share
	Width      float64 // default bin width in Unit, a multiple of Quantum
	Quantum    float64 // values are rounded once to whole quanta
	Decimals   int     // digits shown to people
	Definition string  // what exactly is measured, such as "velocity/release/mph"
	// Value returns the quality of p in Unit, NaN where it is unknown. It
	// reads only what Resolve has completed.
	Value func(p *pitch.Pitch) float64
}
