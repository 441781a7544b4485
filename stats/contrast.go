package stats

// Interval is an estimate with 95 % limits.
type Interval struct{ Estimate, Lo, Hi float64 }

// Mover returns e1 − e2 with limits recovered from the two intervals and the
// correlation rho of the two. A limit that an open limit enters is infinite.
func Mover(e1, e2 Interval, rho float64) Interval { panic("todo") }

// EdgeContrast returns edge e1 of band a less edge e2 of band b with the
// correlation over joint replicates.
func EdgeContrast(a, b *Band, e1, e2 Edge) (d Interval, rho float64) { panic("todo") }

// LevelContrast is sign·(f_a − f_b) along x, from joint replicates.
type LevelContrast struct {
	X, D, SE, Lo, Hi []float64 // pointwise 95 % limits
	DF               float64
	P                float64 // max-|t| p of the whole contrast
	MaxAbs           float64 // largest |D|
	EqualWithin      float64 // smallest δ such that every pointwise interval lies in ±δ
}

// ContrastLevels compares two curves at the points of x (which must lie inside
// both). The weights of both must be the same draw or independent ones. sa and
// sb are the second kinds of cluster, or nil.
func ContrastLevels(a, b *Curve, x []float64, sign float64, sa, sb *SecondWay) *LevelContrast {
	panic("todo")
}

// Overlap returns a grid over the range that both curves cover: the nodes of
// both inside it and its ends; nil where they do not overlap.
func Overlap(a, b *Curve) []float64 { panic("todo") }
