package outcome

import (
	"errors"
	"math"
	"math/bits"
)

// ErrOverflow is returned where a sum does not fit its integer.
var ErrOverflow = errors.New("count pitches: a sum does not fit its integer")

// Counts are the sums of one (cell, variable, bin, cluster). Offsets d are in
// quanta from the bin's lower edge (0 ≤ d < width); they are summed apart over
// swings and over counted plate appearances since each outcome has its own
// events. Every add is checked for overflow.
type Counts struct {
	Pitches, Swings, Whiffs, FoulTips  uint32 // Whiffs without the foul tips
	Results                            [Classes]uint32
	SwingD, SwingD2, ResultD, ResultD2 int64 // Σd, Σd²
}

// Appearances returns the counted plate appearances.
func (c *Counts) Appearances() int64 {
	n := int64(0)
	for _, r := range c.Results {
		n += int64(r)
	}
	return n
}

// Events returns the eligible events of a metric (an index of Metrics).
func (c *Counts) Events(metric int) int64 { return Metrics[metric].over.events(c) }

// Offsets returns Σd and Σd² over the eligible events of a metric, in quanta.
func (c *Counts) Offsets(metric int) (d, d2 int64) { return Metrics[metric].over.offsets(c) }

// Values returns the number of eligible events of a metric, the sum of their
// values and the sum of their squared values under a scoring.
func (c *Counts) Values(metric int, s *Scoring) (n int64, y, yy float64) {
	m := &Metrics[metric]
	events := c.ByEvent()
	for e := m.over.first; e < m.over.end; e++ {
		if k := events[e]; k > 0 {
			w := m.value(e, s)
			y += float64(w * float64(k))
			yy += float64(float64(w*w) * float64(k))
		}
	}
	return m.over.events(c), y, yy
}

// ByEvent returns the counts by event.
func (c *Counts) ByEvent() EventCounts {
	n := EventCounts{ContactEvent: c.Swings - c.Whiffs - c.FoulTips, MissEvent: c.Whiffs, TipEvent: c.FoulTips}
	copy(n[FirstResult:], c.Results[:])
	return n
}

// Count adds one pitch with offset d, or tells that a sum does not fit.
func (c *Counts) Count(swing Swing, class Class, d int64) bool {
	ok := add32(&c.Pitches, 1) // no other count is larger
	if swing != NoSwing {
		c.Swings++
		switch swing {
		case Miss:
			c.Whiffs++
		case Tip:
			c.FoulTips++
		}
		ok = ok && add64(&c.SwingD, d) && add64(&c.SwingD2, d*d)
	}
	if class != NoClass {
		c.Results[class]++
		ok = ok && add64(&c.ResultD, d) && add64(&c.ResultD2, d*d)
	}
	return ok
}

// Add adds o to c, or returns ErrOverflow and leaves c undefined.
func (c *Counts) Add(o *Counts) error {
	ok := add32(&c.Pitches, o.Pitches) && add32(&c.Swings, o.Swings) &&
		add32(&c.Whiffs, o.Whiffs) && add32(&c.FoulTips, o.FoulTips) &&
		add64(&c.SwingD, o.SwingD) && add64(&c.SwingD2, o.SwingD2) &&
		add64(&c.ResultD, o.ResultD) && add64(&c.ResultD2, o.ResultD2)
	for i := range c.Results {
		ok = ok && add32(&c.Results[i], o.Results[i])
	}
	if !ok {
		return ErrOverflow
	}
	return nil
}

func add32(dst *uint32, v uint32) bool {
	sum, carry := bits.Add32(*dst, v, 0)
	*dst = sum
	return carry == 0
}

// add64 adds two sums that are not negative.
func add64(dst *int64, v int64) bool {
	if v > math.MaxInt64-*dst {
		return false
	}
	*dst += v
	return true
}
