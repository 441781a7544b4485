package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// A case by hand: two second clusters of 4 events a side, whiffs 1 and 3 inside,
// 2 and 2 outside.
func TestCutoffWithSecondByHand(t *testing.T) {
	c := stats.CompareCutoff([]float64{2, 2, 0}, []float64{3, 3, 2}, []float64{1, 2, 1}, []float64{2, 3, 3}, anySize())
	two := c.WithSecond(
		&stats.Sums{Y: []float64{1, 3}, N: []float64{4, 4}, YY: 4},
		&stats.Sums{Y: []float64{2, 2}, N: []float64{4, 4}, YY: 4})
	// r = 1/2 on both sides; inside ψ = (1 − 2)/4 and (3 − 2)/4, outside 0:
	// V_second = 1/2·(1/16 + 1/16) = 1/16; V_event = 2·(4 − 2)/(8·7) = 1/14.
	near(t, "events weigh more", two.SE, c.SE, 1e-15)
	// With all whiffs inside to one batter: ψ = ±1/2, V_second = 1/4.
	two = c.WithSecond(
		&stats.Sums{Y: []float64{0, 4}, N: []float64{4, 4}, YY: 4},
		&stats.Sums{Y: []float64{2, 2}, N: []float64{4, 4}, YY: 4})
	near(t, "variance", float64(two.SE*two.SE)-float64(c.SE*c.SE), 1./4-1./14, 1e-12)
	// Two second clusters alike on either side: Welch has (V_in + 0)²/(V_in²/1).
	near(t, "df", two.DF, 1, 1e-12)
	if !(two.Lo < c.Lo && two.Hi > c.Hi && two.D == c.D) {
		t.Errorf("%+v is no wider than %+v", two, c)
	}
	one := c.WithSecond(&stats.Sums{Y: []float64{4, 0}, N: []float64{8, 0}, YY: 4}, &stats.Sums{Y: []float64{2, 2}, N: []float64{4, 4}, YY: 4})
	if one != c {
		t.Errorf("one second cluster: %+v, want %+v", one, c)
	}
}

// Second clusters that are single events add nothing, whatever the values.
func TestCutoffSecondOfSingleEvents(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var y, n [2][]float64
	var side [2]stats.Sums
	for range 20 {
		for k := range 2 {
			y[k], n[k] = append(y[k], 0), append(n[k], 0)
			for range 5 {
				v := rng.NormFloat64()
				y[k][len(y[k])-1] += v
				n[k][len(n[k])-1]++
				side[k].YY += v * v
				for j := range 2 {
					side[j].Y, side[j].N = append(side[j].Y, 0), append(side[j].N, 0)
				}
				side[k].Y[len(side[k].Y)-1], side[k].N[len(side[k].N)-1] = v, 1
			}
		}
	}
	c := stats.CompareCutoff(y[0], n[0], y[1], n[1], anySize())
	two := c.WithSecond(&side[0], &side[1])
	if extra := two.SE*two.SE - c.SE*c.SE; math.Abs(extra) > .02*c.SE*c.SE {
		t.Errorf("single events add %g to %g", extra, c.SE*c.SE)
	}
}
