package simulate

import (
	"errors"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

// Options say how data sets are judged.
type Options struct {
	Sets, Replicates, Flips int
	Workers                 int // sets judged at a time, by Run
	Seed                    uint64
	// References are the lines that every set is judged against.
	References []Reference
	// MinEvents and MinClusters make an open end bin.
	MinEvents   float64
	MinClusters int
	// Level is the p-value below which a curve is taken not to be flat.
	Level float64
	// OneWay leaves the second clusters out of every variance.
	OneWay bool
	// Cells are judged, the first so many; the others only make the line. 0: all.
	Cells int
	// Spoil, where not nil, changes a set and its draws before they are used: with
	// it a test sees that reports notice what is wrong with an interval.
	Spoil func(*Sample, *stats.Weights) *stats.Weights
}

// DefaultOptions are those of the published bars, at fewer replicates.
func DefaultOptions() Options {
	return Options{Sets: 200, Replicates: 300, Flips: 499, Workers: 1, Seed: 1,
		References: []Reference{PooledLine}, MinEvents: 50, MinClusters: 5, Level: .05}
}

// Validate names every fault of the options.
func (o Options) Validate() error {
	var faults []error
	add := func(bad bool, what string) {
		if bad {
			faults = append(faults, errors.New("simulate: "+what))
		}
	}
	add(o.Sets < 1 || o.Replicates < 2 || o.Flips < 1 || o.Workers < 1, "sets, replicates, flips and workers must be positive")
	add(len(o.References) == 0 || slices.ContainsFunc(o.References, func(r Reference) bool { return r != MedianLine && r != PooledLine }),
		"the references must be the median or the pooled line")
	add(!(o.Level > 0 && o.Level < 1), "the level must lie between 0 and 1")
	add(o.Cells < 0, "the number of judged cells must not be negative")
	return errors.Join(faults...)
}

// Judge scores data sets of one design against its truth. It is safe for
// concurrent use.
type Judge struct {
	design Design
	o      Options
	truths []*Truth // by reference
	cells  int
}

// NewJudge works out the truth. Panics on a design or options that Validate
// refuses.
func NewJudge(d Design, o Options) *Judge {
	if o.Validate() != nil {
		panic("simulate: NewJudge needs valid options")
	}
	j := &Judge{design: d, o: o, cells: len(d.Cells)}
	if o.Cells > 0 {
		j.cells = min(j.cells, o.Cells)
	}
	for _, r := range o.References {
		j.truths = append(j.truths, d.Truth(r, o.Seed))
	}
	return j
}

// Run draws and judges data sets 0 … Sets−1 and returns a report for each
// reference. Panics on a design or options that Validate refuses.
func Run(d Design, o Options) []*Report {
	j := NewJudge(d, o)
	outcomes := make([]*Outcome, o.Sets)
	var wait sync.WaitGroup
	for w := range o.Workers {
		wait.Go(func() {
			for i := w; i < o.Sets; i += o.Workers {
				outcomes[i] = j.Set(i)
			}
		})
	}
	wait.Wait()
	return j.Report(outcomes)
}

// Outcome is what one data set gave.
type Outcome struct {
	cells []cellOutcome
	lines []lineOutcome // by reference
}

// cellOutcome is what a curve gave, whatever the line.
type cellOutcome struct {
	p     float64
	level float64 // share of the central nodes whose interval holds the truth
	bins  [classes]Share
}

// lineOutcome is what a line and the curves against it gave.
type lineOutcome struct {
	value, half float64
	cells       []against
}

type against struct {
	edges      []stats.Edge
	plain      []stats.Edge // the same with the limits of the band itself
	advantage  float64      // share of the central nodes whose interval holds the truth
	se         float64      // mean over the central nodes
	throughout int
	everywhere bool
	wrong      bool // throughout is not true at one of its nodes
	touching   int  // throughout, at every node whose bin touches the central 90 %
	overall    int
}

// Set takes data set number through the engine.
func (j *Judge) Set(number int) *Outcome {
	d, o := j.design, j.o
	sample := d.Draw(o.Seed, number)
	weights := stats.DrawMultinomial(Key(o.Seed, "weights", number), len(sample.Events), o.Replicates)
	if o.Spoil != nil {
		weights = o.Spoil(sample, weights)
	}
	out := &Outcome{}
	var lines []stats.Line
	for _, r := range o.References {
		line := d.line(r, sample, weights)
		if !o.OneWay {
			line.Second = stats.NewLineSecond(sample.SecondEvents, sample.SecondSums, sample.squared)
		}
		lines = append(lines, line)
		active, df := d.support(r, sample)
		v := stat.Variance(line.Rep, nil)*active/(active-1) + line.Second.Own()
		out.lines = append(out.lines, lineOutcome{value: line.Value, half: stats.TQuantile(.975, df) * math.Sqrt(v)})
	}
	grid := stats.LambdaGrid(2)
	for c, table := range sample.Tables[:j.cells] {
		var second *stats.Table
		if sample.Second != nil && !o.OneWay {
			second = sample.Second[c]
		}
		if first, last, ok := table.EndBins(o.MinEvents, o.MinClusters); ok {
			table = table.Merge(first, last)
			if second != nil {
				second = second.Merge(first, last)
			}
		}
		curve := stats.FitCurve(table, d.X.Width, weights, grid)
		var way *stats.SecondWay
		if second != nil {
			way = stats.NewSecondWay(curve, second)
		}
		central := centralNodes(curve)
		covered := func(b *stats.Band, truth func(x float64) float64) (share, se float64) {
			for _, i := range central {
				at := i * stats.Substeps
				if math.Abs(b.D[at]-truth(b.X[at])) <= b.Crit*b.SE[at] {
					share++
				}
				se += b.SE[at]
			}
			return share / float64(len(central)), se / float64(len(central))
		}
		cell := cellOutcome{p: stats.NewFlipTest(table, Key(o.Seed, "flips", number*len(sample.Tables)+c)).Run(o.Flips).P}
		// Against a line of 0 without error the band is the curve itself.
		cell.level, _ = covered(curve.Against(stats.Line{}, 1, way), func(x float64) float64 { return j.truths[0].At(c, x) })
		for b := 1; b < table.Bins()-1; b++ {
			bin := table.Bin(b, d.Kind, second)
			if bin.N >= o.MinEvents && bin.Clusters >= o.MinClusters {
				truth := j.truths[0].At(c, table.X[b])
				cell.bins[class(bin.Effective)].Add(bin.Lo <= truth && truth <= bin.Hi)
			}
		}
		out.cells = append(out.cells, cell)
		for r, line := range lines {
			truth := j.truths[r]
			band := curve.Against(line, d.Sign(), way)
			a := against{edges: band.Edges().Confirmed, plain: band.EdgesAt(band.Crit).Confirmed, overall: curve.Level(line, d.Sign(), way).Verdict}
			a.throughout, a.everywhere = band.Throughout()
			a.touching = touching(band)
			advantage := func(x float64) float64 { return d.Sign() * (truth.At(c, x) - truth.Line) }
			a.advantage, a.se = covered(band, advantage)
			for _, i := range central {
				a.wrong = a.wrong || a.throughout != 0 && float64(a.throughout)*advantage(curve.X[i]) <= 1e-9
			}
			out.lines[r].cells = append(out.lines[r].cells, a)
		}
	}
	return out
}

// centralNodes lists the nodes with 5 to 95 % of events below, half their own
// counted.
func centralNodes(c *stats.Curve) []int {
	var out []int
	sum, total := 0.0, 0.0
	for _, n := range c.N {
		total += n
	}
	for b, n := range c.N {
		if mid := (sum + n/2) / total; mid >= .05 && mid <= .95 {
			out = append(out, b)
		}
		sum += n
	}
	return out
}

// touching is Band.Throughout at every node whose bin holds any of the central 90 %
// of events, instead of those whose middle lies there.
func touching(b *stats.Band) int {
	below, total, sign := 0.0, 0.0, 0
	for _, n := range b.Curve.N {
		total += n
	}
	for i, n := range b.Curve.N {
		if below+n > .05*total && below < .95*total {
			s := 0
			if t := b.T[i*stats.Substeps]; t > b.Crit {
				s = 1
			} else if t < -b.Crit {
				s = -1
			}
			if s == 0 || sign == -s {
				return 0
			}
			sign = s
		}
		below += n
	}
	return sign
}

// support counts the clusters with an event and gives a line's degrees of freedom.
func (d Design) support(r Reference, s *Sample) (active, df float64) {
	qualified := 0.0
	for _, n := range s.Events {
		if n > 0 {
			active++
		}
		if n >= d.Qualified {
			qualified++
		}
	}
	if r == MedianLine {
		return active, max(1, qualified-1)
	}
	return active, max(1, stats.EffectiveNumber(s.Events)-1)
}

// line returns a reference and its joint replicates.
func (d Design) line(r Reference, s *Sample, w *stats.Weights) stats.Line {
	line := stats.Line{Rep: make([]float64, w.Replicates)}
	if r == PooledLine {
		pooled := func(count func(p int) float64) float64 {
			var n, y float64
			for p := range s.Events {
				n += count(p) * s.Events[p]
				y += count(p) * s.Sums[p]
			}
			return y / n
		}
		line.Value = pooled(func(int) float64 { return 1 })
		for i := range line.Rep {
			row := w.Row(i)
			line.Rep[i] = pooled(func(p int) float64 { return float64(row[p]) })
		}
		return line
	}
	var order []int
	for p, n := range s.Events {
		if n >= d.Qualified {
			order = append(order, p)
		}
	}
	rate := func(p int) float64 { return s.Sums[p] / s.Events[p] }
	slices.SortStableFunc(order, func(a, b int) int {
		if rate(a) < rate(b) {
			return -1
		}
		if rate(a) > rate(b) {
			return 1
		}
		return 0
	})
	if len(order) == 0 {
		panic("simulate: no cluster is qualified for the median line")
	}
	rates, counts := make([]float64, len(order)), slices.Repeat([]uint8{1}, len(order))
	for i, p := range order {
		rates[i] = rate(p)
	}
	line.Value, _ = stats.WeightedMedian(rates, counts)
	for i := range line.Rep {
		row := w.Row(i)
		for k, p := range order {
			counts[k] = row[p]
		}
		m, ok := stats.WeightedMedian(rates, counts)
		if !ok {
			m = line.Value
		}
		line.Rep[i] = m
	}
	return line
}
