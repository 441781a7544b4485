package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// design draws a table like those of a season: clusters of very unequal size
// whose values sit around their own centres, and a chance of success that may
// depend on the value. Sizes and spreads are those of the design study
// (clip(e^N(ln150, 1.1), 10, 1500) events, half of them eligible; between
// clusters SD 2, within .8; logit SD .25 between clusters).
type design struct {
	clusters               int
	chance                 func(x float64) float64 // logit
	spread                 float64                 // logit SD between clusters
	between, within, width float64
}

func smooth(x float64) float64 { return -1.27 + .14*x }

func monotone(clusters int) design {
	return design{clusters: clusters, chance: smooth, spread: .25, between: 2, within: .8, width: 1}
}

// events draws every event of the design: cluster, value, success.
func (d design) events(r *rand.Rand, visit func(g int, x float64, hit bool)) {
	for g := range d.clusters {
		size := math.Exp(math.Log(150) + 1.1*r.NormFloat64())
		centre, u := d.between*r.NormFloat64(), d.spread*r.NormFloat64()
		for range int(min(1500, max(10, size))) {
			if r.Float64() > .48 {
				continue
			}
			x := centre + d.within*r.NormFloat64()
			visit(g, x, r.Float64() < 1/(1+math.Exp(-d.chance(x)-u)))
		}
	}
}

// table bins the design's events and pools the ends; nil where that fails.
func (d design) table(r *rand.Rand) *stats.Table {
	type cell struct{ n, y float64 }
	bins := map[int]map[int]*cell{}
	sum := map[int]float64{}
	lo, hi := math.MaxInt, math.MinInt
	d.events(r, func(g int, x float64, hit bool) {
		b := int(math.Floor(x / d.width))
		lo, hi = min(lo, b), max(hi, b)
		if bins[b] == nil {
			bins[b] = map[int]*cell{}
		}
		c := bins[b][g]
		if c == nil {
			c = &cell{}
			bins[b][g] = c
		}
		c.n++
		sum[b] += x
		if hit {
			c.y++
		}
	})
	t := &stats.Table{Start: []int32{0}, Clusters: d.clusters}
	empty := int32(0)
	for b := lo; b <= hi; b++ {
		if bins[b] == nil {
			empty++
			continue
		}
		n := 0.0
		for g := range d.clusters {
			if c := bins[b][g]; c != nil {
				t.Cluster = append(t.Cluster, int32(g))
				t.N = append(t.N, c.n)
				t.Y = append(t.Y, c.y)
				n += c.n
			}
		}
		if len(t.X) > 0 {
			t.Gap = append(t.Gap, empty)
		}
		empty = 0
		t.X = append(t.X, sum[b]/n)
		t.Start = append(t.Start, int32(len(t.Cluster)))
	}
	if len(t.X) < 2 {
		t.Gap = []int32{}
	}
	first, last, ok := t.EndBins(50, 5)
	if !ok {
		return nil
	}
	return t.Merge(first, last)
}

func seed(i uint64) [32]byte {
	var s [32]byte
	for k := range 8 {
		s[k] = byte(i >> (8 * k))
	}
	return s
}

// BenchmarkFitCurve fits 2,000 replicates of about 20 bins and 300 clusters.
func BenchmarkFitCurve(b *testing.B) {
	d := monotone(300)
	d.width = .5
	t := d.table(rand.New(rand.NewPCG(1, 2)))
	w := stats.DrawMultinomial(seed(1), 300, 2000)
	grid := stats.LambdaGrid(2)
	b.ReportAllocs()
	for b.Loop() {
		stats.FitCurve(t, d.width, w, grid)
	}
	b.ReportMetric(float64(t.Bins()), "bins")
	b.ReportMetric(float64(len(t.N)), "entries")
}

// BenchmarkFlips makes 9,999 flips of 300 clusters on about 20 columns.
func BenchmarkFlips(b *testing.B) {
	d := monotone(300)
	d.width = .5
	t := d.table(rand.New(rand.NewPCG(1, 2)))
	b.ReportAllocs()
	for b.Loop() {
		stats.NewFlipTest(t, seed(1)).Run(9999)
	}
}

// BenchmarkAgainst compares a curve with a line and finds its zones.
func BenchmarkAgainst(b *testing.B) {
	d := monotone(300)
	d.width = .5
	t := d.table(rand.New(rand.NewPCG(1, 2)))
	c := stats.FitCurve(t, d.width, stats.DrawMultinomial(seed(1), 300, 2000), stats.LambdaGrid(2))
	l := stats.Line{Value: c.Pooled, Rep: c.RepPooled}
	for b.Loop() {
		band := c.Against(l, 1, nil)
		for _, z := range band.Zones(band.Edges()) {
			band.Support(z)
		}
	}
}

func BenchmarkDrawMultinomial(b *testing.B) {
	for b.Loop() {
		stats.DrawMultinomial(seed(1), 300, 2000)
	}
}

func BenchmarkTQuantile(b *testing.B) {
	for b.Loop() {
		stats.TQuantile(.975, 37.25)
	}
}

// BenchmarkSecondWay adds 400 second clusters to a curve of 150 first ones.
func BenchmarkSecondWay(b *testing.B) {
	x, y := crossed(rand.New(rand.NewPCG(1, 1)), 150, 400, 20_000, .25, .2, smooth)
	c := stats.FitCurve(x, 1, stats.DrawMultinomial(seed(1), 150, 10), stats.LambdaGrid(2))
	for b.Loop() {
		stats.NewSecondWay(c, y)
	}
}
