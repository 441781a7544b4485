package estimate

import "sill/stats"

// Slopes sets the slope of a curve's outcome on its variable inside pitchers
// against that between them, in the outcome per unit. Each pitcher's events in a
// bin count as one row at their own mean. Batters do not count as clusters: a
// slope compares events of one side with each other, to which the same batters
// come. The error is stats.ErrNoSpread.
func (e *Estimate) Slopes(c *Curve) (stats.Slopes, error) {
	var x, y, weight []float64
	var pitcher []int
	v := e.tally.Variables[c.Variable]
	for _, t := range e.cell(c.Key).tables {
		curve := &t.Curves[c.Variable]
		for i := curve.Known(); i < len(curve.Bins); i++ {
			rows := curve.Bin(i)
			for k := range rows {
				n, sum, _ := rows[k].Values(c.Metric, &e.scoring)
				if n == 0 {
					continue
				}
				d, _ := rows[k].Offsets(c.Metric)
				x = append(x, v.Mean(curve.Bins[i], n, d))
				y = append(y, sum/float64(n))
				weight = append(weight, float64(n))
				pitcher = append(pitcher, int(rows[k].Cluster))
			}
		}
	}
	return stats.WithinBetween(x, y, weight, pitcher)
}
