package estimate

import (
	"math"

	"sill/pipeline/outcome"
	"sill/stats"
)

// fit fits the curve and its joint replicates.
func (e *Estimate) fit(c *Curve) {
	v := e.tally.Variables[c.Variable]
	c.Fit = stats.FitCurve(c.Table, v.Width(), e.pitchers[c.Key.Hand].weights, e.grid)
	if c.ByBatter != nil {
		c.Second = stats.NewSecondWay(c.Fit, c.ByBatter)
	}
	for i := range c.Bins {
		if b := &c.Bins[i]; b.Node >= 0 && !b.Thin {
			b.BootLo, b.BootHi = c.Fit.BootLo[b.Node], c.Fit.BootHi[b.Node]
		}
	}
}

// intervals gives the bins that are not thin their rates and limits, over
// pitchers and batters.
func (e *Estimate) intervals(c *Curve) {
	kind := stats.Mean
	if c.Outcome().Proportion {
		kind = stats.Proportion
	}
	for i := range c.Bins {
		b := &c.Bins[i]
		if b.Node < 0 || b.Thin {
			continue
		}
		s := c.Table.Bin(b.Node, kind, c.ByBatter)
		b.Rate, b.Lo, b.Hi = s.Rate, s.Lo, s.Hi
	}
}

// Outcome is the metric of the curve.
func (c *Curve) Outcome() *outcome.Metric { return &outcome.Metrics[c.Metric] }

// Sign is +1 where more of the outcome is good for the pitcher, −1 where less
// is.
func (c *Curve) Sign() float64 { return float64(c.Outcome().Sign) }

// Against returns the advantage of a fitted curve over a line.
func (c *Curve) Against(l *Line) *stats.Band {
	return c.Fit.Against(l.Stats(), c.Sign(), c.Second)
}

var nan = math.NaN()
