package stacked

import (
	"math/bits"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// group holds events by pitcher and by batter.
type group struct {
	pitches           int64
	pitchers, batters stats.Sums
}

func newGroup(t *tally.Tally) *group {
	return &group{pitchers: stats.NewSums(len(t.Pitchers)), batters: stats.NewSums(len(t.Batters))}
}

// split holds the groups of one cell and outcome, by which qualities lie in their
// good zones.
type split struct {
	t       *tally.Tally
	metric  int
	used    []uint // the bits that are used, ascending
	by      map[uint]*group
	unknown int64 // pitches of which a used quality is unknown or open
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
					g.pitchers.Add(rows[j].Cluster, float64(n), y, yy)
				}
			}
			for _, e := range curve.BatterBin(b) {
				if e.Event().Metric() == metric {
					n, w := float64(e.Count()), e.Event().Value(scoring)
					g.batters.Add(e.Batter, n, float64(n*w), float64(float64(n*w)*w))
				}
			}
		}
	}
	all := s.where(func(uint) bool { return true })
	s.batters = batters && all.pitchers.Events() > 0 && all.batters.Events() >= float64(minBattersKnown*all.pitchers.Events())
	return s
}

// where joins the groups whose qualities satisfy a condition.
func (s *split) where(keep func(in uint) bool) *group {
	out := newGroup(s.t)
	for in := uint(0); in < 1<<maxQualities; in++ { // in order, so that sums do not depend on a map
		if g := s.by[in]; g != nil && keep(in) {
			out.pitches += g.pitches
			out.pitchers.Join(&g.pitchers)
			out.batters.Join(&g.batters)
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
	kind := stats.Mean
	if s.metric == outcome.Whiff {
		kind = stats.Proportion
	}
	t := g.pitchers.Table(kind)
	if t == nil {
		return stats.Bin{Rate: nan, Lo: nan, Hi: nan}
	}
	var second *stats.Table
	if s.batters {
		second = g.batters.Table(kind)
	}
	return t.Bin(0, kind, second)
}

// compare tests whether the pitch does better in one group than in another.
func (s *split) compare(in, out *group) stats.Cutoff {
	m := outcome.Metrics[s.metric]
	c := stats.CompareCutoff(in.pitchers.Y, in.pitchers.N, out.pitchers.Y, out.pitchers.N, stats.CutoffOptions{
		Sign: float64(m.Sign), Delta: m.Delta, MinEvents: float64(m.MinEvents), MinClusters: minPitchers, MinEffective: minEffective, FDR: Discovery})
	if !s.batters {
		return c
	}
	return c.WithSecond(&in.batters, &out.batters)
}
