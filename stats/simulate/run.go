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
	Workers                 int // sets judged at a time
	Seed                    uint64
	Reference               Reference
	// MinEvents and MinClusters make an open end bin.
	MinEvents   float64
	MinClusters int
	// Level is the p-value below which a curve is taken not to be flat.
	Level float64
	// OneWay leaves the second clusters out of every variance.
	OneWay bool
}

// DefaultOptions are those of the published bars, at fewer replicates.
func DefaultOptions() Options {
	return Options{Sets: 200, Replicates: 300, Flips: 499, Workers: 1, Seed: 1, MinEvents: 50, MinClusters: 5, Level: .05}
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
	add(o.Reference != MedianLine && o.Reference != PooledLine, "the reference must be the median or the pooled line")
	add(!(o.Level > 0 && o.Level < 1), "the level must lie between 0 and 1")
	return errors.Join(faults...)
}

// Share is how often something happened.
type Share struct{ Hits, Of int }

// Add counts one more trial.
func (s *Share) Add(hit bool) {
	s.Of++
	if hit {
		s.Hits++
	}
}

// Rate is the share, NaN of none.
func (s Share) Rate() float64 { return float64(s.Hits) / float64(s.Of) }

// SE is the Monte Carlo standard error were the true share p.
func (s Share) SE(p float64) float64 { return math.Sqrt(p * (1 - p) / float64(s.Of)) }

// EdgeReport is how one true edge fared.
type EdgeReport struct {
	TrueEdge
	Confirmed Share   // of the sets
	Covered   Share   // of the confirmed: its interval holds the truth
	Open      Share   // of the confirmed: a limit is infinite
	RMSE      float64 // of the confirmed, in units of x; NaN for none
	squares   float64
}

// CellReport is how the curve of one cell fared.
type CellReport struct {
	Curve string
	Edges []EdgeReport
	// Rejected is how often the curve was not taken to be flat; Found how often
	// there was a confirmed edge too.
	Rejected, Found Share
	// Structure is how often, when found, the confirmed edges were as many and in
	// the same order as the true ones.
	Structure Share
	// Stray counts confirmed edges that answer to no true one, over all sets.
	Stray int
	// Level is how often, over the nodes with 5 to 95 % of events below, the 95 %
	// interval of the curve itself holds the truth.
	Level Share
	// Bins is how often the interval of a bin's raw rate holds the mean of the
	// true curve at its node. (The curve's bend inside a bin is neglected.)
	Bins Share
}

// Report is how a design fared.
type Report struct {
	Cells []CellReport
	// Line is how often the 95 % interval of the line holds the true one.
	Line Share
}

// outcome is what one data set gave.
type outcome struct {
	cells []cellOutcome
	line  bool
}

type cellOutcome struct {
	p           float64
	edges       []stats.Edge
	level, bins Share
}

// Run draws and judges data sets 0 … Sets−1. Panics on a design or options that
// Validate refuses.
func Run(d Design, o Options) *Report {
	if o.Validate() != nil {
		panic("simulate: Run needs valid options")
	}
	truth := d.Truth(o.Reference, o.Seed)
	outcomes := make([]outcome, o.Sets)
	var wait sync.WaitGroup
	for w := range o.Workers {
		wait.Go(func() {
			for i := w; i < o.Sets; i += o.Workers {
				outcomes[i] = judge(d, o, truth, i)
			}
		})
	}
	wait.Wait()
	return tally(d, o, truth, outcomes)
}

// judge takes one data set through the engine.
func judge(d Design, o Options, truth *Truth, number int) outcome {
	sample := d.Draw(o.Seed, number)
	weights := stats.DrawMultinomial(Key(o.Seed, "weights", number), len(sample.Events), o.Replicates)
	line := d.line(o.Reference, sample, weights)
	grid := stats.LambdaGrid(2)
	var out outcome
	for c, table := range sample.Tables {
		var second *stats.Table
		if d.Second > 0 && !o.OneWay {
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
		flips := stats.NewFlipTest(table, Key(o.Seed, "flips", number*len(sample.Tables)+c))
		cell := cellOutcome{p: flips.Run(o.Flips).P, edges: curve.Against(line, d.Sign(), way).Edges().Confirmed}
		// Against a line of 0 without error the band is the curve itself.
		level := curve.Against(stats.Line{}, 1, way)
		sum, total := 0.0, stat.Mean(curve.N, nil)*float64(len(curve.N))
		for b, n := range curve.N {
			x := table.X[b]
			mid := (sum + n/2) / total
			sum += n
			if mid >= .05 && mid <= .95 {
				at := b * stats.Substeps
				cell.level.Add(math.Abs(level.D[at]-truth.At(c, x)) <= level.Crit*level.SE[at])
			}
			if bin := table.Bin(b, d.Kind, second); n >= o.MinEvents && bin.Clusters >= o.MinClusters && b > 0 && b < len(curve.N)-1 {
				cell.bins.Add(bin.Lo <= truth.At(c, x) && truth.At(c, x) <= bin.Hi)
			}
		}
		out.cells = append(out.cells, cell)
	}
	active, geff := 0.0, stats.EffectiveNumber(sample.Events)
	for _, n := range sample.Events {
		if n > 0 {
			active++
		}
	}
	se := stat.StdDev(line.Rep, nil) * math.Sqrt(active/(active-1))
	out.line = math.Abs(line.Value-truth.Line) <= stats.TQuantile(.975, max(1, geff-1))*se
	return out
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
		for k, p := range order {
			counts[k] = w.Row(i)[p]
		}
		m, ok := stats.WeightedMedian(rates, counts)
		if !ok {
			m = line.Value
		}
		line.Rep[i] = m
	}
	return line
}

// tally holds the outcomes against the truth, in order of the sets.
func tally(d Design, o Options, truth *Truth, outcomes []outcome) *Report {
	report := &Report{Cells: make([]CellReport, len(d.Cells))}
	for c := range d.Cells {
		cell := &report.Cells[c]
		cell.Curve = d.Cells[c].Curve.Name
		for _, e := range truth.Edges[c] {
			cell.Edges = append(cell.Edges, EdgeReport{TrueEdge: e})
		}
		for _, out := range outcomes {
			cell.add(out.cells[c], o.Level)
		}
		for i := range cell.Edges {
			e := &cell.Edges[i]
			e.RMSE = math.Sqrt(e.squares / float64(e.Confirmed.Hits))
		}
	}
	for _, out := range outcomes {
		report.Line.Add(out.line)
	}
	return report
}

// add counts one data set. A confirmed edge answers to the nearest true edge of
// its direction that no nearer one answers to.
func (c *CellReport) add(out cellOutcome, level float64) {
	c.Rejected.Add(out.p < level)
	found := out.p < level && len(out.edges) > 0
	c.Found.Add(found)
	c.Level.Hits, c.Level.Of = c.Level.Hits+out.level.Hits, c.Level.Of+out.level.Of
	c.Bins.Hits, c.Bins.Of = c.Bins.Hits+out.bins.Hits, c.Bins.Of+out.bins.Of
	answers := make([]int, len(c.Edges))
	for i := range answers {
		answers[i] = -1
	}
	for k, e := range out.edges {
		best := -1
		for i, t := range c.Edges {
			if t.Up == e.Up && (best < 0 || math.Abs(t.X-e.X) < math.Abs(c.Edges[best].X-e.X)) {
				best = i
			}
		}
		switch {
		case best < 0:
			c.Stray++
		case answers[best] < 0:
			answers[best] = k
		default:
			if math.Abs(out.edges[answers[best]].X-c.Edges[best].X) > math.Abs(e.X-c.Edges[best].X) {
				answers[best] = k
			}
			c.Stray++
		}
	}
	same := len(out.edges) == len(c.Edges)
	for i, k := range answers {
		t := &c.Edges[i]
		t.Confirmed.Add(k >= 0)
		same = same && k == i
		if k < 0 {
			continue
		}
		e := out.edges[k]
		t.Covered.Add(e.Lo <= t.X && t.X <= e.Hi)
		t.Open.Add(math.IsInf(e.Lo, 0) || math.IsInf(e.Hi, 0))
		t.squares += (e.X - t.X) * (e.X - t.X)
	}
	if found {
		c.Structure.Add(same)
	}
}
