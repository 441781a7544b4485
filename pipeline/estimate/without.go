package estimate

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
	"sill/stats"
)

// Dependence says how an edge depends on single pitchers. It names none.
type Dependence struct {
	LargestShare float64 // of one pitcher in the events of the two nodes around the edge
	// Without is where the edge lies when the pitcher who draws it most is left
	// out of curve and line; NaN where it is gone.
	Without float64
}

// Depend tells how an edge against a line depends on single pitchers. The one who
// draws it most has the largest |score| of the advantage there: that of the curve
// (stats.Influence) less his part in the line, which is 0 in a median. The curve is
// then fitted without him, λ chosen anew, and the line taken without him; the edge
// is the nearest crossing of the same direction. Panics on a curve without a fit.
func (e *Estimate) Depend(c *Curve, l *Line, edge stats.Edge) Dependence {
	if c.influence == nil {
		c.influence = stats.NewInfluence(c.Fit, c.Table)
	}
	d := Dependence{LargestShare: c.influence.LargestShare(edge.X), Without: nan}
	top, most := -1, 0.0
	for g, s := range c.influence.Scores(edge.X) {
		if s = math.Abs(s - l.score(c.Key.Hand, g)); s > most {
			top, most = g, s
		}
	}
	if top < 0 {
		return d
	}
	rest := c.Table.Without(top)
	if rest.Bins() < 2 {
		return d
	}
	fit := stats.FitPoint(rest, e.tally.Variables[c.Variable].Width(), e.grid)
	d.Without = fit.Crossing(l.without(c.Key.Hand, top), c.Sign(), edge.Up, edge.X)
	return d
}

// score is a pitcher's part in the line, (Y − m·N)/ΣN for a pooled rate.
func (l *Line) score(hand pitch.Hand, g int) float64 {
	if l.pool == nil || l.sorted != nil {
		return 0
	}
	return (l.pool.y[hand][g] - float64(l.Value*float64(l.pool.n[hand][g]))) / float64(l.Events)
}

// without is the value of the line without a pitcher; NaN where none is left.
func (l *Line) without(hand pitch.Hand, g int) float64 {
	switch {
	case l.pool == nil:
		return l.Value
	case l.sorted != nil:
		var rates []float64
		for _, m := range l.sorted {
			if m.hand != hand || int(m.i) != g {
				rates = append(rates, m.rate)
			}
		}
		m, _ := stats.WeightedMedian(rates, slices.Repeat([]uint8{1}, len(rates)))
		return m
	}
	var n, y float64
	for h := range l.pool.n {
		for i, k := range l.pool.n[h] {
			if pitch.Hand(h) != hand || i != g {
				n += float64(k)
				y += l.pool.y[h][i]
			}
		}
	}
	return y / n
}
