package locate

import (
	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/stats"
)

// flipP is the p of a flat curve: the first flips, then as many as the family
// needs where the p is small. The stream is that of the curve's name, so that no
// other curve changes it.
func flipP(e *estimate.Estimate, c *estimate.Curve, o Options, most int) float64 {
	k := c.Key
	seed := estimate.StreamKey(e.Options().Seed, "flips", k.Stratum, k.Type.String(), k.Hand.String(), k.Side.String(),
		e.Variables()[c.Variable].Name, outcome.Metrics[c.Metric].Name)
	test := stats.NewFlipTest(c.Table, seed)
	p := test.Run(o.Flips).P
	if p <= extendBelow && most > o.Flips {
		p = test.Run(most).P
	}
	return p
}
