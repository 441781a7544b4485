package pitch

// Counter looks at pitches as they pass. Several workers may call Add at once, each
// with its own number; the batch's memory is used again afterwards. What a counter
// holds does not depend on the order of batches or on which worker saw them.
type Counter interface {
	Add(worker int, batch []Pitch) error
}

// CounterFunc is a function that serves as a Counter.
type CounterFunc func(worker int, batch []Pitch) error

// Add calls the function.
func (f CounterFunc) Add(worker int, batch []Pitch) error { return f(worker, batch) }
