package simulate

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/stats"
)

// Reference says which line a curve is compared with.
type Reference int

// The lines, over all cells of a design together.
const (
	MedianLine Reference = iota // the median of the qualified clusters' own rates
	PooledLine                  // all values over all events
)

// Truth is what an infinite number of clusters would show.
type Truth struct {
	Line  float64
	Edges [][]TrueEdge // by cell, from left to right
	curve []func(float64) float64
}

// TrueEdge is where the advantage over the line changes its sign.
type TrueEdge struct {
	X  float64
	Up bool // to an advantage
}

// At returns E[value | x] over the events of a cell.
func (t *Truth) At(cell int, x float64) float64 { return t.curve[cell](x) }

// population is how many clusters stand for an infinite number in the median.
const population = 30_000

// Truth works out a line and the edges of a design against it. The curves and
// the pooled line are integrals, taken by quadrature; the median of the qualified
// clusters as observed comes from a population of 30,000 drawn under the seed
// (error of the line about .0004). Edges are looked for within three standard
// deviations of x.
func (d Design) Truth(r Reference, seed uint64) *Truth {
	if d.Validate() != nil {
		panic("simulate: Truth needs a valid design")
	}
	t := &Truth{}
	effects := d.effects()
	for _, cell := range d.Cells {
		t.curve = append(t.curve, func(x float64) float64 {
			sum := 0.0
			for _, e := range effects {
				sum += e.weight * d.chance(cell, x, e.value)
			}
			return sum * d.unit()
		})
	}
	if r == MedianLine {
		t.Line = d.median(seed)
	} else {
		const steps = 200
		for c, cell := range d.Cells {
			for i := range steps {
				t.Line += cell.Share / steps * t.At(c, d.quantile((float64(i)+.5)/steps))
			}
		}
	}
	for c := range d.Cells {
		t.Edges = append(t.Edges, d.edges(func(x float64) float64 { return d.Sign() * (t.At(c, x) - t.Line) }))
	}
	return t
}

// quantile of x over events.
func (d Design) quantile(p float64) float64 {
	return d.X.Centre + math.Hypot(d.X.Between, d.X.Within)*distuv.UnitNormal.Quantile(p)
}

// weighted is a value with its weight.
type weighted struct{ value, weight float64 }

// effects is the distribution over events of cluster plus second effects: larger
// clusters weigh more, which matters where size goes with the effect.
func (d Design) effects() []weighted {
	outer, inner := 100, 24
	if d.Workload == 0 {
		outer = 1
	}
	rest := d.ClusterSD * math.Sqrt(1-d.Workload*d.Workload)
	if d.Second > 0 {
		rest = math.Hypot(rest, d.SecondSD)
	}
	middle := func(i, n int) float64 { return distuv.UnitNormal.Quantile((float64(i) + .5) / float64(n)) }
	var out []weighted
	total := 0.0
	for i := range outer {
		z := middle(i, outer)
		for k := range inner {
			w := float64(d.size(z))
			out = append(out, weighted{d.ClusterSD*d.Workload*z + rest*middle(k, inner), w})
			total += w
		}
	}
	for i := range out {
		out[i].weight /= total
	}
	return out
}

// median draws the median of the qualified clusters of a large population.
func (d Design) median(seed uint64) float64 {
	d.Clusters = population
	n, y := make([]float64, population), make([]float64, population)
	d.each(rand.New(rand.NewChaCha8(Key(seed, "population", 0))), true, func(e event) {
		n[e.cluster]++
		y[e.cluster] += e.value
	})
	var rates []float64
	for p := range n {
		if n[p] >= d.Qualified {
			rates = append(rates, y[p]/n[p])
		}
	}
	slices.Sort(rates)
	return stats.Quantile(rates, .5)
}

// edges finds the sign changes of an advantage; differences below 1e-9 are the
// rounding of a flat curve on its own line.
func (d Design) edges(advantage func(x float64) float64) []TrueEdge {
	const steps = 120
	var out []TrueEdge
	var from, before float64
	for i := range steps + 1 {
		x := d.X.Centre + 3*math.Hypot(d.X.Between, d.X.Within)*(2*float64(i)/steps-1)
		now := advantage(x)
		if math.Abs(now) < 1e-9 {
			continue
		}
		if before*now < 0 {
			lo, hi := from, x
			for range 40 {
				if mid := (lo + hi) / 2; advantage(mid)*before > 0 {
					lo = mid
				} else {
					hi = mid
				}
			}
			out = append(out, TrueEdge{hi, now > 0})
		}
		from, before = x, now
	}
	return out
}
