package stats_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// isotonic returns the non-decreasing fit that minimises Σ w(y − f)², by pooling
// adjacent violators: neighbours that fall are replaced by their weighted mean
// until none do. w are positive weights, one per y; nil weighs all alike.
// Panics on lengths that differ or a weight that is not positive.
//
// Source: Ayer et al. 1955, Annals of Mathematical Statistics 26:641.
func isotonic(y, w []float64) []float64 {
	if w != nil && len(w) != len(y) {
		panic("isotonic needs one weight per value")
	}
	type block struct {
		mean, weight float64
		size         int
	}
	var blocks []block
	for i, v := range y {
		b := block{v, 1, 1}
		if w != nil {
			b.weight = w[i]
		}
		if !(b.weight > 0) {
			panic("isotonic needs positive weights")
		}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean > b.mean {
			last := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			weight := last.weight + b.weight
			b.mean = (float64(last.weight*last.mean) + float64(b.weight*b.mean)) / weight
			b.weight, b.size = weight, b.size+last.size
		}
		blocks = append(blocks, b)
	}
	fit := make([]float64, 0, len(y))
	for _, b := range blocks {
		for range b.size {
			fit = append(fit, b.mean)
		}
	}
	return fit
}

// numbers reads a JSON array of numbers or, as R writes a vector of length one,
// a lone number.
type numbers []float64

func (n *numbers) UnmarshalJSON(src []byte) error {
	var one float64
	if json.Unmarshal(src, &one) == nil {
		*n = numbers{one}
		return nil
	}
	return json.Unmarshal(src, (*[]float64)(n))
}

func TestIsotonicVectors(t *testing.T) {
	var v struct {
		Cases []struct{ Y, W, Increasing, MinMax numbers }
	}
	vector(t, "pava", &v)
	if len(v.Cases) != 4 {
		t.Fatalf("%d cases, want 4", len(v.Cases))
	}
	for _, c := range v.Cases {
		allNear(t, "increasing", isotonic(c.Y, c.W), c.Increasing, 1e-13)
		if c.MinMax != nil {
			allNear(t, "min-max formula", isotonic(c.Y, c.W), c.MinMax, 1e-13)
		}
	}
	allNear(t, "no weights", isotonic(v.Cases[0].Y, nil), v.Cases[0].Increasing, 1e-13)
}

// The fit must rise, keep the weighted sum, and equal the min-max formula
// (Robertson, Wright & Dykstra 1988, Order Restricted Statistical Inference,
// theorem 1.4.4, from memory).
func TestIsotonicIsTheMinMaxFormula(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(0, 25).Draw(rt, "n")
		y := rapid.SliceOfN(rapid.Float64Range(-9, 9), n, n).Draw(rt, "y")
		w := rapid.SliceOfN(rapid.Float64Range(.1, 20), n, n).Draw(rt, "w")
		before := slices.Clone(y)
		fit := isotonic(y, w)
		if !slices.IsSorted(fit) {
			rt.Fatalf("the fit falls: %v", fit)
		}
		mean := func(a, b int) float64 {
			var sw, swy float64
			for i := a; i <= b; i++ {
				sw, swy = sw+w[i], swy+w[i]*y[i]
			}
			return swy / sw
		}
		for i := range y {
			most := math.Inf(-1)
			for a := 0; a <= i; a++ {
				least := math.Inf(1)
				for b := i; b < n; b++ {
					least = min(least, mean(a, b))
				}
				most = max(most, least)
			}
			if math.Abs(fit[i]-most) > 1e-9 {
				rt.Fatalf("value %d: %v, want %v", i, fit[i], most)
			}
		}
		if !slices.Equal(y, before) {
			rt.Fatal("the argument was modified")
		}
	})
	panics(t, "a weight of zero", func() { isotonic([]float64{1}, []float64{0}) })
	panics(t, "too few weights", func() { isotonic([]float64{1, 2}, []float64{1}) })
}
