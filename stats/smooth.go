package stats

// LambdaGrid returns the smoothing parameters that are tried: 1e-4 … 1e7 with
// the steps given per decade (2 gives 23, 4 gives 45), ascending.
func LambdaGrid(stepsPerDecade int) []float64 { panic("todo") }

// Smoother fits curves on fixed nodes. It holds scratch memory, so it belongs
// to one goroutine.
type Smoother struct{}

// NewSmoother prepares nodes x (ascending, in bin widths) and the grid of
// smoothing parameters (ascending, positive).
func NewSmoother(x, grid []float64) *Smoother { panic("todo") }

// Fit chooses λ by REML on the grid, writes the twiced fit of y with weights w
// (≥ 0) to dst and returns λ. Where fewer than 4 nodes have weight it takes the
// fallback λ.
func (s *Smoother) Fit(y, w, dst []float64, fallback float64) (lambda float64) { panic("todo") }

// FitAt writes the twiced fit Sy + S(y − Sy) at λ to dst.
func (s *Smoother) FitAt(lambda float64, y, w, dst []float64) { panic("todo") }

// Smooth writes the plain fit Sy at λ to dst.
func (s *Smoother) Smooth(lambda float64, y, w, dst []float64) { panic("todo") }

// Criterion returns the REML criterion at λ (smaller is better).
func (s *Smoother) Criterion(lambda float64, y, w []float64) float64 { panic("todo") }

// Operator returns the B×B matrix S(2I − S) at λ by rows: the twiced fit of y is
// its product with y.
func (s *Smoother) Operator(lambda float64, w []float64) []float64 { panic("todo") }
