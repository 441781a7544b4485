package calibrate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// TestRatioError: where leagues agree in their own shares the error is that of
// leagues, not of edges.
func TestRatioError(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const sets, leagues, edges = 4000, 12, 50
	var rates, errors []float64
	for range sets {
		hits, trials := make([]float64, leagues), make([]float64, leagues)
		sum := 0.0
		for i := range leagues {
			own := .9 // edges of a league succeed together
			if rng.IntN(2) == 0 {
				own = .6
			}
			trials[i] = edges
			for range edges {
				if rng.Float64() < own {
					hits[i]++
				}
			}
			sum += hits[i]
		}
		rates, errors = append(rates, sum/leagues/edges), append(errors, ratioError(hits, trials))
	}
	_, sd := stat.MeanStdDev(rates, nil)
	mean := stat.Mean(errors, nil)
	binomial := math.Sqrt(.75 * .25 / leagues / edges)
	if math.Abs(mean/sd-1) > .05 || sd < 2*binomial {
		t.Errorf("error %.4f on average, spread of the share %.4f, binomial %.4f", mean, sd, binomial)
	}
}
