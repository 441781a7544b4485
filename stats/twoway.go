package stats

// SecondWay holds what a second kind of cluster (say, the other party of every
// event) adds to the variance of a curve: V_second − V_event by the delta method
// through the fitted linear smoother. Read only.
type SecondWay struct {
	Clusters int     // second clusters with an event
	Geff     float64 // effective second clusters
}

// NewSecondWay takes the curve's own bins counted by the second kind of cluster.
// Panics where the bins differ from the curve's.
func NewSecondWay(c *Curve, second *Table) *SecondWay { panic("todo") }

// At returns max(0, V_second − V_event) of the curve at x.
func (s *SecondWay) At(x float64) float64 { panic("todo") }

// Along returns max(0, V_second − V_event) of Σ a_b·F_b.
func (s *SecondWay) Along(a []float64) float64 { panic("todo") }

// Pooled returns max(0, V_second − V_event) of ΣY/ΣN.
func (s *SecondWay) Pooled() float64 { panic("todo") }

// Difference returns max(0, V_second − V_event) of a's curve at x less b's
// curve at x. Both number their second clusters alike and share no event.
func (s *SecondWay) Difference(o *SecondWay, x float64) float64 { panic("todo") }
