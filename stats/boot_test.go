package stats_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"sill/stats"
)

type bootVector struct {
	R            int
	T0           float64
	Indices      [][]int `json:"boot_indices_1based"`
	T            []float64
	SE, Bias, Z0 float64
	Jackknife    []float64 `json:"jackknife_values"`
	A            float64   `json:"a_jackknife"`
	SEJackknife  float64   `json:"se_jackknife"`
	BCa          pairs     `json:"bca_type7_jack"`
	Percentile   pairs     `json:"percentile_type7"`
	Basic        pairs     `json:"basic_type7"`
	Data         json.RawMessage
}

type pairs struct{ C90, C95 []float64 }

// weighted turns a statistic of weighted values into one of multiplicities.
func weighted(f func(w []float64) float64) stats.Statistic {
	return func(count []uint8) float64 {
		w := make([]float64, len(count))
		for i, c := range count {
			w[i] = float64(c)
		}
		return f(w)
	}
}

// The examples of the R package boot, with its stored replicates: the estimate
// and its delete-one values are computed here from the data.
func TestBootVectors(t *testing.T) {
	for name, statistic := range map[string]func(t *testing.T, src []byte) (int, stats.Statistic){
		"boot_law_correlation": func(t *testing.T, src []byte) (int, stats.Statistic) {
			var rows []struct{ LSAT, GPA float64 }
			decode(t, src, &rows)
			x, y := make([]float64, len(rows)), make([]float64, len(rows))
			for i, r := range rows {
				x[i], y[i] = r.LSAT, r.GPA
			}
			return len(rows), weighted(func(w []float64) float64 { return stat.Correlation(x, y, w) })
		},
		"boot_spatial_variance": func(t *testing.T, src []byte) (int, stats.Statistic) {
			var x []float64
			decode(t, src, &x)
			return len(x), weighted(func(w []float64) float64 { return stat.PopVariance(x, w) })
		},
		"boot_aircondit_mean": func(t *testing.T, src []byte) (int, stats.Statistic) {
			var x []float64
			decode(t, src, &x)
			return len(x), weighted(func(w []float64) float64 { return stat.Mean(x, w) })
		},
		"boot_city_ratio": func(t *testing.T, src []byte) (int, stats.Statistic) {
			var rows []struct{ U, X float64 }
			decode(t, src, &rows)
			return len(rows), weighted(func(w []float64) float64 {
				var u, x float64
				for i, r := range rows {
					u, x = u+w[i]*r.U, x+w[i]*r.X
				}
				return x / u
			})
		},
	} {
		t.Run(name, func(t *testing.T) {
			var v bootVector
			vector(t, name, &v)
			if len(v.T) != v.R {
				t.Fatalf("%d replicates, want %d", len(v.T), v.R)
			}
			n, f := statistic(t, v.Data)
			near(t, "estimate", f(slices.Repeat([]uint8{1}, n)), v.T0, 1e-12)
			deleteOne := stats.Jackknife(n, f)
			allNear(t, "delete-one values", deleteOne, v.Jackknife, 1e-12)
			near(t, "jackknife standard error", math.Sqrt(stats.JackknifeVariance(deleteOne)), v.SEJackknife, 1e-12)
			z0, a := stats.BCaConstants(v.T0, v.T, deleteOne)
			near(t, "z0", z0, v.Z0, 1e-12)
			near(t, "a", a, v.A, 1e-12)
			for _, c := range []struct {
				confidence              float64
				percentile, basic, bias []float64
			}{{.90, v.Percentile.C90, v.Basic.C90, v.BCa.C90}, {.95, v.Percentile.C95, v.Basic.C95, v.BCa.C95}} {
				lo, hi := stats.PercentileInterval(v.T, c.confidence)
				allNear(t, "percentile", []float64{lo, hi}, c.percentile, 1e-12)
				lo, hi = stats.BasicInterval(v.T0, v.T, c.confidence)
				allNear(t, "basic", []float64{lo, hi}, c.basic, 1e-12)
				lo, hi = stats.BCaInterval(v.T0, v.T, deleteOne, c.confidence)
				allNear(t, "BCa", []float64{lo, hi}, c.bias, 1e-9)
			}
			near(t, "standard error", stat.StdDev(v.T, nil), v.SE, 1e-12)
			near(t, "bias", stat.Mean(v.T, nil)-v.T0, v.Bias, 1e-10)
			if v.Indices != nil {
				count := make([]uint8, v.R*n)
				for r, row := range v.Indices {
					for _, i := range row {
						count[r*n+i-1]++
					}
				}
				allNear(t, "replicates", stats.Bootstrap(stats.NewWeights(n, count), f), v.T, 1e-12)
			} else if name == "boot_law_correlation" {
				t.Error("the indices are missing")
			}
		})
	}
}

func decode(t *testing.T, src []byte, into any) {
	t.Helper()
	if err := json.Unmarshal(src, into); err != nil {
		t.Fatal(err)
	}
}

// Seven mice: all 7⁷ samples, here as 1,716 different ones.
func TestEnumerateMice(t *testing.T) {
	var v struct {
		Treat        []float64
		MeanTreat    float64 `json:"mean_treat"`
		SEMean       float64 `json:"ideal_boot_se_mean_treat"`
		SEMedian     float64 `json:"ideal_boot_se_median_treat"`
		MeanOfMedian float64 `json:"ideal_mean_of_median"`
		SEFormula    float64 `json:"se_formula_treat"`
	}
	vector(t, "boot_mouse_exact", &v)
	sorted := slices.Sorted(slices.Values(v.Treat))
	var visits, total, mean, mean2, median, median2 float64
	stats.Enumerate(len(sorted), func(count []uint8, p float64) {
		var sum, middle float64
		seen := 0
		for i, c := range count {
			sum += float64(c) * sorted[i]
			if seen <= 3 && seen+int(c) > 3 {
				middle = sorted[i]
			}
			seen += int(c)
		}
		visits++
		total += p
		mean, mean2 = mean+p*sum/7, mean2+p*sum/7*sum/7
		median, median2 = median+p*middle, median2+p*middle*middle
	})
	near(t, "resamples", visits, 1716, 0)
	near(t, "probability", total, 1, 1e-13)
	near(t, "mean", mean, v.MeanTreat, 1e-12)
	near(t, "se of the mean", math.Sqrt(mean2-mean*mean), v.SEMean, 1e-11)
	near(t, "se of the mean, from the formula", math.Sqrt(mean2-mean*mean), v.SEFormula*math.Sqrt(6./7), 1e-11)
	near(t, "mean of the median", median, v.MeanOfMedian, 1e-12)
	near(t, "se of the median", math.Sqrt(median2-median*median), v.SEMedian, 1e-11)
}

// The variance of a sum over resamples is known: Σ(v−v̄)² for each of G draws.
func TestEnumerateProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.IntRange(1, 7).Draw(rt, "clusters")
		v := rapid.SliceOfN(rapid.Float64Range(-5, 5), g, g).Draw(rt, "v")
		var total, first, second float64
		stats.Enumerate(g, func(count []uint8, p float64) {
			sum, size := 0.0, 0
			for i, c := range count {
				sum, size = sum+float64(c)*v[i], size+int(c)
			}
			if size != g {
				rt.Fatalf("a resample of %d clusters, want %d", size, g)
			}
			total, first, second = total+p, first+p*sum, second+p*sum*sum
		})
		want := float64(g) * stat.PopVariance(v, nil)
		if math.Abs(total-1) > 1e-12 || math.Abs(second-first*first-want) > 1e-9 {
			rt.Fatalf("probability %v, variance %v, want %v", total, second-first*first, want)
		}
	})
	panics(t, "no cluster", func() { stats.Enumerate(0, nil) })
	panics(t, "too many clusters", func() { stats.Enumerate(13, nil) })
}

// BCa must follow any rising transformation of the estimate (Efron 1987), which
// neither a normal nor a basic interval does. Interpolated quantiles bend under
// a transformation, so the confidence is set to hit order statistics for z0 = a
// = 0; with shifts it holds between neighbouring order statistics.
func TestBCaFollowsTransformations(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		replicates := rapid.SliceOfN(rapid.Float64Range(.1, 9), 50, 200).Draw(rt, "t")
		estimate := rapid.Float64Range(1, 6).Draw(rt, "estimate")
		deleteOne := rapid.SliceOfN(rapid.Float64Range(1, 2), 5, 12).Draw(rt, "deleteOne")
		lo, hi := stats.BCaInterval(estimate, replicates, deleteOne, .9)
		if lo > hi {
			rt.Fatalf("[%v, %v]", lo, hi)
		}
		logs := make([]float64, len(replicates))
		for i, v := range replicates {
			logs[i] = math.Log(v)
		}
		logLo, logHi := stats.BCaInterval(math.Log(estimate), logs, deleteOne, .9)
		sorted := slices.Sorted(slices.Values(replicates))
		for _, pair := range [][2]float64{{lo, math.Exp(logLo)}, {hi, math.Exp(logHi)}} {
			i, _ := slices.BinarySearch(sorted, pair[0])
			least, most := sorted[max(0, i-1)], sorted[min(len(sorted)-1, i+1)]
			if pair[1] < least-1e-9 || pair[1] > most+1e-9 {
				rt.Fatalf("limit %v became %v", pair[0], pair[1])
			}
		}
	})
}

func TestBootEdges(t *testing.T) {
	reps := []float64{1, 2, 3, 4}
	if lo, hi := stats.BCaInterval(9, reps, []float64{1, 1}, .9); lo != 4 || hi != 4 {
		t.Errorf("estimate above every replicate: [%v, %v]", lo, hi)
	}
	if lo, hi := stats.BCaInterval(0, reps, []float64{1, 1}, .9); lo != 1 || hi != 1 {
		t.Errorf("estimate below every replicate: [%v, %v]", lo, hi)
	}
	// No bias and no acceleration: the percentile interval.
	lo, hi := stats.BCaInterval(2.5, reps, []float64{1, 2, 3}, .9)
	wantLo, wantHi := stats.PercentileInterval(reps, .9)
	near(t, "lo", lo, wantLo, 1e-14)
	near(t, "hi", hi, wantHi, 1e-14)
	panics(t, "no replicates", func() { stats.PercentileInterval(nil, .9) })
	panics(t, "no replicates", func() { stats.BCaInterval(1, nil, nil, .9) })
	panics(t, "confidence", func() { stats.PercentileInterval(reps, 1) })
}
