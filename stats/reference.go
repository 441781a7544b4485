package stats

// TQuantile returns Student's quantile at p for df degrees of freedom (> 0, not
// necessarily whole).
func TQuantile(p, df float64) float64 { panic("todo") }

// WeightedMedian returns the median of values sorted ascending, each counted
// weight times: the smallest value at which more than half of the weight is
// reached, or the mean of the two neighbours on an exact half. false where there
// is no weight.
func WeightedMedian(sorted []float64, weight []uint8) (float64, bool) { panic("todo") }

// Median is WeightedMedian with every weight 1.
func Median(sorted []float64) float64 { panic("todo") }

// Level is the advantage of a whole cell over a line.
type Level struct {
	D, SE, Lo, Hi float64
	Verdict       int // +1 above the line, −1 below, 0 not shown
}

// Level compares the pooled rate with the line: sign·(ΣY/ΣN − line) ±
// t_.975·se, se from joint replicates.
func (c *Curve) Level(l Line, sign float64, second *SecondWay) Level { panic("todo") }
