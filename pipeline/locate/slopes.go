package locate

import (
	"math"

	"sill/pipeline/estimate"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Where a slope of the outcome on the variable is shown.
const (
	ShownWithin   = "within"
	ShownBetween  = "between"
	ShownBoth     = "both"
	ShownOpposite = "opposite" // both, in opposite directions
	ShownNeither  = "neither"  // both are shown to be small
	ShownNot      = "cannot_tell"
)

// slope is a row of the slopes with what its q and word need.
type slope struct {
	row   thresholds.Slope
	found *stats.Slopes // nil where none can be taken
	small float64       // slope that moves the outcome by δ over one SD of the variable
}

// slopeOf makes the row of one curve, all but its q and its word.
func slopeOf(e *estimate.Estimate, c *estimate.Curve, key thresholds.Key) slope {
	s := slope{small: c.Outcome().Delta / c.SD, row: thresholds.Slope{Key: key, Unit: e.Variables()[c.Variable].Unit,
		Events: c.Events, Pitchers: int64(c.Pitchers), EffectivePitchers: c.Geff, Shown: ShownNot}}
	found, err := e.Slopes(c)
	if err != nil {
		return s
	}
	s.found = &found
	r := &s.row
	r.BetweenShare = orNil(found.Share)
	r.Within, r.WithinLo, r.WithinHi = limits(found.Within)
	r.Between, r.BetweenLo, r.BetweenHi = limits(found.Between)
	r.Difference, r.DifferenceLo, r.DifferenceHi = limits(found.Difference)
	return s
}

func limits(s stats.Slope) (value, lo, hi *float64) { return orNil(s.Value), orNil(s.Lo), orNil(s.Hi) }

// finishSlopes controls the false discoveries among the slopes inside pitchers,
// among those between them and among their differences, each over the whole table,
// and says where a slope is shown.
func finishSlopes(slopes []slope, o Options) []thresholds.Slope {
	for _, kind := range []struct {
		of func(*stats.Slopes) stats.Slope
		q  func(*thresholds.Slope) **float64
	}{
		{func(s *stats.Slopes) stats.Slope { return s.Within }, func(r *thresholds.Slope) **float64 { return &r.WithinQ }},
		{func(s *stats.Slopes) stats.Slope { return s.Between }, func(r *thresholds.Slope) **float64 { return &r.BetweenQ }},
		{func(s *stats.Slopes) stats.Slope { return s.Difference }, func(r *thresholds.Slope) **float64 { return &r.DifferenceQ }},
	} {
		ps := make([]float64, len(slopes))
		for i := range slopes {
			ps[i] = math.NaN()
			if f := slopes[i].found; f != nil {
				ps[i] = kind.of(f).P
			}
		}
		qs, tests := controlled(ps)
		for i, q := range qs {
			if *kind.q(&slopes[i].row) = orNil(q); !math.IsNaN(q) {
				slopes[i].row.Together = tests
			}
		}
	}
	var out []thresholds.Slope
	for i := range slopes {
		slopes[i].row.Shown = slopes[i].shown(o.Discovery)
		out = append(out, slopes[i].row)
	}
	return out
}

// shown is the word of a row whose q are known.
func (s *slope) shown(discovery float64) string {
	if s.found == nil {
		return ShownNot
	}
	within, between := *s.row.WithinQ <= discovery, *s.row.BetweenQ <= discovery
	small := func(b stats.Slope) bool { return math.Max(-b.Lo, b.Hi) < s.small }
	switch {
	case within && between && (s.found.Within.Value > 0) != (s.found.Between.Value > 0):
		return ShownOpposite
	case within && between:
		return ShownBoth
	case within:
		return ShownWithin
	case between:
		return ShownBetween
	case small(s.found.Within) && small(s.found.Between):
		return ShownNeither
	}
	return ShownNot
}
