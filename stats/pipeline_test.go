package stats_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"sill/stats"
)

// small is pipeline_small: one synthetic cell taken from pitches to edges by an
// independent R script, with 20 explicit weight vectors.
type small struct {
	Bins []struct {
		N, Whiffs  float64
		MeanX      float64 `json:"mean_x"`
		Rate       float64
		Pitchers   int
		Geff       float64
		VarJack    float64 `json:"var_jack"`
		Deff, T    float64
		Lo95, Hi95 float64
		NEff       float64 `json:"n_eff"`
	}
	PitcherN      []float64 `json:"pitcher_n"`
	PitcherW      []float64 `json:"pitcher_w"`
	PitcherMedian float64   `json:"pitcher_median"`
	NQualified    int       `json:"n_qualified"`
	CellRate      float64   `json:"cell_rate"`
	Lambda, Crit  float64
	Fit           []float64
	FitTwice      []float64 `json:"fit_twice"`
	ScoreTest     struct {
		Q3      float64
		CutStat float64 `json:"cut_stat"`
		PQ3     float64 `json:"p_Q3_exact"`
		PCut    float64 `json:"p_cut_exact"`
		PMin    float64 `json:"p_min_exact"`
	} `json:"score_test"`
	GeffCell   float64 `json:"geff_cell"`
	Replicates []struct {
		Weights       []uint8
		N, W          []float64
		Lambda        float64
		Fit           []float64
		FitTwice      []float64 `json:"fit_twice"`
		CellRate      float64   `json:"cell_rate"`
		PitcherMedian float64   `json:"pitcher_median"`
	}
	Inference []struct {
		Ref    string
		M      float64
		D      []float64
		V      [][]float64
		GridX  []float64 `json:"grid_x"`
		GridD  []float64 `json:"grid_D"`
		GridS  []float64 `json:"grid_se"`
		GridT  []float64 `json:"grid_t"`
		Crit   float64
		Edges  []edge
		Demo   float64 `json:"demo_crit"`
		AtDemo []edge  `json:"edges_at_demo_crit"`
	}
}

type edge struct {
	X, Lo, Hi float64
	Up        bool
}

// smallTable counts the pitches of pipeline_small by whole-unit bins, with the
// 1e-9 guard of the script.
func smallTable(t testing.TB) *stats.Table {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "testdata", "vectors", "pipeline_small_pitches.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	type key struct{ bin, pitcher int }
	n, y, sumX, binN := map[key]float64{}, map[key]float64{}, map[int]float64{}, map[int]float64{}
	lo, hi := math.MaxInt, math.MinInt
	for _, row := range rows[1:] {
		pitcher, _ := strconv.Atoi(row[0])
		x, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if row[2] != "1" {
			continue
		}
		b := int(math.Floor(x + 1e-9))
		lo, hi = min(lo, b), max(hi, b)
		n[key{b, pitcher}]++
		sumX[b] += x
		binN[b]++
		if row[3] == "1" {
			y[key{b, pitcher}]++
		}
	}
	out := &stats.Table{Start: []int32{0}, Clusters: 14}
	for b := lo; b <= hi; b++ {
		if binN[b] == 0 {
			t.Fatal("the vector has an empty bin")
		}
		out.X = append(out.X, sumX[b]/binN[b])
		for p := 1; p <= 14; p++ {
			if k := (key{b, p}); n[k] > 0 {
				out.Cluster = append(out.Cluster, int32(p-1))
				out.N = append(out.N, n[k])
				out.Y = append(out.Y, y[k])
			}
		}
		out.Start = append(out.Start, int32(len(out.Cluster)))
	}
	first, last, ok := out.EndBins(50, 5)
	if !ok {
		t.Fatal("no end bins")
	}
	return out.Merge(first, last)
}

func smallWeights(v *small) *stats.Weights {
	var count []uint8
	for _, r := range v.Replicates {
		count = append(count, r.Weights...)
	}
	return stats.NewWeights(14, count)
}

// median is the weighted median of the qualified clusters' rates.
func median(n, y []float64, weight []uint8) float64 {
	type one struct {
		rate float64
		w    uint8
	}
	var all []one
	for i := range n {
		if n[i] >= 25 {
			all = append(all, one{y[i] / n[i], weight[i]})
		}
	}
	for i := range all {
		for j := i; j > 0 && all[j].rate < all[j-1].rate; j-- {
			all[j], all[j-1] = all[j-1], all[j]
		}
	}
	rates, weights := make([]float64, len(all)), make([]uint8, len(all))
	for i, a := range all {
		rates[i], weights[i] = a.rate, a.w
	}
	m, _ := stats.WeightedMedian(rates, weights)
	return m
}

// TestPipelineVector reproduces pipeline_small from its pitches to the digits of
// the file.
func TestPipelineVector(t *testing.T) {
	var v small
	vector(t, "pipeline_small", &v)
	tab := smallTable(t)
	const tol = 1e-9
	for b, want := range v.Bins {
		got := tab.Bin(b, stats.Proportion, nil)
		near(t, "node", tab.X[b], want.MeanX, tol)
		near(t, "n", got.N, want.N, 0)
		near(t, "y", got.Y, want.Whiffs, 0)
		near(t, "rate", got.Rate, want.Rate, tol)
		near(t, "clusters", float64(got.Clusters), float64(want.Pitchers), 0)
		near(t, "effective", got.Effective, want.Geff, tol)
		relative(t, "jackknife variance", got.VJ, want.VarJack, tol)
		near(t, "design effect", got.DEff, want.Deff, tol)
		near(t, "t", got.T, want.T, tol)
		near(t, "lo", got.Lo, want.Lo95, tol)
		near(t, "hi", got.Hi, want.Hi95, tol)
	}
	n, y := tab.ByCluster()
	allNear(t, "cluster n", n, v.PitcherN, 0)
	allNear(t, "cluster y", y, v.PitcherW, 0)
	near(t, "effective clusters", tab.EffectiveClusters(), v.GeffCell, tol)
	ones := make([]uint8, 14)
	for i := range ones {
		ones[i] = 1
	}
	near(t, "median", median(n, y, ones), v.PitcherMedian, tol)

	grid := stats.LambdaGrid(4)
	w := smallWeights(&v)
	c := stats.FitCurve(tab, 1, w, grid)
	relative(t, "lambda", c.Lambda, v.Lambda, tol)
	allNear(t, "twiced fit", c.F, v.FitTwice, tol)
	near(t, "pooled", c.Pooled, v.CellRate, tol)
	s := stats.NewSmoother(c.X, grid)
	plain := make([]float64, len(c.X))
	s.Smooth(c.Lambda, c.Rate, c.N, plain)
	allNear(t, "plain fit", plain, v.Fit, tol)
	near(t, "criterion", s.Criterion(c.Lambda, c.Rate, c.N), v.Crit, tol)

	b := len(c.X)
	medians := make([]float64, len(v.Replicates))
	for r, want := range v.Replicates {
		relative(t, "replicate lambda", c.RepLambda[r], want.Lambda, tol)
		allNear(t, "replicate fit", c.RepF[r*b:(r+1)*b], want.FitTwice, tol)
		near(t, "replicate pooled", c.RepPooled[r], want.CellRate, tol)
		medians[r] = median(n, y, w.Row(r))
		near(t, "replicate median", medians[r], want.PitcherMedian, tol)
	}
	for _, inf := range v.Inference {
		line := stats.Line{Value: c.Pooled, Rep: c.RepPooled}
		if inf.Ref == "pitcher_median" {
			line = stats.Line{Value: v.PitcherMedian, Rep: medians}
		}
		variance, next := c.Spread(line)
		for i := range b {
			relative(t, inf.Ref+" variance", variance[i], inf.V[i][i], 1e-8)
			if i > 0 {
				relative(t, inf.Ref+" covariance", next[i-1], inf.V[i-1][i], 1e-8)
			}
		}
		band := c.Against(line, 1, nil)
		allNear(t, inf.Ref+" grid", band.X, inf.GridX, tol)
		allNear(t, inf.Ref+" D", band.D, inf.GridD, tol)
		allNear(t, inf.Ref+" T", band.T, inf.GridT, tol)
		for i := range band.SE {
			relative(t, inf.Ref+" se", band.SE[i], inf.GridS[i], tol)
		}
		near(t, inf.Ref+" critical value", band.Crit, inf.Crit, tol)
		sameEdges(t, inf.Ref, band.Edges().Confirmed, inf.Edges, tol)
		sameEdges(t, inf.Ref+" at the demo value", band.EdgesAt(inf.Demo).Confirmed, inf.AtDemo, tol)
	}

	p := stats.NewFlipTest(tab, [32]byte{1}).Run(1 << 14)
	if !p.Exact || p.Flips != 1<<14-1 {
		t.Fatalf("14 clusters were not listed: %+v", p)
	}
	near(t, "Q", p.Shape, v.ScoreTest.Q3, tol)
	near(t, "cut", p.Cut, v.ScoreTest.CutStat, tol)
	near(t, "p of Q", p.PShape, v.ScoreTest.PQ3, 0)
	near(t, "p of cut", p.PCut, v.ScoreTest.PCut, 0)
	near(t, "combined p", p.P, v.ScoreTest.PMin, 0)
}

// relative fails unless got is within tol of want, relative to want.
func relative(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.17g, want %.17g (off by %.2g)", what, got, want, got/want-1)
	}
}

func sameEdges(t *testing.T, what string, got []stats.Edge, want []edge, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d edges, want %d", what, len(got), len(want))
	}
	for i, w := range want {
		near(t, what+" edge", got[i].X, w.X, tol)
		near(t, what+" edge lo", got[i].Lo, w.Lo, tol)
		near(t, what+" edge hi", got[i].Hi, w.Hi, tol)
		if got[i].Up != w.Up {
			t.Errorf("%s: edge %d turned", what, i)
		}
	}
}

// TestFlipVector reproduces wild_score_exact: all 2^10 sign vectors of given
// scores.
func TestFlipVector(t *testing.T) {
	var v struct {
		Scores [][]float64
		Q      float64
		P      float64 `json:"p_exact"`
		Sup    float64 `json:"sup_stat"`
		PSup   float64 `json:"p_sup_exact"`
	}
	vector(t, "wild_score_exact", &v)
	columns := make([][]float64, 3)
	for _, row := range v.Scores {
		for k, s := range row {
			columns[k] = append(columns[k], s)
		}
	}
	p := stats.NewFlipTestOf(columns, columns, len(v.Scores), [32]byte{}).Run(9999)
	if !p.Exact || p.Flips != 1023 {
		t.Fatalf("10 clusters were not listed: %+v", p)
	}
	near(t, "Q", p.Shape, v.Q, 1e-12)
	near(t, "p", p.PShape, v.P, 0)
	near(t, "largest", p.Cut, v.Sup, 1e-12)
	near(t, "p of the largest", p.PCut, v.PSup, 0)
}
