package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// crossing returns where E[p | x] of a design equals E[p], by quadrature: the
// edge that the pooled rate of the cell itself has.
func (d design) crossing() float64 {
	logistic := func(z float64) float64 { return 1 / (1 + math.Exp(-z)) }
	over := func(sd float64, f func(z float64) float64) float64 { // E f(N(0, sd))
		sum := 0.0
		const n = 400
		for k := range n {
			z := -6 + 12*(float64(k)+.5)/n
			sum += math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 12 / n * f(sd*z)
		}
		return sum
	}
	at := func(x float64) float64 {
		return over(d.spread, func(u float64) float64 { return logistic(d.chance(x) + u) })
	}
	mean := over(math.Hypot(d.between, d.within), at)
	lo, hi := -3.0, 3.0
	for range 60 {
		if mid := (lo + hi) / 2; at(mid) < mean {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// TestEdgeCoverage: the edge of a smooth rising curve of 120 clusters lies inside
// its interval as often as it says when whole clusters are resampled, and inside the
// limits of the band itself, which rest on the draws alone, far less often when single
// events are. Bars: .93–.98; ≤ .60; RMSE ≤ .42.
func TestEdgeCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	d := monotone(120)
	truth := d.crossing()
	grid := stats.LambdaGrid(2)
	run := func(sets int, byEvent bool) (cover, confirmed, rmse float64) {
		r := rand.New(rand.NewPCG(21, 22))
		hits, edges, square := 0, 0, 0.0
		for range sets {
			tab := d.table(r)
			if byEvent {
				tab = single(tab)
			}
			c := stats.FitCurve(tab, 1, stats.DrawMultinomial(seed(r.Uint64()), tab.Clusters, 200), grid)
			b := c.Against(stats.Line{Value: c.Pooled, Rep: c.RepPooled}, 1, nil)
			e := b.Edges().Confirmed
			if byEvent {
				e = b.EdgesAt(b.Crit).Confirmed
			}
			if len(e) != 1 {
				continue
			}
			edges++
			square += (e[0].X - truth) * (e[0].X - truth)
			if e[0].Lo <= truth && truth <= e[0].Hi {
				hits++
			}
		}
		n := float64(edges)
		return float64(hits) / n, n / float64(sets), math.Sqrt(square / n)
	}
	const sets = 150
	cover, confirmed, rmse := run(sets, false)
	t.Logf("coverage %.3f of the %.2f confirmed, RMSE %.2f", cover, confirmed, rmse)
	slack := 3 * math.Sqrt(.95*.05/(sets*confirmed))
	if cover < .93-slack || cover > .98+slack || confirmed < .9 || rmse > .42*(1+3/math.Sqrt(2*sets)) {
		t.Errorf("coverage %.3f of the %.2f confirmed, RMSE %.2f", cover, confirmed, rmse)
	}
	naive, _, _ := run(20, true)
	t.Logf("coverage by single events %.3f", naive)
	if naive > .60+.15 {
		t.Errorf("resampling single events covers %.3f: this test would not notice it", naive)
	}
}

// single takes every event of a table for a cluster of its own.
func single(t *stats.Table) *stats.Table {
	out := &stats.Table{X: t.X, Gap: t.Gap, Start: []int32{0}}
	for b := range t.X {
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			for k := range int(t.N[e]) {
				y := 0.0
				if float64(k) < t.Y[e] {
					y = 1
				}
				out.Cluster = append(out.Cluster, int32(out.Clusters))
				out.N, out.Y = append(out.N, 1), append(out.Y, y)
				out.Clusters++
			}
		}
		out.Start = append(out.Start, int32(len(out.Cluster)))
	}
	return out
}
