package stats

// NewFlipTestOf makes a test from columns of scores by cluster.
var NewFlipTestOf = newFlipTest

// PowerGiven is powerGiven.
var PowerGiven = powerGiven

// Percentile is percentile.
var Percentile = percentile
