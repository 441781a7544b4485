package stacked

import (
	"math/bits"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// split holds the groups of one cell and outcome, by which qualities lie in their
// good zones.
type split struct {
	t       *tally.Tally
	metric  int
	used    []uint // the bits that are used, ascending
	by      map[uint]*answer.Group
	unknown int64 // pitches of which a used quality is unknown or open
	batters bool  // enough batters are known to count as clusters
}

// splitOf sums a cell over its seasons.
func splitOf(t *tally.Tally, k answer.Cell, metric int, used uint, scoring *outcome.Scoring, batters bool) *split {
	s := &split{t: t, metric: metric, by: map[uint]*answer.Group{}}
	for left := used; left != 0; left &= left - 1 {
		s.used = append(s.used, 1<<bits.TrailingZeros(left))
	}
	for i := range t.Cells {
		c := &t.Cells[i]
		if answer.CellOf(c.Cell) != k || c.Cell.Stratum != tally.AllStrata {
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
			if s.by[uint(bin)] == nil {
				s.by[uint(bin)] = answer.NewGroup(t)
			}
			s.by[uint(bin)].AddBin(curve, b, metric, scoring)
		}
	}
	s.batters = batters && answer.BattersKnown(s.where(func(uint) bool { return true }))
	return s
}

// where joins the groups whose qualities satisfy a condition.
func (s *split) where(keep func(in uint) bool) *answer.Group {
	out := answer.NewGroup(s.t)
	for in := uint(0); in < 1<<maxQualities; in++ { // in order, so that sums do not depend on a map
		if g := s.by[in]; g != nil && keep(in) {
			out.Join(g)
		}
	}
	return out
}

// count joins the groups with from to to qualities in their good zones.
func (s *split) count(from, to int) *answer.Group {
	return s.where(func(in uint) bool { k := bits.OnesCount(in); return from <= k && k <= to })
}

// compare tests whether the pitch does better in one group than in another.
func (s *split) compare(in, out *answer.Group) stats.Cutoff {
	return answer.Compare(in, out, answer.Requirements(s.metric, outcome.Metrics[s.metric].Delta), s.batters)
}
