package stacked

import (
	"math/bits"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// group holds events by pitcher and by batter: number, sum of values and of
// squared values.
type group struct {
	pitches           int64
	pitchers, batters clusters
}

type clusters struct {
	n, y []float64
	yy   float64
}

func newGroup(t *tally.Tally) *group {
	of := func(k int) clusters { return clusters{n: make([]float64, k), y: make([]float64, k)} }
	return &group{pitchers: of(len(t.Pitchers)), batters: of(len(t.Batters))}
}

func (c *clusters) add(k int32, n, y, yy float64) {
	c.n[k] += n
	c.y[k] += y
	c.yy += yy
}

func (c *clusters) join(o *clusters) {
	for k, n := range o.n {
		c.n[k] += n
		c.y[k] += o.y[k]
	}
	c.yy += o.yy
}

func (c *clusters) events() float64 {
	sum := 0.0
	for _, n := range c.n {
		sum += n
	}
	return sum
}

// table is the group as one bin; nil without an event.
func (c *clusters) table(metric int) *stats.Table {
	t := &stats.Table{Clusters: len(c.n), Start: []int32{0}}
	for k, n := range c.n {
		if n > 0 {
			t.Cluster, t.N, t.Y = append(t.Cluster, int32(k)), append(t.N, n), append(t.Y, c.y[k])
		}
	}
	if len(t.N) == 0 {
		return nil
	}
	t.X, t.Start = []float64{0}, append(t.Start, int32(len(t.N)))
	if metric != outcome.Whiff {
		t.YY = []float64{c.yy}
	}
	return t
}

// split holds the groups of one cell and outcome, by which qualities lie in their
// good zones.
type split struct {
	t       *tally.Tally
	metric  int
	used    []uint // the bits that are used, ascending
	by      map[uint]*group
	unknown int64 // pitches of which a used quality is unknown
	batters bool  // enough batters are known to count as clusters
}

// minBattersKnown is the share of the events whose batter must be known for
// batters to count as clusters, as on curves.
const minBattersKnown = .9

// splitOf sums a cell over its seasons.
func splitOf(t *tally.Tally, k cell, metric int, used uint, scoring *outcome.Scoring, batters bool) *split {
	s := &split{t: t, metric: metric, by: map[uint]*group{}}
	for left := used; left != 0; left &= left - 1 {
		s.used = append(s.used, 1<<bits.TrailingZeros(left))
	}
	for i := range t.Cells {
		c := &t.Cells[i]
		if (cell{c.Cell.Hand, c.Cell.Side, c.Cell.Type}) != k || c.Cell.Stratum != tally.AllStrata {
			continue
		}
		curve := &c.Curves[metric]
		for b, bin := range curve.Bins {
			if bin == tally.MissingBin {
				for _, r := range curve.Bin(b) {
					s.unknown += int64(r.Pitches)
				}
				continue
			}
			g := s.by[uint(bin)]
			if g == nil {
				g = newGroup(t)
				s.by[uint(bin)] = g
			}
			rows := curve.Bin(b)
			for j := range rows {
				g.pitches += int64(rows[j].Pitches)
				if n, y, yy := rows[j].Values(metric, scoring); n > 0 {
					g.pitchers.add(rows[j].Cluster, float64(n), y, yy)
				}
			}
			for _, e := range curve.BatterBin(b) {
				if e.Event().Metric() == metric {
					n, w := float64(e.Count()), e.Event().Value(scoring)
					g.batters.add(e.Batter, n, float64(n*w), float64(float64(n*w)*w))
				}
			}
		}
	}
	all := s.where(func(uint) bool { return true })
	s.batters = batters && all.pitchers.events() > 0 && all.batters.events() >= float64(minBattersKnown*all.pitchers.events())
	return s
}

// where joins the groups whose qualities satisfy a condition.
func (s *split) where(keep func(in uint) bool) *group {
	out := newGroup(s.t)
	for in := uint(0); in < 1<<maxQualities; in++ { // in order, so that sums do not depend on a map
		if g := s.by[in]; g != nil && keep(in) {
			out.pitches += g.pitches
			out.pitchers.join(&g.pitchers)
			out.batters.join(&g.batters)
		}
	}
	return out
}

// count joins the groups with from to to qualities in their good zones.
func (s *split) count(from, to int) *group {
	return s.where(func(in uint) bool { k := bits.OnesCount(in); return from <= k && k <= to })
}

// rate describes the events of a group; NaN where there are none.
func (s *split) rate(g *group) stats.Bin {
	t := g.pitchers.table(s.metric)
	if t == nil {
		return stats.Bin{Rate: nan, Lo: nan, Hi: nan}
	}
	kind := stats.Mean
	if s.metric == outcome.Whiff {
		kind = stats.Proportion
	}
	var second *stats.Table
	if s.batters {
		second = g.batters.table(s.metric)
	}
	return t.Bin(0, kind, second)
}

// compare tests whether the pitch does better in one group than in another.
func (s *split) compare(in, out *group) stats.Cutoff {
	m := outcome.Metrics[s.metric]
	c := stats.CompareCutoff(in.pitchers.y, in.pitchers.n, out.pitchers.y, out.pitchers.n, stats.CutoffOptions{
		Sign: float64(m.Sign), Delta: m.Delta, MinEvents: float64(m.MinEvents), MinClusters: minPitchers, MinEffective: minEffective, FDR: Discovery})
	if !s.batters {
		return c
	}
	return c.WithSecond(stats.SecondSide{Y: in.batters.y, N: in.batters.n, YY: in.batters.yy},
		stats.SecondSide{Y: out.batters.y, N: out.batters.n, YY: out.batters.yy})
}
