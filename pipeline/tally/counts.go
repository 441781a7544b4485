package tally

import (
	"errors"
	"math"
	"math/bits"

	"sill/pipeline/outcome"
)

// ErrOverflow is returned where a sum does not fit its integer.
var ErrOverflow = errors.New("count pitches: a sum does not fit its integer")

// Counts are the sums of one (cell, variable, bin, cluster). Offsets d are in
// quanta from the bin's lower edge (0 ≤ d < width); they are summed apart over
// swings and over counted plate appearances since each outcome has its own
// events. Every add is checked for overflow.
type Counts struct {
	Pitches, Swings, Whiffs, FoulTips  uint32 // Whiffs without the foul tips
	Results                            [outcome.Classes]uint32
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

// Events returns the eligible events of a metric (an index of outcome.Metrics).
func (c *Counts) Events(metric int) int64 {
	if metric == outcome.Whiff {
		return int64(c.Swings)
	}
	return c.Appearances()
}

// Offsets returns Σd and Σd² over the eligible events of a metric, in quanta.
func (c *Counts) Offsets(metric int) (d, d2 int64) {
	if metric == outcome.Whiff {
		return c.SwingD, c.SwingD2
	}
	return c.ResultD, c.ResultD2
}

// Values returns the number of eligible events of a metric, the sum of their
// values and the sum of their squared values under a scoring.
func (c *Counts) Values(metric int, s *outcome.Scoring) (n int64, y, yy float64) {
	if metric == outcome.Whiff {
		y = float64(c.Whiffs)
		if s.FoulTipsAreWhiffs {
			y += float64(c.FoulTips)
		}
		return int64(c.Swings), y, y
	}
	for class, k := range c.Results {
		w := s.Weights.Value[class]
		n += int64(k)
		y += float64(w * float64(k))
		yy += float64(float64(w*w) * float64(k))
	}
	return n, y, yy
}

// count adds one pitch with offset d, or tells that a sum does not fit.
func (c *Counts) count(h head, d int64) bool {
	ok := add32(&c.Pitches, 1) // no other count is larger
	if h.swing != outcome.NoSwing {
		c.Swings++
		switch h.swing {
		case outcome.Miss:
			c.Whiffs++
		case outcome.Tip:
			c.FoulTips++
		}
		ok = ok && add64(&c.SwingD, d) && add64(&c.SwingD2, d*d)
	}
	if h.class != noClass {
		c.Results[h.class]++
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

// Event is what one eligible pitch adds to a cluster. A swing and a counted
// plate appearance are events of their own: a swinging strike three is two.
type Event uint8

// The events: three kinds of swings, then one per class of result.
const (
	Contact     Event = iota // a swing that is neither of the next two
	Whiff                    // a swing and miss
	FoulTip                  // a foul tip
	FirstResult              // FirstResult + class is a counted plate appearance
	Events      = int(FirstResult) + outcome.Classes
)

// Metric returns the index in outcome.Metrics of the metric the event counts in.
func (e Event) Metric() int {
	if e < FirstResult {
		return outcome.Whiff
	}
	return outcome.WOBA
}

// Value returns the value of one such event in its metric.
func (e Event) Value(s *outcome.Scoring) float64 {
	if e >= FirstResult {
		return s.Weights.Value[e-FirstResult]
	}
	if e == Whiff || e == FoulTip && s.FoulTipsAreWhiffs {
		return 1
	}
	return 0
}

// BatterCount is how often one event befell one batter, in eight bytes: the
// batter table is long and thin.
type BatterCount struct {
	Batter int32 // index into Tally.Batters
	packed uint32
}

// maxBatterCount is the largest count that BatterCount holds.
const maxBatterCount = 1<<24 - 1

// Event returns what was counted.
func (b BatterCount) Event() Event { return Event(b.packed >> 24) }

// Count returns how often.
func (b BatterCount) Count() int64 { return int64(b.packed & maxBatterCount) }

func newBatterCount(batter int32, e Event, n uint32) (BatterCount, error) {
	if n > maxBatterCount {
		return BatterCount{}, ErrOverflow
	}
	return BatterCount{Batter: batter, packed: uint32(e)<<24 | n}, nil
}
