package outcome

import "slices"

// Metric is one outcome that is estimated per bin.
type Metric struct {
	Name   string // "whiff_rate", "woba_against"
	Title  string
	Sign   int    // +1 if more is better for the pitcher, −1 if less is
	Events string // "swings", "plate appearances"
	// MinEvents of an end bin, QualifyEvents of a pitcher in the median line.
	MinEvents, QualifyEvents int
	Delta                    float64 // smallest difference worth telling, for edges at m ± δ
	Proportion               bool    // every value is 0 or 1

	events  func(*Counts) int64                     // how many are eligible
	offsets func(*Counts) (d, d2 int64)             // Σd, Σd² over them
	values  func(*Counts, *Scoring) (y, yy float64) // sums of their values and squared values
}

// Metrics lists the outcomes in their order in every table.
var Metrics = []Metric{
	{Name: "whiff_rate", Title: "whiff rate", Sign: +1, Events: "swings", MinEvents: 50, QualifyEvents: 25, Delta: .020, Proportion: true,
		events:  func(c *Counts) int64 { return int64(c.Swings) },
		offsets: func(c *Counts) (d, d2 int64) { return c.SwingD, c.SwingD2 },
		values: func(c *Counts, s *Scoring) (y, yy float64) {
			y = float64(c.Whiffs)
			if s.FoulTipsAreWhiffs {
				y += float64(c.FoulTips)
			}
			return y, y
		}},
	{Name: "woba_against", Title: "wOBA-against", Sign: -1, Events: "plate appearances", MinEvents: 25, QualifyEvents: 25, Delta: .015,
		events:  (*Counts).Appearances,
		offsets: func(c *Counts) (d, d2 int64) { return c.ResultD, c.ResultD2 },
		values: func(c *Counts, s *Scoring) (y, yy float64) {
			for class, k := range c.Results {
				w := s.Weights.Value[class]
				y += float64(w * float64(k))
				yy += float64(float64(w*w) * float64(k))
			}
			return y, yy
		}},
}

// Names returns the names of the outcomes in order.
func Names() []string {
	var out []string
	for _, m := range Metrics {
		out = append(out, m.Name)
	}
	return out
}

// The indices of Metrics.
const (
	Whiff = iota
	WOBA
)

// MetricIndex returns the index of a metric, −1 where there is none of that name.
func MetricIndex(name string) int {
	return slices.IndexFunc(Metrics, func(m Metric) bool { return m.Name == name })
}

// Event is what one eligible pitch adds to a cluster. A swing and a counted
// plate appearance are events of their own: a swinging strike three is two.
type Event uint8

// The events: a kind of swing each, in the order of swings, then one per class of
// result.
const (
	ContactEvent Event = iota // a swing that is neither of the next two
	MissEvent
	TipEvent
	FirstResult // FirstResult + class is a counted plate appearance
	Events      = int(FirstResult) + Classes
)

// EventCounts are the events of one cluster.
type EventCounts [Events]uint32

// Count adds the events of one pitch.
func (n *EventCounts) Count(swing Swing, class Class) {
	if swing != NoSwing {
		n[ContactEvent+Event(swing-Contact)]++
	}
	if class != NoClass {
		n[FirstResult+Event(class)]++
	}
}

// Metric returns the index in Metrics of the metric the event counts in.
func (e Event) Metric() int {
	if e < FirstResult {
		return Whiff
	}
	return WOBA
}

// Value returns the value of one such event in its metric.
func (e Event) Value(s *Scoring) float64 {
	if e >= FirstResult {
		return s.Weights.Value[e-FirstResult]
	}
	if e == MissEvent || e == TipEvent && s.FoulTipsAreWhiffs {
		return 1
	}
	return 0
}
