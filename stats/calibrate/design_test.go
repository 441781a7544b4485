package calibrate

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

// big is a design with cells, second clusters and talent that goes with size.
func big() Design {
	d := Default(Mono)
	d.Cells = []Cell{{Mono, .4, 0}, {Two, .6, .1}}
	d.Second, d.SecondSD, d.Workload = 200, .35, .5
	return d
}

func TestDrawIsKeyed(t *testing.T) {
	d := big()
	if !reflect.DeepEqual(d.Draw(7, 3), d.Draw(7, 3)) {
		t.Error("the same key gave two data sets")
	}
	for _, other := range []Crew{d.Draw(7, 4), d.Draw(8, 3)} {
		if reflect.DeepEqual(d.Draw(7, 3), other) {
			t.Error("another key gave the same data set")
		}
	}
	if Key(1, "data", 2) == Key(1, "weights", 2) {
		t.Error("streams for two purposes are one")
	}
}

// Tables hold the same events, however they are counted.
func TestDrawCounts(t *testing.T) {
	d := big()
	s := d.Draw(1, 0)
	var events, sums float64
	for c, table := range s.Tables {
		n, y := table.Sums()
		n2, y2 := s.Second[c].Sums()
		if !reflect.DeepEqual(table.X, s.Second[c].X) || !reflect.DeepEqual(n, n2) || !reflect.DeepEqual(y, y2) {
			t.Errorf("cell %d: the two ways of counting differ", c)
		}
		for b, x := range table.X {
			if b > 0 {
				gap := math.Floor(x) - math.Floor(table.X[b-1]) - 1
				if float64(table.Gap[b-1]) != gap {
					t.Errorf("gap after %v: %d, want %v", table.X[b-1], table.Gap[b-1], gap)
				}
			}
			events, sums = events+n[b], sums+y[b]
		}
		// The engine refuses a table that is not well formed.
		stats.NewFlipTest(table, [32]byte{})
		stats.NewFlipTest(s.Second[c], [32]byte{})
	}
	var byCluster, sumCluster float64
	for p := range s.Events {
		byCluster, sumCluster = byCluster+s.Events[p], sumCluster+s.Sums[p]
	}
	if events != byCluster || sums != sumCluster {
		t.Errorf("%v events in tables, %v by cluster; sums %v and %v", events, byCluster, sums, sumCluster)
	}
}

func TestDrawRunValues(t *testing.T) {
	s := RunValues(Null).Draw(2, 0)
	table := s.Tables[0]
	n, y := table.Sums()
	var events, sum, squares float64
	for b := range n {
		events, sum, squares = events+n[b], sum+y[b], squares+table.YY[b]
	}
	mean := sum / events
	near(t, "mean value", mean, .32, .01)
	// An event is worth about a run and a bit when it counts, so the variance is
	// well above that of a proportion.
	if v := squares/events - mean*mean; v < .2 || v > .4 {
		t.Errorf("variance of an event %v", v)
	}
}

// Sizes and x as the design has them.
func TestDrawLaws(t *testing.T) {
	d := Default(Null)
	d.Clusters = 2000
	s := d.Draw(3, 0)
	logs, small, large := []float64{}, 0, 0.0
	for _, n := range s.Events {
		logs = append(logs, math.Log(max(n, .5)))
		if n <= 10 {
			small++
		}
		large = max(large, n)
	}
	// Median of events: .48 × 150. log SD a little below 1.1 + sampling − clipping.
	m, sd := stat.MeanStdDev(logs, nil)
	near(t, "median size", math.Exp(m), 72, 6)
	near(t, "log SD", sd, 1.1, .06)
	if large > 1500*.55 || small == 0 {
		t.Errorf("largest %v, small %d", large, small)
	}
	// x: the spread between and within, from a table with fine bins.
	for _, law := range []Law{VelocityLike, {Centre: 0, Between: 5, Within: 2.5, Width: 1}, AngleLike} {
		d.X = law
		d.X.Width = law.Within / 10
		table := d.Draw(4, 0).Tables[0]
		n, sums, squares := make([]float64, d.Clusters), make([]float64, d.Clusters), make([]float64, d.Clusters)
		for b, x := range table.X {
			for e := table.Start[b]; e < table.Start[b+1]; e++ {
				c := table.Cluster[e]
				n[c] += table.N[e]
				sums[c] += table.N[e] * x
				squares[c] += table.N[e] * x * x
			}
		}
		var means []float64
		var within, df float64
		for c := range n {
			if n[c] > 20 {
				means = append(means, sums[c]/n[c])
				within += squares[c] - sums[c]*sums[c]/n[c]
				df += n[c] - 1
			}
		}
		centre, between := stat.MeanStdDev(means, nil)
		near(t, "centre", centre, law.Centre, .1*law.Between)
		near(t, "between", between, law.Between, .05*law.Between)
		near(t, "within", math.Sqrt(within/df), law.Within, .02*law.Within)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tol)
	}
}

// The curve and the lines are what very many drawn events show.
func TestTruthIsTheLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("a large population")
	}
	d := big()
	truth := d.Truth(PooledLine, 1)
	median := d.Truth(MedianLine, 1).Line
	d.Clusters, d.Second = 12000, 8000
	s := d.Draw(99, 0)
	for c, table := range s.Tables {
		for b := range table.X {
			bin := table.Bin(b, stats.Proportion, s.Second[c])
			if bin.N < 8000 {
				continue
			}
			se := math.Sqrt(bin.DEff * bin.Rate * (1 - bin.Rate) / bin.N)
			// A bin's mean differs from the curve at its node by its bend: < .001.
			if got, want := bin.Rate, truth.At(c, table.X[b]); math.Abs(got-want) > 4*se+.001 {
				t.Errorf("cell %d at %.2f: drawn %.4f ± %.4f, truth %.4f", c, table.X[b], got, se, want)
			}
		}
	}
	var events, sums float64
	var rates []float64
	for p, n := range s.Events {
		events, sums = events+n, sums+s.Sums[p]
		if n >= d.Qualified {
			rates = append(rates, s.Sums[p]/n)
		}
	}
	near(t, "pooled line", truth.Line, sums/events, .004)
	near(t, "median line", median, stats.Quantile(slices.Sorted(slices.Values(rates)), .5), .004)
	if gap := truth.Line - median; gap < .008 {
		t.Errorf("talent goes with workload, yet the lines are %.4f apart", gap)
	}
}

func TestTruthEdges(t *testing.T) {
	for _, c := range []struct {
		design Design
		up     []bool
	}{
		{Default(Mono), []bool{true}},
		{Default(Tick), []bool{true}},
		{Default(Two), []bool{false, true}},
		{Default(Band), []bool{true, false}},
		{Default(Null), nil},
		{RunValues(Mono), []bool{false}},
	} {
		for _, r := range []Reference{MedianLine, PooledLine} {
			truth := c.design.Truth(r, 1)
			var up []bool
			for _, e := range truth.Edges[0] {
				up = append(up, e.Up)
				near(t, "the curve at its edge", truth.At(0, e.X), truth.Line, 1e-9)
			}
			if !reflect.DeepEqual(up, c.up) {
				t.Errorf("%s against line %d: edges %v, want %v", c.design.Cells[0].Curve.Name, r, up, c.up)
			}
		}
	}
	// A logistic curve crosses its own mean at its centre.
	d := Default(Mono)
	near(t, "the edge of a symmetric curve", d.Truth(PooledLine, 1).Edges[0][0].X, d.X.Centre, .02)
}

func TestValidate(t *testing.T) {
	if err := big().Validate(); err != nil {
		t.Error(err)
	}
	err := Design{Cells: []Cell{{}}, EventShare: 2, ClusterSD: -1, Workload: 3, Second: 1}.Validate()
	if n := len(strings.Split(err.Error(), "\n")); n != 10 {
		t.Errorf("%d faults: %v", n, err)
	}
}
