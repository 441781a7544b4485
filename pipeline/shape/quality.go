package shape

// Quality counts what a worker met while it completed pitches. Counts add, so
// the sum over workers depends on the data alone.
type Quality struct {
	Tracked          int64 // pitches with a flight
	NoFlight         int64 // pitches rejected by that rule
	DefaultExtension int64 // tracked pitches of unknown extension, released at y = 55 ft
	DefaultZone      int64 // pitches measured against the default zone
	// Compared and Disagreeing count, per completed number, the pitches with
	// both the provider's value and the trajectory's, and those beyond the
	// tolerance.
	Compared, Disagreeing [len(completed)]int64
}

// Add adds another worker's counts.
func (q *Quality) Add(o *Quality) {
	q.Tracked += o.Tracked
	q.NoFlight += o.NoFlight
	q.DefaultExtension += o.DefaultExtension
	q.DefaultZone += o.DefaultZone
	for i := range q.Compared {
		q.Compared[i] += o.Compared[i]
		q.Disagreeing[i] += o.Disagreeing[i]
	}
}

// Disagreement is how often a provided column differs from the trajectory.
type Disagreement struct {
	Column    string  `json:"column"`
	Tolerance float64 `json:"tolerance"` // in the column's unit
	Compared  int64   `json:"compared"`
	Beyond    int64   `json:"beyond"`
}

// Disagreements returns the columns that were compared, in a fixed order.
func (q *Quality) Disagreements() []Disagreement {
	var out []Disagreement
	for i, c := range completed {
		if q.Compared[i] > 0 {
			out = append(out, Disagreement{c.column, c.tolerance, q.Compared[i], q.Disagreeing[i]})
		}
	}
	return out
}
