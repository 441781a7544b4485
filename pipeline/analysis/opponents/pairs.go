// Package opponents asks who was facing the pitchers: whether the batters behind a
// matchup, or behind a stretch of a quality, were better or worse than the league's,
// and what the rate would have been against the league's. Specialists and pinch
// hitters choose their pitchers, and managers choose theirs.
//
// It knows batters' rates and nothing of lines, zones or verdicts.
package opponents

import (
	"cmp"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// Cell is a matchup and a pitch type, over all seasons.
type Cell = answer.Cell

// Pair is what befell one batter against one pitcher in one cell.
type Pair struct {
	Cell
	Pitcher, Batter int32
	Events          outcome.EventCounts
}

func (p *Pair) compare(o *Pair) int {
	return cmp.Or(p.Cell.Compare(o.Cell), cmp.Compare(p.Pitcher, o.Pitcher), cmp.Compare(p.Batter, o.Batter))
}

// Counter counts pairs, and keeps what the bins of some qualities need; each worker
// has a part of its own.
type Counter struct {
	parts []part
	along []shape.Variable
}

type part struct {
	at    map[pairKey]int
	pairs []Pair
	seen  []sighting
}

type pairKey struct {
	pitcher, batter int32
	cell            Cell
}

// NewCounter returns a counter for so many workers. Along the qualities given it can
// tell bins too: for these it keeps some 100 bytes an event.
func NewCounter(workers int, along ...shape.Variable) *Counter {
	c := &Counter{parts: make([]part, workers), along: along}
	for i := range c.parts {
		c.parts[i].at = map[pairKey]int{}
	}
	return c
}

// Add counts a batch for one worker. Two goroutines may call it at once for
// different workers; the batch is not kept. Pitches without an eligible event, or
// of an unknown batter, add nothing. It never fails.
func (c *Counter) Add(worker int, batch []pitch.Pitch) error {
	p := &c.parts[worker]
	for i := range batch {
		t := &batch[i]
		s, ok := see(t)
		if !ok {
			continue
		}
		k := s.pairKey
		at, known := p.at[k]
		if !known {
			at = len(p.pairs)
			p.at[k] = at
			p.pairs = append(p.pairs, Pair{Cell: k.cell, Pitcher: k.pitcher, Batter: k.batter})
		}
		p.pairs[at].Events.Count(s.swing, s.class)
		if len(c.along) > 0 && outcome.Shaped(t.Outcome) {
			s.place(t, c.along)
			p.seen = append(p.seen, s)
		}
	}
	return nil
}

// Pairs returns the whole count, sorted by cell, pitcher and batter. The counter is
// spent.
func (c *Counter) Pairs() []Pair {
	var all []Pair
	for i := range c.parts {
		all = append(all, c.parts[i].pairs...)
		c.parts[i] = part{}
	}
	slices.SortFunc(all, func(a, b Pair) int { return a.compare(&b) })
	n := 0
	for i := range all {
		if n > 0 && all[n-1].compare(&all[i]) == 0 {
			for e, k := range all[i].Events {
				all[n-1].Events[e] += k
			}
			continue
		}
		all[n] = all[i]
		n++
	}
	return all[:n]
}

// values returns the number of eligible events of a metric and the sum of their
// values and of their squared values.
func (p *Pair) values(metric int, s *outcome.Scoring) (n, y, yy float64) {
	m := &outcome.Metrics[metric]
	for i, k := range p.Events {
		e := outcome.Event(i)
		if k == 0 || !m.Counts(e) {
			continue
		}
		w, events := m.Value(e, s), float64(k)
		n += events
		y += float64(w * events)
		yy += float64(float64(w*w) * events)
	}
	return n, y, yy
}
