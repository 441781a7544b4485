package calibrate

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

// judgedAt is the p below which a curve is taken not to be flat.
const judgedAt = .05

// fewestClusters is how many clusters an open end bin needs.
const fewestClusters = 5

// fewestEvents is how many events an open end bin needs.
func fewestEvents(k stats.Kind) float64 {
	if k == stats.Mean {
		return 25
	}
	return 50
}

// dataset is a drawn data set with joint draws, and others to be wrong with.
type dataset struct {
	law          League
	seed         uint64
	number       int
	crews        [][]Crew // by view
	draws, apart []*stats.Weights
	oneWay       bool // leave the second clusters out
}

// stream is the seed of one design of one study.
func (o Options) stream(what string) uint64 {
	key := Key(o.Seed, what, 0)
	return binary.LittleEndian.Uint64(key[:])
}

// resampled is how many replicates a data set has.
func (o Options) resampled() int {
	if o.replicates > 0 {
		return o.replicates
	}
	return 500
}

// play draws data sets of a law under a seed and has each judged.
func (o Options) play(ctx context.Context, seed uint64, law League, sets int, judge func(g *dataset, s Scores)) (Results, error) {
	return o.Gather(ctx, sets, func(i int, s Scores) error {
		g := &dataset{law: law, seed: seed, number: i, crews: law.Draw(seed, i),
			draws: law.Resample(seed, i, o.resampled()), apart: law.Resample(seed+1, i, o.resampled())}
		if o.spoil != nil {
			o.spoil(g)
		}
		judge(g, s)
		return nil
	})
}

// fitted is a curve with what judges it.
type fitted struct {
	*stats.Curve
	table  *stats.Table
	second *stats.Table
	way    *stats.SecondWay
	sign   float64
}

// at names a cell of a data set.
type at struct{ view, crew, cell int }

// design is that of a crew.
func (g *dataset) design(a at) Design { return g.law.Views[a.view].Crews[a.crew] }

// openEnds joins the bins at both ends until they hold enough.
func openEnds(k stats.Kind, tables ...*stats.Table) {
	first, last, ok := tables[0].EndBins(fewestEvents(k), fewestClusters)
	for i, t := range tables {
		if ok && t != nil {
			tables[i] = t.Merge(first, last)
		}
	}
}

// fit fits a cell under draws.
func (g *dataset) fit(a at, draws []*stats.Weights) fitted {
	d, crew := g.design(a), &g.crews[a.view][a.crew]
	tables := []*stats.Table{crew.Tables[a.cell], nil}
	if crew.Second != nil && !g.oneWay {
		tables[1] = crew.Second[a.cell]
	}
	openEnds(d.Kind, tables...)
	f := fitted{table: tables[0], second: tables[1], sign: d.Sign()}
	f.Curve = stats.FitCurve(f.table, d.X.Width, draws[a.crew], stats.LambdaGrid(2))
	if f.second != nil {
		f.way = stats.NewSecondWay(f.Curve, f.second)
	}
	return f
}

// against compares a curve with a line.
func (f fitted) against(l stats.Line) *stats.Band { return f.Against(l, f.sign, f.way) }

// itself is the band of the curve: against a line of 0 without error.
func (f fitted) itself() *stats.Band { return f.Against(stats.Line{}, 1, f.way) }

// p is that of the flip test of a cell.
func (g *dataset) p(a at, f fitted) float64 {
	return stats.NewFlipTest(f.table, Key(g.seed, fmt.Sprint("flips ", a), g.number)).Run(499).P
}

// together adds up the crews of a view.
func (g *dataset) together(view int) Crew {
	first := g.crews[view][0]
	all := Crew{SecondEvents: make([]float64, len(first.SecondEvents)), SecondSums: make([]float64, len(first.SecondEvents))}
	for _, crew := range g.crews[view] {
		all.Events = append(all.Events, crew.Events...)
		all.Sums = append(all.Sums, crew.Sums...)
		floats.Add(all.SecondEvents, crew.SecondEvents)
		floats.Add(all.SecondSums, crew.SecondSums)
		all.squared += crew.squared
	}
	return all
}

// qualified lists the clusters that count toward the median line.
func (g *dataset) qualified(view int, all Crew) []int {
	var out []int
	for p, n := range all.Events {
		if n >= g.law.Views[view].Crews[0].Qualified {
			out = append(out, p)
		}
	}
	return out
}

// line is the line of a view over all its crews and cells, with replicates that are
// joint with the curves' under draws.
func (g *dataset) line(view int, r Reference, draws []*stats.Weights) stats.Line {
	all := g.together(view)
	side := &stats.Weights{Replicates: draws[0].Replicates, Clusters: len(all.Events)} // the crews side by side; a line reads counts only
	for i := range side.Replicates {
		for _, w := range draws {
			side.Count = append(side.Count, w.Row(i)...)
		}
	}
	of := pooledRate
	if r == MedianLine {
		of = medianOf(all, g.qualified(view, all))
	}
	line := stats.Line{Value: of(all, slices.Repeat([]uint8{1}, len(all.Events))), Rep: make([]float64, side.Replicates)}
	for i := range line.Rep {
		if line.Rep[i] = of(all, side.Row(i)); math.IsNaN(line.Rep[i]) {
			line.Rep[i] = line.Value
		}
	}
	if !g.oneWay {
		line.Second = stats.NewLineSecond(all.SecondEvents, all.SecondSums, all.squared)
	}
	return line
}

// pooledRate is all values over all events, each cluster counted as often as stated.
func pooledRate(all Crew, count []uint8) float64 {
	var n, y float64
	for p, k := range count {
		n += float64(k) * all.Events[p]
		y += float64(k) * all.Sums[p]
	}
	return y / n
}

// medianOf makes the median of the qualified clusters' own rates, each counted as
// often as stated; NaN of none.
func medianOf(all Crew, qualified []int) func(Crew, []uint8) float64 {
	if len(qualified) == 0 {
		panic("calibrate: no cluster is qualified for the median line")
	}
	rate := func(p int) float64 { return all.Sums[p] / all.Events[p] }
	slices.SortStableFunc(qualified, func(a, b int) int {
		if rate(a) < rate(b) {
			return -1
		}
		if rate(a) > rate(b) {
			return 1
		}
		return 0
	})
	rates, counts := make([]float64, len(qualified)), make([]uint8, len(qualified))
	for i, p := range qualified {
		rates[i] = rate(p)
	}
	return func(_ Crew, count []uint8) float64 {
		for i, p := range qualified {
			counts[i] = count[p]
		}
		m, ok := stats.WeightedMedian(rates, counts)
		if !ok {
			return math.NaN()
		}
		return m
	}
}

// holds tells whether the 95 % interval of a line holds a value: t of the qualified
// clusters, or of the effective ones for the pooled rate.
func (g *dataset) holds(view int, r Reference, l stats.Line, truth float64) bool {
	all := g.together(view)
	active, df := 0.0, float64(len(g.qualified(view, all))-1)
	for _, n := range all.Events {
		if n > 0 {
			active++
		}
	}
	if r == PooledLine {
		df = stats.EffectiveNumber(all.Events) - 1
	}
	se := math.Sqrt(stat.Variance(l.Rep, nil)*active/(active-1) + l.Second.Own())
	return math.Abs(l.Value-truth) <= stats.TQuantile(.975, max(1, df))*se
}

// central lists the nodes with 5 to 95 % of events below, half their own counted.
func central(c *stats.Curve) []int {
	var out []int
	sum, total := 0.0, floats.Sum(c.N)
	for b, n := range c.N {
		if mid := (sum + n/2) / total; mid >= .05 && mid <= .95 {
			out = append(out, b)
		}
		sum += n
	}
	return out
}

// nodeHeld tells whether a band holds the truth at a node.
func nodeHeld(b *stats.Band, node int, truth func(x float64) float64) bool {
	at := node * stats.Substeps
	return math.Abs(b.D[at]-truth(b.X[at])) <= b.Crit*b.SE[at]
}
