package answer

import (
	"math"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

var infinity = math.Inf(1)

// Group holds the events of some pitches by pitcher and by batter.
type Group struct {
	Pitches           int64
	Pitchers, Batters stats.Sums
}

// NewGroup returns an empty group of the tally's pitchers and batters.
func NewGroup(t *tally.Tally) *Group {
	return &Group{Pitchers: stats.NewSums(len(t.Pitchers)), Batters: stats.NewSums(len(t.Batters))}
}

// AddBin adds the events of an outcome in the curve's b-th bin.
func (g *Group) AddBin(c *tally.Curve, b, metric int, scoring *outcome.Scoring) {
	rows := c.Bin(b)
	for i := range rows {
		g.Pitches += int64(rows[i].Pitches)
		if n, y, yy := rows[i].Values(metric, scoring); n > 0 {
			g.Pitchers.Add(rows[i].Cluster, float64(n), y, yy)
		}
	}
	m := &outcome.Metrics[metric]
	for _, e := range c.BatterBin(b) {
		if m.Counts(e.Event()) {
			n, w := float64(e.Count()), m.Value(e.Event(), scoring)
			g.Batters.Add(e.Batter, n, float64(n*w), float64(float64(n*w)*w))
		}
	}
}

// Join adds another group.
func (g *Group) Join(o *Group) {
	g.Pitches += o.Pitches
	g.Pitchers.Join(&o.Pitchers)
	g.Batters.Join(&o.Batters)
}

// minBattersKnown is the share of the events whose batter must be known for
// batters to count as clusters, as on curves.
const minBattersKnown = .9

// BattersKnown tells whether batters count as clusters in a comparison of groups.
func BattersKnown(groups ...*Group) bool {
	var known, all float64
	for _, g := range groups {
		known += g.Batters.Events()
		all += g.Pitchers.Events()
	}
	return known > 0 && known >= float64(minBattersKnown*all)
}

// Rate describes the events of a group, with batters as clusters too where they are
// asked for; NaN where there is no event.
func (g *Group) Rate(metric int, batters bool) stats.Bin {
	kind := stats.Mean
	if outcome.Metrics[metric].Proportion {
		kind = stats.Proportion
	}
	t := g.Pitchers.Table(kind)
	if t == nil {
		return stats.Bin{Rate: NaN, Lo: NaN, Hi: NaN}
	}
	var second *stats.Table
	if batters {
		second = g.Batters.Table(kind)
	}
	return t.Bin(0, kind, second)
}

// Requirements are those of a comparison by an outcome, with the smallest advantage of
// interest.
func Requirements(metric int, smallest float64) stats.CutoffOptions {
	m := outcome.Metrics[metric]
	return stats.CutoffOptions{Sign: float64(m.Sign), Delta: smallest, MinEvents: float64(m.MinEvents),
		MinClusters: MinPitchers, MinEffective: MinEffective, FDR: Discovery}
}

// Compare tests whether pitches do better in one group than in another.
func Compare(in, out *Group, o stats.CutoffOptions, batters bool) stats.Cutoff {
	c := stats.CompareCutoff(in.Pitchers.Y, in.Pitchers.N, out.Pitchers.Y, out.Pitchers.N, o)
	if !batters {
		return c
	}
	return c.WithSecond(&in.Batters, &out.Batters)
}
