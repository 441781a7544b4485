package stats

// Substeps is the number of grid steps from one node to the next.
const Substeps = 8

// Band is the advantage of a curve over a line on a fine grid: every node and
// 8 substeps between two. D, SE and T are positive-is-better. Read only.
type Band struct {
	X, D, SE, T []float64
	DF          float64 // degrees of freedom, at least 1
	Crit        float64 // t_.975(DF)
	Sign        float64
	Line        Line
	Curve       *Curve
	Second      *SecondWay // nil where there is one kind of cluster
}

// Edge is a confirmed crossing of the line.
type Edge struct {
	X       float64
	Lo, Hi  float64 // 95 % limits; −Inf or +Inf where it is not pinned on that side
	Up      bool    // the advantage rises through 0
	Weak    bool    // estimated chance that such an edge is confirmed is below 15 %
	Power   float64 // that chance
	Widened bool    // a limit was taken at t_.99 as its side is weakly supported
}

// Edges are what separates stretches of opposite sign.
type Edges struct {
	Confirmed []Edge
	InGap     []float64 // crossings inside a gap of ≥ 2 empty bins, which are not confirmed
}

// Edges finds the confirmed edges at the band's critical value.
func (b *Band) Edges() Edges { panic("todo") }

// EdgesAt is Edges at a stated critical value for labels and plain limits,
// without the rule for weakly supported ones.
func (b *Band) EdgesAt(crit float64) Edges { panic("todo") }

// End says how a zone ends on one side.
type End int

// The ends of a zone.
const (
	Unresolved End = iota // evidence fades before an edge is confirmed
	Open                  // reaches the last node; nothing is known beyond
	Edged                 // a confirmed edge
)

// Side is one end of a zone.
type Side struct {
	End  End
	X    float64 // the edge, or where the certain zone ends
	Edge *Edge   // nil unless Edged
	Gap  bool    // unresolved as the crossing lies in a gap of ≥ 2 empty bins
}

// Zone is a stretch where the advantage has one sign.
type Zone struct {
	Sign                   int // +1 beats the line, −1 falls behind it
	Lower, Upper           Side
	CertainLo, CertainHi   float64 // NaN where no certain zone is left
	PossibleLo, PossibleHi float64 // ∓Inf where it has no end
	Mass                   float64 // share of the events between Lower.X and Upper.X
}

// Zones lists the zones of both signs from left to right.
func (b *Band) Zones(e Edges) []Zone { panic("todo") }

// EdgeShifted returns where the edge stands against the line plus delta: the
// nearest crossing in the same direction between the neighbouring confirmed
// edges; NaN where there is none.
func (b *Band) EdgeShifted(e Edges, i int, delta float64) float64 { panic("todo") }

// Throughout tells whether the advantage is beyond 0 over the central 90 % of
// events: sign +1 always, −1 never, 0 neither. everywhere adds that it holds at
// every node.
func (b *Band) Throughout() (sign int, everywhere bool) { panic("todo") }

// Support returns the share of replicates that hold a zone of the same sign with
// a mass-Jaccard of at least .5. Display only, no evidence.
func (b *Band) Support(z Zone) float64 { panic("todo") }

// Course says how the advantage goes on past an edge.
type Course int

// The courses.
const (
	CannotTell Course = iota
	KeepsRising
	Holds
	FallsBack
)

// Beyond is the course of the advantage from an edge into its zone.
type Beyond struct {
	Course Course
	Slope  float64 // change of the advantage per unit of x, away from the edge; NaN where fewer than 2 nodes
	Lo, Hi float64 // 95 % limits
}

// Beyond judges a zone from its lower (upper = false) or upper edge. margin is
// the change of the advantage over the stretch that counts as none.
func (b *Band) Beyond(z Zone, upper bool, margin float64) Beyond { panic("todo") }

// RepAt returns the replicates of D at x.
func (b *Band) RepAt(x float64) []float64 { panic("todo") }
