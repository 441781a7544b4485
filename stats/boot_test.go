package stats_test

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

type bootVector struct {
	R           int
	T0          float64
	Indices     [][]int `json:"boot_indices_1based"`
	T           []float64
	SE, Bias    float64
	Jackknife   []float64 `json:"jackknife_values"`
	SEJackknife float64   `json:"se_jackknife"`
	Percentile  pairs     `json:"percentile_type7"`
	Data        json.RawMessage
}

type pairs struct{ C90, C95 []float64 }

// statistic is computed from how often each cluster was drawn.
type statistic func(count []uint8) float64

// weighted turns a statistic of weighted values into one of multiplicities.
func weighted(f func(w []float64) float64) statistic {
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
	for name, from := range map[string]func(t *testing.T, src []byte) (int, statistic){
		"boot_law_correlation": func(t *testing.T, src []byte) (int, statistic) {
			var rows []struct{ LSAT, GPA float64 }
			decode(t, src, &rows)
			x, y := make([]float64, len(rows)), make([]float64, len(rows))
			for i, r := range rows {
				x[i], y[i] = r.LSAT, r.GPA
			}
			return len(rows), weighted(func(w []float64) float64 { return stat.Correlation(x, y, w) })
		},
		"boot_spatial_variance": func(t *testing.T, src []byte) (int, statistic) {
			var x []float64
			decode(t, src, &x)
			return len(x), weighted(func(w []float64) float64 { return stat.PopVariance(x, w) })
		},
		"boot_aircondit_mean": func(t *testing.T, src []byte) (int, statistic) {
			var x []float64
			decode(t, src, &x)
			return len(x), weighted(func(w []float64) float64 { return stat.Mean(x, w) })
		},
		"boot_city_ratio": func(t *testing.T, src []byte) (int, statistic) {
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
			n, f := from(t, v.Data)
			near(t, "estimate", f(slices.Repeat([]uint8{1}, n)), v.T0, 1e-12)
			deleteOne, count := make([]float64, n), slices.Repeat([]uint8{1}, n)
			for p := range deleteOne {
				count[p] = 0
				deleteOne[p] = f(count)
				count[p] = 1
			}
			allNear(t, "delete-one values", deleteOne, v.Jackknife, 1e-12)
			near(t, "jackknife standard error", math.Sqrt(stats.JackknifeVariance(deleteOne)), v.SEJackknife, 1e-12)
			for _, c := range []struct {
				confidence float64
				percentile []float64
			}{{.90, v.Percentile.C90}, {.95, v.Percentile.C95}} {
				lo, hi := stats.PercentileInterval(v.T, c.confidence)
				allNear(t, "percentile", []float64{lo, hi}, c.percentile, 1e-12)
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
				w := stats.NewWeights(n, count)
				for r := range v.R {
					near(t, "replicate", f(w.Row(r)), v.T[r], 1e-12)
				}
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

func TestBootEdges(t *testing.T) {
	panics(t, "no replicates", func() { stats.PercentileInterval(nil, .9) })
	panics(t, "confidence", func() { stats.PercentileInterval([]float64{1, 2, 3, 4}, 1) })
}
