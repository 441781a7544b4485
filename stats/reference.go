package stats

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// TQuantile returns Student's quantile at p for df degrees of freedom (> 0, not
// necessarily whole). Panics outside 0 < p < 1.
func TQuantile(p, df float64) float64 {
	if !(p > 0 && p < 1 && df > 0) {
		panic("stats: TQuantile needs 0 < p < 1 and df > 0")
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}

// quantiles remembers Student's quantiles: curves and contrasts ask for the same
// few again and again. Safe for concurrent use; the zero value is ready.
type quantiles struct{ known sync.Map }

func (q *quantiles) at(p, df float64) float64 {
	if q == nil {
		return TQuantile(p, df)
	}
	key := [2]float64{p, df}
	if v, ok := q.known.Load(key); ok {
		return v.(float64)
	}
	v := TQuantile(p, df)
	q.known.Store(key, v)
	return v
}

// normal975 is the quantile of the normal law that t tends to.
var normal975 = TQuantile(.975, 1e9)

// WeightedMedian returns the median of values sorted ascending, each counted
// weight times: the smallest value at which more than half of the weight is
// reached, or the mean of it and the next where exactly half is. false where
// there is no weight.
func WeightedMedian(sorted []float64, weight []uint8) (float64, bool) {
	if len(sorted) != len(weight) {
		panic("stats: WeightedMedian needs a weight for every value")
	}
	total := 0
	for _, w := range weight {
		total += int(w)
	}
	sum := 0
	for i, w := range weight {
		sum += int(w)
		if 2*sum > total {
			return sorted[i], true
		}
		if w > 0 && 2*sum == total {
			next := i + 1
			for weight[next] == 0 {
				next++
			}
			return (sorted[i] + sorted[next]) / 2, true
		}
	}
	return math.NaN(), false
}

// Level is the advantage of a whole curve's events over a line.
type Level struct {
	D, SE, Lo, Hi float64
	Verdict       int // +1 above the line, −1 below, 0 not shown
}

// Level compares the pooled rate with the line, D = sign·(ΣY/ΣN − line) with
// D ± t_.975·se: se from joint replicates times √(G/(G−1)), plus what a second
// kind of cluster adds. With one cluster se is infinite and nothing is shown.
func (c *Curve) Level(l Line, sign float64, second *SecondWay) Level {
	v := Level{D: sign * (c.Pooled - l.Value)}
	var m moments
	for r, p := range c.RepPooled {
		m.add(p - l.at(r))
	}
	extra := 0.0
	if second != nil {
		extra = second.pooledBeside(l.Second)
	}
	v.SE = math.Sqrt(m.variance()*c.inflate() + extra)
	half := c.quantiles.at(.975, c.DF(second)) * v.SE
	v.Lo, v.Hi = v.D-half, v.D+half
	if v.SE > 0 && v.Lo > 0 {
		v.Verdict = 1
	}
	if v.SE > 0 && v.Hi < 0 {
		v.Verdict = -1
	}
	return v
}

// moments gathers mean and variance in one pass.
//
// Source: Welford 1962, Technometrics 4:419.
type moments struct{ n, mean, sum float64 }

func (m *moments) add(v float64) {
	m.n++
	d := v - m.mean
	m.mean += d / m.n
	m.sum += float64(d * (v - m.mean))
}

// variance returns the sample variance, 0 for fewer than 2 values.
func (m *moments) variance() float64 {
	if m.n < 2 {
		return 0
	}
	return m.sum / (m.n - 1)
}
