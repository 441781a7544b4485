package estimate

import (
	"context"
	"fmt"
	"math"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// Curve is one cell, variable and outcome: its sample, bins, lines and, once
// fitted, its smooth curve with replicates.
type Curve struct {
	Key      CellKey
	Variable int // index into Variables
	Metric   int // index into outcome.Metrics

	Pitches, Known int64 // of the cell; of those, with a known variable
	Events         int64 // eligible events with a known variable
	Pitchers       int   // pitchers with such an event
	Geff           float64
	LargestShare   float64
	Batters        int     // batters known to have such an event; 0 where too few are known
	GeffBatters    float64 // NaN where unknown
	Rate           float64 // ΣY/Σn; over all events of the cell where the variable is known for none
	SD             float64 // of the variable over the events, NaN below two
	Bins           []Bin   // ascending, the missing one last
	Lines          []*Line
	Table          *stats.Table // events by the pitchers of the hand
	// ByBatter holds the events whose batter is known, by batter; a node without
	// any is absent. nil where too few are known (see minBattersKnown).
	ByBatter *stats.Table
	// Fit and Second are nil unless Group fitted the curve: cells too small to
	// test have none. Second is what batters add to the variance, nil as ByBatter
	// is.
	Fit    *stats.Curve
	Second *stats.SecondWay

	influence *stats.Influence // of Fit, made on first use
}

// The kinds of bins.
const (
	Regular  = "regular"
	OpenLow  = "open_low"
	OpenHigh = "open_high"
	Missing  = "missing"
)

// Bin is a stretch of the variable with its counts.
type Bin struct {
	Kind         string
	Lower, Upper float64 // edges in the variable's unit; NaN where open or missing
	Mean         float64 // of the events, NaN without any
	Counts       outcome.Counts
	Events       int64
	Pitchers     int
	Geff         float64 // effective pitchers, 0 without events
	LargestShare float64
	Node         int     // index into the curve's nodes, −1 without events
	Thin         bool    // too few events or pitchers to show a rate
	Rate, Lo, Hi float64 // with 95 % limits; NaN where thin or missing
	BootLo       float64 // 2.5th percentile of the joint replicates
	BootHi       float64 // 97.5th percentile
}

// emptyBin is a bin of a kind between two edges.
func emptyBin(kind string, lower, upper float64) Bin {
	return Bin{Kind: kind, Lower: lower, Upper: upper, Mean: nan, Node: -1, Rate: nan, Lo: nan, Hi: nan, BootLo: nan, BootHi: nan}
}

// The least sample in which thresholds are sought.
const (
	minCellPitchers  = 12
	minCellEffective = 6
	minCellNodes     = 5
)

// minBattersKnown is the share of a curve's events whose batter must be known for
// batters to count as clusters: the others are then taken to be like these. With
// fewer, the interval is by pitchers alone and warns.
const minBattersKnown = .9

// Testable tells whether the cell is large enough to be tested, whatever the
// line: these make up a family.
func (c *Curve) Testable() bool { return c.Key.Tested() && len(c.Shortfalls()) == 0 }

// Shortfall is a way in which a cell is too small.
type Shortfall struct {
	What       string // "pitchers", "effective pitchers", "bins with events"
	Have, Need float64
}

// Shortfalls lists in what the cell falls short of being tested.
func (c *Curve) Shortfalls() []Shortfall {
	var out []Shortfall
	for _, s := range []Shortfall{
		{"pitchers", float64(c.Pitchers), minCellPitchers},
		{"effective pitchers", c.Geff, minCellEffective},
		{"bins with events", float64(c.Table.Bins()), minCellNodes},
	} {
		if s.Have < s.Need {
			out = append(out, s)
		}
	}
	return out
}

// Group builds the curves of one stratum, variable and metric in the order of
// their cells, and fits those that are testable. It is what one task holds in
// memory at a time: 8·Replicates bytes a node and curve.
func (e *Estimate) Group(ctx context.Context, stratum string, variable, metric int) ([]*Curve, error) {
	curves, err := e.Sample(stratum, variable, metric)
	if err != nil {
		return nil, err
	}
	for _, c := range curves {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("estimate: %w", err)
		}
		e.intervals(c)
		if c.Testable() {
			e.fit(c)
		}
	}
	return curves, nil
}

// Sample builds the curves of a group without fitting them: counts, bins and
// lines only.
func (e *Estimate) Sample(stratum string, variable, metric int) ([]*Curve, error) {
	var out []*Curve
	for i := range e.cells {
		if e.cells[i].key.Stratum != stratum {
			continue
		}
		c, err := e.sample(&e.cells[i], variable, metric)
		if err != nil {
			return nil, fmt.Errorf("estimate %s %s: %w", e.tally.Variables[variable].Name, outcome.Metrics[metric].Name, err)
		}
		if c != nil {
			out = append(out, c)
		}
	}
	return out, nil
}

// sample counts one curve; nil if the cell has no eligible event at all or does
// not split the variable.
func (e *Estimate) sample(of *cell, variable, metric int) (*Curve, error) {
	bins := merged(of.tables, variable)
	if len(bins) == 0 {
		return nil, nil
	}
	c := &Curve{Key: of.key, Variable: variable, Metric: metric, GeffBatters: nan, Rate: nan, SD: nan,
		Lines: e.LinesOf(of.key, metric)}
	byPitcher, byBatter := stats.NewSums(len(e.tally.Pitchers)), stats.NewSums(len(e.tally.Batters))
	var missing []Bin
	known := bins
	if bins[0].bin == tally.MissingBin {
		known = bins[1:]
		b := emptyBin(Missing, nan, nan)
		if err := e.fill(&b, bins[:1], metric, &byPitcher); err != nil {
			return nil, err
		}
		byPitcher.Clear()
		missing = append(missing, b)
		c.Pitches += int64(b.Counts.Pitches)
	}
	m := outcome.Metrics[metric]
	blocks, low, high := pooled(known, metric, m.MinEvents, e.options.MinPitchers, len(e.tally.Pitchers))
	pitchers := &e.pitchers[of.key.Hand]
	t := &stats.Table{Start: []int32{0}, Clusters: pitchers.size}
	bt := &stats.Table{Start: []int32{0}, Clusters: len(e.tally.Batters)}
	v := e.tally.Variables[variable]
	lastNode := int32(0)
	for i, blk := range blocks {
		part := known[blk.first : blk.last+1]
		first, last := part[0].bin, part[len(part)-1].bin
		b := emptyBin(Regular, v.Lower(first), v.Lower(last+1))
		if low && i == 0 {
			b.Kind, b.Lower = OpenLow, nan
		}
		if high && i == len(blocks)-1 {
			b.Kind, b.Upper = OpenHigh, nan
		}
		if err := e.fill(&b, part, metric, &byPitcher); err != nil {
			return nil, err
		}
		c.Pitches += int64(b.Counts.Pitches)
		c.Known += int64(b.Counts.Pitches)
		c.Events += b.Events
		b.Thin = b.Events < int64(m.MinEvents) || b.Pitchers < e.options.MinPitchers
		if b.Events > 0 {
			b.Node = t.Bins()
			b.Mean = mean(v, part, metric)
			if b.Node > 0 {
				t.Gap = append(t.Gap, first-lastNode-1)
			}
			lastNode = last
			byPitcher.Flush(t, b.Mean, pitchers.local)
			for _, p := range part {
				e.addBatters(&byBatter, p.batters, metric)
			}
			if byBatter.Events() > 0 {
				byBatter.Flush(bt, b.Mean, nil)
			}
		}
		c.Bins = append(c.Bins, b)
	}
	c.Bins = append(c.Bins, missing...)
	n, y := e.totals(of, metric)
	if n == 0 {
		return nil, nil
	}
	c.Rate = y / n
	if m.Proportion {
		t.YY, bt.YY = nil, nil
	}
	t.Parts = e.parts(of.tables, variable, metric)
	c.Table = t
	if e.options.Batters && c.Events > 0 && bt.Events() >= float64(minBattersKnown*float64(c.Events)) {
		c.ByBatter = bt
	}
	c.SD = spread(v, known, metric)
	c.describe()
	return c, nil
}

// describe sums the sample over clusters.
func (c *Curve) describe() {
	n, y := c.Table.ByCluster()
	c.Pitchers, c.Geff, c.LargestShare = stats.Concentration(n)
	sumN, sumY := 0.0, 0.0
	for i := range n {
		sumN += n[i]
		sumY += y[i]
	}
	if sumN > 0 {
		c.Rate = sumY / sumN
	}
	if c.ByBatter != nil {
		n, _ := c.ByBatter.ByCluster()
		c.Batters, c.GeffBatters, _ = stats.Concentration(n)
	}
}

// fill counts the rows of a block into b and, by pitcher, into sums that are empty.
func (e *Estimate) fill(b *Bin, part []binned, metric int, byPitcher *stats.Sums) error {
	for _, p := range part {
		for i := range p.rows {
			r := &p.rows[i]
			if err := b.Counts.Add(&r.Counts); err != nil {
				return err
			}
			if n, y, yy := r.Values(metric, &e.scoring); n > 0 {
				b.Events += n
				byPitcher.Add(r.Cluster, float64(n), y, yy)
			}
		}
	}
	b.Pitchers, b.Geff, b.LargestShare = byPitcher.Concentration()
	return nil
}

// totals sums the eligible events of a cell, known variable or not.
func (e *Estimate) totals(of *cell, metric int) (n, y float64) {
	for _, t := range of.tables {
		for i := range t.Totals {
			k, v, _ := t.Totals[i].Values(metric, &e.scoring)
			n += float64(k)
			y += v
		}
	}
	return n, y
}

// addBatters adds the events of a metric by batter.
func (e *Estimate) addBatters(to *stats.Sums, counts []tally.BatterCount, metric int) {
	m := &outcome.Metrics[metric]
	for _, k := range counts {
		if m.Counts(k.Event()) {
			n, w := float64(k.Count()), m.Value(k.Event(), &e.scoring)
			to.Add(k.Batter, n, float64(n*w), float64(float64(n*w)*w))
		}
	}
}

// mean returns the mean of the variable over the events of some bins.
func mean(v tally.Variable, part []binned, metric int) float64 {
	first := part[0].bin
	var n, d int64
	for _, p := range part {
		for i := range p.rows {
			k := p.rows[i].Events(metric)
			s, _ := p.rows[i].Offsets(metric)
			n += k
			d += s + k*int64(p.bin-first)*v.WidthQ
		}
	}
	return v.Mean(first, n, d)
}

// spread returns the standard deviation of the variable over the events.
func spread(v tally.Variable, bins []binned, metric int) float64 {
	if len(bins) == 0 {
		return nan
	}
	first := bins[0].bin
	var n, s1, s2 float64
	for _, p := range bins {
		at := float64(int64(p.bin-first) * v.WidthQ)
		for i := range p.rows {
			k := float64(p.rows[i].Events(metric))
			d, d2 := p.rows[i].Offsets(metric)
			n += k
			s1 += float64(d) + float64(k*at)
			s2 += float64(d2) + float64(2*at*float64(d)) + float64(k*float64(at*at))
		}
	}
	if n < 2 {
		return nan
	}
	return math.Sqrt(max(0, (s2-float64(s1*s1)/n)/(n-1))) / float64(v.PerUnit)
}
