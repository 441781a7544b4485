// Package simulate makes clustered data with a known truth and counts how often
// the intervals and tests of package stats are right about it.
//
//	d := simulate.Default(simulate.Mono) // a design: clusters, sizes, x, curve
//	truth := d.Truth(simulate.PooledLine, seed)               // the line and the edges that are right
//	sample := d.Draw(seed, 17)           // data set 17 as tables
//	reports := simulate.Run(d, options)  // many sets, scored against the truth
//
// A cluster may be read as a pitcher, a trial as a pitch, an event as a swing, a
// second cluster as a batter, and a cell as a side of the plate: sizes and
// spreads are those of a season. Nothing here depends on that reading, and
// nothing here reads or writes files.
//
// Every data set has a random stream of its own, keyed by seed and number, so a
// report does not depend on how many run at a time.
package simulate
