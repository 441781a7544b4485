package stats

// NewFlipTestOf makes a test from columns of scores by cluster.
var NewFlipTestOf = newFlipTest

// PowerGiven is powerGiven.
var PowerGiven = powerGiven

// Percentile is percentile.
var Percentile = percentile

// MonotoneRatio is monotoneRatio.
var MonotoneRatio = monotoneRatio

// SetTable gives a made-up curve the table it would have come from.
func (c *Curve) SetTable(t *Table) { c.table = t }

// Table is the table of the curve.
func (c *Curve) Table() *Table { return c.table }

// Effect is effect.
func (b *Band) Effect(x, reach float64) float64 { return b.effect(x, reach) }
