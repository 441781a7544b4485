package estimate

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// TestLineOfMice gives seven pitchers as many whiffs of 200 swings as seven mice
// lived days (Efron & Tibshirani 1993, Table 2.1, see the file) and draws all 7⁷
// samples of them. The interval of the rate is then the textbook's of a mean of
// seven, with s/√7 and Student's t of 6 degrees of freedom; that of the median has
// the published standard error of all samples, times √(7/6), and the same t.
func TestLineOfMice(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/boot_mouse_exact.json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct {
		Treat    []int
		Mean     float64 `json:"mean_treat"`
		SE       float64 `json:"se_formula_treat"`
		SEMedian float64 `json:"ideal_boot_se_median_treat"`
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	const swings, median = 200, 94
	const student = 2.446911851 // R: qt(.975, 6)
	var pitches []pitch.Pitch
	var names tally.Names
	for i, whiffs := range v.Treat {
		names.Pitchers = append(names.Pitchers, fmt.Sprint(i))
		for k := range swings {
			p := blank(int32(i))
			if p.Outcome = pitch.Foul; k < whiffs {
				p.Outcome = pitch.SwingingStrike
			}
			pitches = append(pitches, p)
		}
	}
	o := DefaultOptions()
	o.Replicates = 100
	e, err := New(t.Context(), count(t, pitches, names), o)
	if err != nil {
		t.Fatal(err)
	}
	g := len(v.Treat)
	samples := int(math.Pow(float64(g), float64(g)))
	draws := make([]uint8, samples*g)
	for s := range samples {
		for k, rest := 0, s; k < g; k++ {
			draws[s*g+rest%g]++
			rest /= g
		}
	}
	e.options.Replicates = samples
	e.pitchers[pitch.LeftHand].weights = stats.NewWeights(g, draws)
	lines := e.lines(e.pool(outcome.Whiff, func(tally.Cell) bool { return true }), outcome.Whiff, TypeMedian, TypeRate, Line{})
	for i, want := range []struct{ value, se float64 }{{median, v.SEMedian * math.Sqrt(7./6)}, {v.Mean, v.SE}} {
		l := lines[i]
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"value", l.Value, want.value}, {"lower limit", l.Lo, want.value - student*want.se}, {"upper limit", l.Hi, want.value + student*want.se}} {
			if math.Abs(c.got-c.want/swings) > 1e-6 { // a sample variance, of all samples
				t.Errorf("%s: %s is %.8f, want %.8f", l.Name, c.what, c.got, c.want/swings)
			}
		}
	}
}

// TestEndsThatMeet throws so few pitches that both end blocks would need the bin in
// the middle: nothing is pooled, and no event counts twice. With one bin more the
// blocks lie side by side.
func TestEndsThatMeet(t *testing.T) {
	for _, c := range []struct{ swings, want []int64 }{ // of each of five pitchers by bin; of all by published bin
		{[]int64{6, 5, 6}, []int64{30, 25, 30}},
		{[]int64{6, 5, 5, 6}, []int64{55, 55}},
		{[]int64{6, 5, 1, 5, 6}, []int64{55, 5, 55}},
		{[]int64{9, 1, 9}, []int64{45, 5, 45}},
		{[]int64{10, 10}, []int64{50, 50}},
		{[]int64{10}, []int64{50}},
	} {
		var pitches []pitch.Pitch
		var names tally.Names
		for i := range int32(5) {
			names.Pitchers = append(names.Pitchers, fmt.Sprint(i))
			for b, n := range c.swings {
				for range n {
					p := blank(i)
					p.Outcome, p.Num[pitch.Velocity] = pitch.Foul, 90.5+float64(b)
					pitches = append(pitches, p)
				}
			}
		}
		o := DefaultOptions()
		o.Replicates = 100
		e, err := New(t.Context(), count(t, pitches, names), o)
		if err != nil {
			t.Fatal(err)
		}
		curves, err := e.Sample(tally.AllStrata, 0, outcome.Whiff)
		if err != nil || len(curves) != 1 {
			t.Fatal(len(curves), err)
		}
		got := curves[0]
		var bins []int64
		for _, b := range got.Bins {
			bins = append(bins, b.Events)
		}
		if fmt.Sprint(bins) != fmt.Sprint(c.want) || got.Events != int64(len(pitches)) || got.Table.Bins() != len(c.want) {
			t.Errorf("%v swings of each: bins of %v, %d events, %d nodes; want %v", c.swings, bins, got.Events, got.Table.Bins(), c.want)
		}
		if pooled := got.Bins[0].Kind == OpenLow; pooled != (len(c.want) < len(c.swings) || len(c.swings) == 2) {
			t.Errorf("%v swings of each: the first bin is %s", c.swings, got.Bins[0].Kind)
		}
	}
}
