package stats

// Curve is a smooth curve through the bins of a table and its joint replicates.
// Read only.
type Curve struct {
	X, N, Rate, F  []float64 // node, events, raw rate and smooth rate by bin
	Gap            []int32   // empty bins between nodes b and b+1, len B−1
	Width          float64   // bin width, in units of x
	Lambda         float64   // smoothing parameter chosen by REML
	Pooled         float64   // ΣY/ΣN
	G              int       // clusters with an event
	Geff           float64   // effective clusters
	Replicates     int
	RepF           []float64 // smooth rates, Replicates × B, one row per replicate
	RepLambda      []float64 // by replicate
	RepPooled      []float64 // ΣY/ΣN by replicate
	BootLo, BootHi []float64 // percentile cluster-bootstrap 95 % limits of the raw rate by bin
}

// FitCurve fits the table and every replicate of the weights; λ is chosen anew
// in each. Panics on a table without an event.
func FitCurve(t *Table, width float64, w *Weights, grid []float64) *Curve { panic("todo") }

// At returns the curve at x, linear between nodes; NaN outside them.
func (c *Curve) At(x float64) float64 { panic("todo") }

// RepAt returns the replicates of the curve at x; NaN outside the nodes.
func (c *Curve) RepAt(x float64) []float64 { panic("todo") }

// Covariance returns the B×B covariance of D* = F* − line* over replicates,
// times G/(G−1).
func (c *Curve) Covariance(l Line) []float64 { panic("todo") }

// Line is a value that curves are compared with.
type Line struct {
	Value float64
	Rep   []float64 // by replicate, drawn jointly with the curve's; nil: without error
}

// Against returns the advantage D = sign·(F − line) on the fine grid. second is
// the second kind of cluster, or nil.
func (c *Curve) Against(l Line, sign float64, second *SecondWay) *Band { panic("todo") }
