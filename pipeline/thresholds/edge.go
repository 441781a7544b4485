package thresholds

// How a zone ends: LowerKind and UpperKind.
const (
	EndEdge       = "edge"       // a confirmed breakpoint
	EndOpen       = "open"       // the data end inside the zone
	EndUnresolved = "unresolved" // the evidence fades before a breakpoint is confirmed
)

// Edge is a confirmed breakpoint at one end of a zone. Numbers of the variable are
// in its unit.
type Edge struct {
	At         float64
	Lo, Hi     *float64 // its 95 % limits, nil where it is not pinned
	Lower      bool     // whether it is the lower end of the zone
	BeatsAbove bool     // whether the outcome beats the line above it, not below it
	// Minus and Plus are the breakpoints against the line lowered and raised by delta.
	Minus, Plus *float64
	// LargestShare is the largest share of one pitcher in the events around it,
	// WithoutOne the breakpoint without the pitcher who draws it most.
	LargestShare, WithoutOne *float64
	Beyond                   string // how the advantage goes on inside the zone
}

// Edges returns the confirmed breakpoints of a zone, the lower one first.
func (z *Zone) Edges() []Edge {
	var out []Edge
	if z.LowerKind == EndEdge && z.Lower != nil {
		out = append(out, Edge{*z.Lower, z.LowerLo, z.LowerHi, true, z.Sign > 0, z.LowerMinus, z.LowerPlus,
			z.LowerLargestShare, z.LowerWithoutOne, z.BeyondLower})
	}
	if z.UpperKind == EndEdge && z.Upper != nil {
		out = append(out, Edge{*z.Upper, z.UpperLo, z.UpperHi, false, z.Sign < 0, z.UpperMinus, z.UpperPlus,
			z.UpperLargestShare, z.UpperWithoutOne, z.BeyondUpper})
	}
	return out
}

// RestsOnOne tells whether a breakpoint rests on one pitcher: left out, he takes it
// with him, or moves it more than half the way to one of its 95 % limits, which is
// about as much as all pitchers' chance together. Open limits are nil.
func RestsOnOne(x, lo, hi, without *float64) bool {
	if x == nil {
		return false
	}
	return without == nil || lo != nil && *without < (*x+*lo)/2 || hi != nil && *without > (*x+*hi)/2
}
