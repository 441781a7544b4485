// Package stats estimates ratios of clustered counts along a variable and says
// where they lie above or below a line, with intervals that hold whole clusters
// together.
//
// From counts to zones:
//
//	w := DrawMultinomial(seed, clusters, replicates) // joint draws of clusters
//	c := FitCurve(table, width, w, grid)             // smooth curve and its replicates
//	s := NewSecondWay(c, other)                      // a second kind of cluster, or nil
//	b := c.Against(line, sign, s)                    // advantage over a line, with T
//	e := b.Edges()                                   // confirmed crossings with intervals
//	z := b.Zones(e)                                  // stretches beyond the line
//	p := NewFlipTest(table, seed).Run(9999)          // is there anything at all?
//
// It knows bins, clusters, events and lines. It does not know what is counted,
// does not read or write anything, and starts no goroutines: values are safe
// for concurrent reading, and a Smoother or FlipTest belongs to one goroutine.
// A bad argument panics with a constant message.
package stats

// Algorithm is the version of the estimators of this package: the one of the program in
// which a number of theirs last moved. The studies of stats/calibrate judge it, those of
// whole leagues the program's own.
const Algorithm = "8"
