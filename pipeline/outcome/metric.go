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

	over  *eligible
	value func(Event, *Scoring) float64 // of an eligible event
}

// eligible are the events that outcomes are taken over.
type eligible struct {
	first, end Event                       // the last one + 1
	of         func(Swing, Class) Event    // of a pitch, NoEvent for none
	events     func(*Counts) int64         // how many there are
	offsets    func(*Counts) (d, d2 int64) // Σd, Σd² over them
}

// What an outcome can be taken over.
var (
	swings = &eligible{ContactEvent, FirstResult, ofSwing,
		func(c *Counts) int64 { return int64(c.Swings) },
		func(c *Counts) (d, d2 int64) { return c.SwingD, c.SwingD2 }}
	appearances = &eligible{FirstResult, NoEvent, ofResult,
		(*Counts).Appearances,
		func(c *Counts) (d, d2 int64) { return c.ResultD, c.ResultD2 }}
)

// Metrics lists the outcomes in their order in every table.
var Metrics = []Metric{
	{Name: "whiff_rate", Title: "whiff rate", Sign: +1, Events: "swings", MinEvents: 50, QualifyEvents: 25, Delta: .020, Proportion: true,
		over: swings, value: func(e Event, s *Scoring) float64 {
			if e == MissEvent || e == TipEvent && s.FoulTipsAreWhiffs {
				return 1
			}
			return 0
		}},
	{Name: "woba_against", Title: "wOBA-against", Sign: -1, Events: "plate appearances", MinEvents: 25, QualifyEvents: 25, Delta: .015,
		over: appearances, value: func(e Event, s *Scoring) float64 { return s.Weights.Value[e-FirstResult] }},
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

// NoEvent is that of a pitch which adds none.
const NoEvent = Event(Events)

// EventCounts are the events of one cluster.
type EventCounts [Events]uint32

// Count adds the events of one pitch.
func (n *EventCounts) Count(swing Swing, class Class) {
	for _, e := range []Event{ofSwing(swing, class), ofResult(swing, class)} {
		if e != NoEvent {
			n[e]++
		}
	}
}

func ofSwing(swing Swing, _ Class) Event {
	if swing == NoSwing {
		return NoEvent
	}
	return ContactEvent + Event(swing-Contact)
}

func ofResult(_ Swing, class Class) Event {
	if class == NoClass {
		return NoEvent
	}
	return FirstResult + Event(class)
}

// Counts tells whether the event is eligible.
func (m *Metric) Counts(e Event) bool { return e >= m.over.first && e < m.over.end }

// Value returns the value of one eligible event.
func (m *Metric) Value(e Event, s *Scoring) float64 { return m.value(e, s) }

// Of returns the eligible event of a pitch, NoEvent for none.
func (m *Metric) Of(swing Swing, class Class) Event { return m.over.of(swing, class) }
