package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// gapTables draws two tables of the same clusters whose rates at x are a and b.
func gapTables(seed uint64, clusters int, a, b func(x float64) float64) (ta, tb *Table) {
	rng := rand.New(rand.NewPCG(seed, 9))
	effect := make([]float64, clusters)
	for i := range effect {
		effect[i] = .08 * rng.NormFloat64()
	}
	draw := func(rate func(float64) float64) *Table {
		t := &Table{Start: []int32{0}, Clusters: clusters}
		for x := 88.5; x < 99; x++ {
			for c := range clusters {
				n := float64(4 + rng.IntN(8))
				y := 0.0
				for range int(n) {
					if rng.Float64() < rate(x)+effect[c] {
						y++
					}
				}
				t.Cluster, t.N, t.Y = append(t.Cluster, int32(c)), append(t.N, n), append(t.Y, y)
			}
			t.X, t.Start = append(t.X, x), append(t.Start, int32(len(t.Cluster)))
		}
		return t
	}
	return draw(a), draw(b)
}

// TestThirdsByHand: where curves are straight lines the gap in a third is the gap
// at its mean, the change is the gap at the one mean less the gap at the other, and
// the two agree with the level contrast at these places.
func TestThirdsByHand(t *testing.T) {
	rise := func(x float64) float64 { return .2 + .02*(x-93) }
	flat := func(float64) float64 { return .2 }
	ta, tb := gapTables(1, 80, rise, flat)
	w := DrawMultinomial([32]byte{1}, 80, 400)
	grid := []float64{1e7} // straight lines
	a, b := FitCurve(ta, 1, w, grid), FitCurve(tb, 1, w, grid)
	got := NewThirds(a, b, 1, nil, nil)
	c := ContrastLevels(a, b, got.X[:], 1, nil, nil)
	for k := range got.X {
		if math.Abs(got.Gap[k].Estimate-c.D[k]) > 1e-5 || math.Abs(got.Gap[k].Lo-c.Lo[k]) > 1e-5 {
			t.Errorf("third %d: %+v, level %v from %v", k, got.Gap[k], c.D[k], c.Lo[k])
		}
		if over := got.Over(func(x float64) float64 { return x })[k]; math.Abs(over-got.X[k]) > 1e-9 {
			t.Errorf("mean of x in third %d is %v, not %v", k, over, got.X[k])
		}
	}
	if want := c.D[2] - c.D[0]; math.Abs(got.Change.Estimate-want) > 1e-5 || got.Change.Lo < 0 || got.P > .01 {
		t.Errorf("change %+v, want %v; p %v", got.Change, want, got.P)
	}
	if math.Abs(got.Bend.Estimate) > 1e-3 {
		t.Errorf("straight lines bend by %+v", got.Bend)
	}
	turned := NewThirds(b, a, -1, nil, nil)
	if math.Abs(turned.Change.Estimate-got.Change.Estimate) > 1e-12 || turned.P != got.P || turned.Within != got.Within {
		t.Errorf("turned round: %+v, was %+v", turned, got)
	}
	same := NewThirds(a, a, 1, nil, nil)
	if same.P != 1 || same.Within != 0 {
		t.Errorf("a curve less itself: %+v", same)
	}
}

// TestThirdsJoint: draws that are not joint widen the gap of pitchers who face both
// sides.
func TestThirdsJoint(t *testing.T) {
	rate := func(x float64) float64 { return .2 + .01*(x-93) }
	ta, tb := gapTables(2, 60, rate, rate)
	w, other := DrawMultinomial([32]byte{1}, 60, 300), DrawMultinomial([32]byte{2}, 60, 300)
	a, b, apart := FitCurve(ta, 1, w, LambdaGrid(2)), FitCurve(tb, 1, w, LambdaGrid(2)), FitCurve(tb, 1, other, LambdaGrid(2))
	joint, wrong := NewThirds(a, b, 1, nil, nil), NewThirds(a, apart, 1, nil, nil)
	if j, w := joint.Gap[1].Hi-joint.Gap[1].Lo, wrong.Gap[1].Hi-wrong.Gap[1].Lo; !(j < .95*w) {
		t.Errorf("joint width %v, apart %v", j, w)
	}
}

// TestThirdsOfTooLittle: a short common range tells nothing.
func TestThirdsOfTooLittle(t *testing.T) {
	ta, tb := gapTables(3, 30, func(float64) float64 { return .2 }, func(float64) float64 { return .2 })
	for i := range tb.X {
		tb.X[i] += 9
	}
	w := DrawMultinomial([32]byte{1}, 30, 50)
	if got := NewThirds(FitCurve(ta, 1, w, LambdaGrid(2)), FitCurve(tb, 1, w, LambdaGrid(2)), 1, nil, nil); got != nil {
		t.Errorf("two nodes in common gave %+v", got)
	}
}
