package locate

import (
	"math"

	"sill/pipeline/estimate"
	"sill/stats"
)

// The ways in which an advantage runs along the whole variable.
const (
	Rising  = "rising"
	Falling = "falling"
	Turning = "turning"
	Flat    = "flat"
)

// trend compares the mean advantage of the lowest, middle and highest third of
// the events: turning if it is shown to rise between two neighbours and to fall
// between the others, else rising or falling if the outer thirds are shown to
// differ. Flat means that neither is shown. The line drops out of a difference,
// so the trend is the same against every line.
func trend(c *estimate.Curve, crit float64) string {
	f := c.Fit
	thirds := [3][]float64{}
	for k := range thirds {
		thirds[k] = make([]float64, len(f.X))
	}
	total, below := 0.0, 0.0
	for _, n := range f.N {
		total += n
	}
	var sum [3]float64
	for b, n := range f.N {
		k := min(2, int(3*(below+n/2)/total))
		thirds[k][b] = n
		sum[k] += n
		below += n
	}
	for k, w := range thirds {
		for b := range w {
			w[b] /= max(sum[k], 1)
		}
	}
	shown := func(from, to int) int {
		if sum[from] == 0 || sum[to] == 0 {
			return 0
		}
		a := make([]float64, len(f.X))
		for b := range a {
			a[b] = c.Sign() * (thirds[to][b] - thirds[from][b])
		}
		v := spread(f, a)
		if c.Second != nil {
			v += c.Second.Along(a)
		}
		switch d := dot(a, f.F); {
		case d > crit*math.Sqrt(v):
			return 1
		case d < -crit*math.Sqrt(v):
			return -1
		}
		return 0
	}
	switch first, second, whole := shown(0, 1), shown(1, 2), shown(0, 2); {
	case first*second < 0:
		return Turning
	case whole > 0:
		return Rising
	case whole < 0:
		return Falling
	}
	return Flat
}

// spread is the variance of Σa·F over joint replicates, times G/(G−1).
func spread(f *stats.Curve, a []float64) float64 {
	v := make([]float64, f.Replicates)
	for r := range v {
		v[r] = dot(a, f.RepF[r*len(a):(r+1)*len(a)])
	}
	_, variance := stats.MeanVariance(v)
	g := float64(f.G)
	return variance * g / (g - 1)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}
