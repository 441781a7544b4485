package opponents

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// Discovery is the share of false discoveries tolerated among the stretches that are
// told to be clear.
const Discovery = answer.Discovery

// Stretch is one bin of a quality in a cell.
type Stretch struct {
	Faced
	Variable     shape.Variable
	Lower, Upper float64 // edges of the bin, the upper one excluded
	Q            float64 // of no difference, after Benjamini-Hochberg over all stretches; NaN where too few tell
}

// Clear tells whether the batters were clearly better or worse there, by an amount
// worth telling, with few false discoveries among all stretches.
func (s *Stretch) Clear() bool { return s.Faced.Clear() && s.Q <= Discovery }

// sighting is one pitch with an eligible event, kept for its bins.
type sighting struct {
	pairKey
	swing outcome.Swing
	class outcome.Class
	bins  []int32
}

// Along reads the pitches once: who was facing in every cell, and in every bin of
// some qualities that holds enough events.
func Along(ctx context.Context, p tally.Pitches, vars []shape.Variable, scoring *outcome.Scoring) (cells []Faced, along []Stretch, err error) {
	counter := NewCounter(p.Workers(), vars...)
	if err := p.Each(ctx, counter.Add); err != nil {
		return nil, nil, err
	}
	names := p.Names()
	cells, along = counter.Measure(scoring, len(names.Pitchers), len(names.Batters))
	return cells, along, nil
}

// Measure says who was facing in every cell, and in every bin of the counter's
// qualities that holds enough events. Pitchers and batters are numbered below the
// sizes given. The counter is spent.
func (c *Counter) Measure(scoring *outcome.Scoring, pitchers, batters int) (cells []Faced, along []Stretch) {
	byCell := map[Cell][]sighting{}
	for i := range c.parts {
		for _, s := range c.parts[i].seen {
			byCell[s.cell] = append(byCell[s.cell], s)
		}
	}
	pairs := c.Pairs()
	cells = Measure(pairs, scoring, pitchers, batters)
	if len(byCell) == 0 {
		return cells, nil
	}
	eachCell(pairs, scoring, pitchers, batters, func(g *matchup, cell Cell) {
		for v := range c.along {
			along = append(along, g.stretches(byCell[cell], cell, v, c.along[v], scoring)...)
		}
	})
	slices.SortStableFunc(along, func(a, b Stretch) int { return cmp.Or(a.Cell.Compare(b.Cell), cmp.Compare(a.Metric, b.Metric)) })
	family(along)
	return cells, along
}

// see takes the events of a pitch; ok is false where none is eligible, or its batter is
// not known.
func see(p *pitch.Pitch) (s sighting, ok bool) {
	s = sighting{pairKey: pairKey{p.Pitcher, p.Batter, answer.CellOfPitch(p)}, swing: outcome.SwingOf(p)}
	s.class, _ = outcome.ClassOf(p.Result)
	return s, p.Batter >= 0 && (s.swing != outcome.NoSwing || s.class != outcome.NoClass)
}

// place fills the bins of the qualities.
func (s *sighting) place(p *pitch.Pitch, vars []shape.Variable) {
	s.bins = make([]int32, len(vars))
	for i := range vars {
		v := &vars[i]
		s.bins[i] = tally.MissingBin
		if q, ok := v.Quantize(v.Value(p)); ok {
			bin, _ := shape.Bin(q, v.WidthQ())
			s.bins[i] = int32(bin)
		}
	}
}

// stretches are the bins of one cell and quality with enough events.
func (g *matchup) stretches(list []sighting, c Cell, at int, v shape.Variable, scoring *outcome.Scoring) []Stretch {
	bins := map[int32]*events{}
	count := map[int32]int{}
	m := &outcome.Metrics[g.metric]
	for i := range list {
		if m.Of(list[i].swing, list[i].class) != outcome.NoEvent {
			count[list[i].bins[at]]++
		}
	}
	for i := range list {
		s := &list[i]
		bin := s.bins[at]
		event := m.Of(s.swing, s.class)
		if event == outcome.NoEvent || bin == tally.MissingBin || count[bin] < m.MinEvents {
			continue
		}
		if bins[bin] == nil {
			bins[bin] = g.none()
		}
		g.add(bins[bin], s.pitcher, s.batter, 1, math.Round(m.Value(event, scoring)*valueUnit))
	}
	var out []Stretch
	width := float64(v.WidthQ()) / float64(v.PerUnit())
	for _, bin := range slices.Sorted(maps.Keys(bins)) {
		d := bins[bin]
		d.y /= valueUnit
		out = append(out, Stretch{Faced: g.faced(d, c), Variable: v, Lower: float64(bin) * width, Upper: float64(bin+1) * width, Q: answer.NaN})
	}
	return out
}

// valueUnit makes whole numbers of weights, whose sums are exact in any order.
const valueUnit = 1 << 20

// family gives every stretch that tells a difference its q.
func family(list []Stretch) {
	var tests answer.Family
	for i := range list {
		if s := &list[i]; !math.IsNaN(s.P) {
			tests.Add(s.P, &s.Q)
		}
	}
	tests.Control()
}
