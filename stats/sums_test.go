package stats_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/stats"
)

func TestSums(t *testing.T) {
	a, b := stats.NewSums(3), stats.NewSums(3)
	if a.Table(stats.Mean) != nil {
		t.Error("a table without an event")
	}
	a.Add(2, 4, 1.5, .9)
	b.Add(0, 1, .5, .25)
	b.Add(2, 2, 1, .5)
	a.Join(&b)
	if a.Events() != 7 {
		t.Errorf("%g events", a.Events())
	}
	want := &stats.Table{Clusters: 3, X: []float64{0}, Start: []int32{0, 2}, Cluster: []int32{0, 2}, N: []float64{1, 6}, Y: []float64{.5, 2.5}}
	if d := cmp.Diff(want, a.Table(stats.Proportion)); d != "" {
		t.Error(d)
	}
	want.YY = []float64{1.65}
	if d := cmp.Diff(want, a.Table(stats.Mean)); d != "" {
		t.Error(d)
	}
}
