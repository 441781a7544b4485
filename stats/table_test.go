package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// made builds a table from dense counts n[bin][cluster] and y[bin][cluster].
func made(x []float64, n, y [][]float64) *stats.Table {
	t := &stats.Table{X: x, Start: []int32{0}, Clusters: len(n[0])}
	for b := range n {
		for g := range n[b] {
			if n[b][g] > 0 {
				t.Cluster = append(t.Cluster, int32(g))
				t.N = append(t.N, n[b][g])
				t.Y = append(t.Y, y[b][g])
			}
		}
		t.Start = append(t.Start, int32(len(t.Cluster)))
	}
	return t
}

func TestEndBins(t *testing.T) {
	// Events 10, 45, 5, 60, 30, 30; one cluster more in each bin from the left.
	n := [][]float64{
		{10, 0, 0, 0}, {20, 25, 0, 0}, {1, 2, 2, 0}, {20, 20, 10, 10}, {10, 0, 0, 20}, {0, 30, 0, 0},
	}
	y := make([][]float64, len(n))
	for b := range y {
		y[b] = []float64{1, 1, 1, 1}
	}
	tab := made([]float64{1, 2, 3, 4, 5, 6}, n, y)
	tab.Gap = []int32{0, 3, 0, 1, 2}
	tab.YY = []float64{1, 2, 3, 4, 5, 6}
	first, last, ok := tab.EndBins(50, 3)
	if first != 2 || last != 4 || !ok {
		t.Fatalf("ends at %d and %d, %v; want 2 and 4", first, last, ok) // 2: the third cluster
	}
	got := tab.Merge(first, last)
	if got.Bins() != 3 || got.Gap[0] != 0 || got.Gap[1] != 1 {
		t.Fatalf("merged: %+v", got)
	}
	near(t, "node", got.X[0], (10*1+45*2+5*3)/60., 1e-15)
	near(t, "untouched node", got.X[1], 4, 0)
	allNear(t, "squares", got.YY, []float64{6, 4, 11}, 0)
	a, b := tab.ByCluster()
	c, d := got.ByCluster()
	allNear(t, "events by cluster", c, a, 0)
	allNear(t, "values by cluster", d, b, 0)
	for i := 1; i < int(got.Start[1]); i++ {
		if got.Cluster[i] <= got.Cluster[i-1] {
			t.Error("clusters are out of order")
		}
	}
	if _, _, ok := tab.EndBins(200, 3); ok {
		t.Error("200 events are not there twice")
	}
	if _, _, ok := tab.EndBins(100, 3); ok {
		t.Error("the blocks meet")
	}
	if _, _, ok := tab.EndBins(1, 5); ok {
		t.Error("there are four clusters")
	}
	panics(t, "blocks that meet", func() { tab.Merge(2, 2) })
}

// TestBinMean works the interval of a mean by hand.
func TestBinMean(t *testing.T) {
	tab := made([]float64{0}, [][]float64{{2, 3, 5}}, [][]float64{{1, 3, 2}})
	tab.YY = []float64{5}
	got := tab.Bin(0, stats.Mean, nil)
	r := .6
	vj := math.Pow((1-2*r)/8, 2) + math.Pow((3-3*r)/7, 2) + math.Pow((2-5*r)/5, 2)
	near(t, "V_J", got.VJ, vj, 1e-15)
	near(t, "effective", got.Effective, 100./38, 1e-15)
	near(t, "largest", got.Largest, .5, 0)
	// Student's quantile at 2 degrees of freedom has a closed form.
	half := .95 / math.Sqrt(2*.975*.025) * math.Sqrt(max(vj*2/3, (5-10*r*r)/9/10))
	near(t, "lo", got.Lo, r-half, 1e-12)
	near(t, "hi", got.Hi, r+half, 1e-12)

	one := made([]float64{0}, [][]float64{{4}}, [][]float64{{1}})
	if b := one.Bin(0, stats.Proportion, nil); !math.IsNaN(b.Lo) || !math.IsNaN(b.VJ) || b.Rate != .25 {
		t.Errorf("one cluster has an interval: %+v", b)
	}
	none := made([]float64{0}, [][]float64{{4, 5}}, [][]float64{{0, 0}})
	if b := none.Bin(0, stats.Proportion, nil); b.DEff != 1 || b.Lo != 0 || !(b.Hi > 0) {
		t.Errorf("no success: %+v", b)
	}
	panics(t, "other events", func() { one.Bin(0, stats.Mean, none) })
}

// TestBinCoverage: bin intervals hold the rate as often as they say, where
// pitch-level ones do not. Bar: coverage .935–.985.
func TestBinCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	r := rand.New(rand.NewPCG(5, 6))
	const sets = 4000
	hits, naive := 0, 0
	for range sets {
		g := 25
		n, y := [][]float64{make([]float64, g)}, [][]float64{make([]float64, g)}
		var all, sum, truth float64
		for p := range g {
			n[0][p] = math.Floor(math.Exp(3 + .8*r.NormFloat64()))
			q := 1 / (1 + math.Exp(1.1-.5*r.NormFloat64()))
			n[0][p] = max(1, n[0][p])
			for range int(n[0][p]) {
				if r.Float64() < q {
					y[0][p]++
				}
			}
			all += n[0][p]
			sum += y[0][p]
		}
		// E of the logistic-normal rate, by midpoints.
		for k := range 2000 {
			z := -5 + 10*(float64(k)+.5)/2000
			truth += math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / 200 / (1 + math.Exp(1.1-.5*z))
		}
		b := made([]float64{0}, n, y).Bin(0, stats.Proportion, nil)
		if b.Lo <= truth && truth <= b.Hi {
			hits++
		}
		if lo, hi := stats.Wilson(sum, all, 1.96); lo <= truth && truth <= hi {
			naive++
		}
	}
	cover, bare := float64(hits)/sets, float64(naive)/sets
	if cover < .925 || cover > .985 || bare > .8 {
		t.Errorf("clustered interval covers %.3f, the naive one %.3f", cover, bare)
	}
}
