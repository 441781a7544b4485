package calibrate

import (
	"errors"
	"math"

	"sill/stats"
)

// Curve is the rate at z, the distance from the centre of x in units in which x
// has a standard deviation of Spread. Cluster effects come on top, on the logit
// scale.
type Curve struct {
	Name string
	At   func(z float64) float64
}

// Spread is the standard deviation of x, in the units of z: that of velocity
// among pitches, with 2 mph between pitchers and .8 within.
var Spread = math.Hypot(2, .8)

// wide is how many mph one unit of z is under WideLike.
var wide = WideLike.scale()

func square(x float64) float64 { return x * x }

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// The shapes, with rates as of whiffs per swing.
var (
	// Mono rises smoothly from .19 to .31.
	Mono = Curve{"mono", func(z float64) float64 { return .19 + .12*logistic(.8*z) }}
	// Tick is flat, then rises.
	Tick = Curve{"tick", func(z float64) float64 { return .225 + .026*max(0, z-.5) }}
	// Two is good at both ends.
	Two = Curve{"two", func(z float64) float64 { return .20 + .14*(logistic(2*(z-2))+logistic(-2*(z+2))) }}
	// Band is good between two edges.
	Band = Curve{"band", func(z float64) float64 { return .20 + .12*(logistic(2*(z+1.5))-logistic(2*(z-1.5))) }}
	// Plateau is flat, .006 below the line that it makes, rises steeply by a quarter
	// over 1.5 and is flat again.
	Plateau = Curve{"plateau", func(z float64) float64 { return logistic(-1.18 + .20*max(0, min(1.5, z-2))) }}
	// Jump is a step, Ramp a short steep rise between two flats.
	Jump = Curve{"jump", func(z float64) float64 {
		if z >= .7 {
			return logistic(-.9)
		}
		return logistic(-1.35)
	}}
	Ramp = Curve{"ramp", func(z float64) float64 { return logistic(-1.35 + .225*max(0, min(2, z+.8))) }}
	// U is good at both ends, FaintU less so; Hump is good in the middle. Dip rises
	// with a dent in its upper part. U and FaintU are meant for WideLike.
	U      = Curve{"U", func(z float64) float64 { return logistic(-1.45 + .055*square(.5+wide*z)) }}
	FaintU = Curve{"faint U", func(z float64) float64 { return logistic(-1.3 + .025*square(1+wide*z)) }}
	Hump   = Curve{"hump", func(z float64) float64 { return logistic(-.95 - .045*square(z-1.5)) }}
	Dip    = Curve{"dip", func(z float64) float64 {
		return logistic(-1.3 + .14*(z+1) - .25*math.Exp(-square(z-3)) + .2*math.Exp(-square(z+3)))
	}}
	// Null is flat.
	Null = Curve{"null", func(float64) float64 { return .25 }}
)

// Law is how x varies: a normal mean for each cluster about Centre, and normal
// values about that mean.
type Law struct {
	Centre, Between, Within float64 // centre and standard deviations, in units of x
	Width                   float64 // of a bin
}

// scale is how many units of x one unit of a curve's z is.
func (l Law) scale() float64 { return l.spread() / Spread }

// spread is the standard deviation of x over events.
func (l Law) spread() float64 { return math.Sqrt(l.Between*l.Between + l.Within*l.Within) }

// The laws: like the velocity of pitches (mph) and their approach angle (degrees).
var (
	VelocityLike = Law{Centre: 93, Between: 2, Within: .8, Width: 1}
	WideLike     = Law{Centre: 93, Between: 2, Within: 1.2, Width: 1} // velocity that varies more within
	AngleLike    = Law{Centre: -5, Between: .5, Within: .7, Width: .25}
)

// Cell is one of the tables of a data set. All cells share the clusters.
type Cell struct {
	Curve Curve
	Share float64 // chance that a trial belongs to the cell; all add up to 1
	Shift float64 // added to the logit of the curve
}

// Design is a law of data sets.
type Design struct {
	Cells []Cell
	X     Law
	Kind  stats.Kind // Proportion: an event counts 0 or 1; Mean: 0 or a run value
	// Clusters have clip(exp(N(ln SizeMedian, SizeLogSD)), SizeMin, SizeMax)
	// trials, each an event with chance EventShare.
	Clusters                                int
	SizeMedian, SizeLogSD, SizeMin, SizeMax float64
	EventShare                              float64
	// ClusterSD is the spread of cluster effects on the logit scale, Workload
	// their correlation with the logarithm of the size.
	ClusterSD, Workload float64
	// Bystanders are clusters that are drawn with the others but have no events.
	Bystanders int
	// Second clusters meet every trial at random, in proportion to weights
	// exp(N(0, .8)); SecondSD is the spread of their effects on the logit scale.
	Second   int
	SecondSD float64
	// SecondByCell gives each cell as many second clusters of its own: batters who
	// stand on either side of the plate.
	SecondByCell bool
	// Qualified is how many events of all cells a cluster needs to count toward
	// the median line.
	Qualified float64
}

// Default is the design of the first study: 120 clusters, one cell.
func Default(c Curve) Design {
	return Design{
		Cells: []Cell{{Curve: c, Share: 1}}, X: VelocityLike,
		Clusters: 120, SizeMedian: 150, SizeLogSD: 1.1, SizeMin: 10, SizeMax: 1500,
		EventShare: .48, ClusterSD: .25, Qualified: 25,
	}
}

// RunValues is Default for mean values: a quarter of the trials are events, and
// an event is 0 or one of the run values of getting on base.
func RunValues(c Curve) Design {
	d := Default(c)
	d.Kind, d.EventShare, d.Clusters = stats.Mean, .26, 300
	return d
}

// faults gathers what is wrong with a design or a league.
type faults []error

func (f *faults) add(bad bool, what string) {
	if bad {
		*f = append(*f, errors.New("calibrate: "+what))
	}
}

// Validate names every fault of the design.
func (d Design) Validate() error {
	var found faults
	add := found.add
	share := 0.0
	for _, c := range d.Cells {
		share += c.Share
		add(c.Curve.At == nil, "a cell has no curve")
		add(!(c.Share > 0), "a cell's share must be above 0")
	}
	add(math.Abs(share-1) > 1e-9, "the cells' shares must add up to 1")
	add(!(d.X.Between >= 0 && d.X.Within > 0 && d.X.Width > 0), "x needs spread and a bin width")
	add(d.Clusters < 2, "at least 2 clusters are needed")
	add(d.Bystanders < 0, "bystanders must not be negative")
	add(!(d.SizeMin >= 1 && d.SizeMedian > 0 && d.SizeMax >= d.SizeMin && d.SizeLogSD >= 0), "sizes must be at least 1")
	add(!(d.EventShare > 0 && d.EventShare <= 1), "the share of events must lie in (0, 1]")
	add(!(d.ClusterSD >= 0 && d.SecondSD >= 0), "spreads must not be negative")
	add(!(math.Abs(d.Workload) <= 1), "the correlation with workload must lie in [-1, 1]")
	add(d.Second < 0 || d.Second == 1, "second clusters must be none or at least 2")
	return errors.Join(found...)
}

// runValues are what an event that counts is worth, and how often: The Book
// (2007), weights from memory; shares of a season, common practice, no source.
var runValues = []struct{ value, share float64 }{
	{.72, .27}, {.90, .46}, {1.24, .14}, {1.56, .01}, {1.95, .12},
}

// worth is the mean of runValues.
func worth() float64 {
	sum := 0.0
	for _, v := range runValues {
		sum += v.share * v.value
	}
	return sum
}

// odds returns the odds that an event of the cell at x counts, without effects.
func (d Design) odds(c Cell) func(x float64) float64 {
	scale, shift, mean := d.X.scale(), math.Exp(c.Shift), d.Kind == stats.Mean
	return func(x float64) float64 {
		p := c.Curve.At((x - d.X.Centre) / scale)
		if mean {
			p = (.32 + .6*(p-.25)) / worth()
		}
		return p / (1 - p) * shift
	}
}

// curves returns the odds of every cell.
func (d Design) curves() []func(x float64) float64 {
	var out []func(float64) float64
	for _, c := range d.Cells {
		out = append(out, d.odds(c))
	}
	return out
}

// unit is what an event that counts is worth on average.
func (d Design) unit() float64 {
	if d.Kind == stats.Mean {
		return worth()
	}
	return 1
}

// Sign is +1 for proportions, of which more is better, and −1 for run values.
func (d Design) Sign() float64 {
	if d.Kind == stats.Mean {
		return -1
	}
	return 1
}
