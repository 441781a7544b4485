package calibrate

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
	// Overall is E[value] over the events of a cell.
	Overall  []float64
	curve    []func(float64) float64
	quantile func(p float64) float64
	sign     float64
}

// TrueEdge is where the advantage over the line changes its sign.
type TrueEdge struct {
	X  float64
	Up bool // to an advantage
}

// At returns E[value | x] over the events of a cell.
func (t *Truth) At(cell int, x float64) float64 { return t.curve[cell](x) }

// advantage is that of a cell over the line at x.
func (t *Truth) advantage(cell int) func(x float64) float64 {
	return func(x float64) float64 { return t.sign * (t.At(cell, x) - t.Line) }
}

// Throughout tells whether the advantage of a cell over the line is above 0 (+1)
// or below it (−1) over the central 90 % of events, and whether it is over the
// central 99.8 %.
func (t *Truth) Throughout(cell int) (sign int, everywhere bool) {
	over := func(tail float64) int {
		const steps = 400
		lo, hi := t.quantile(tail), t.quantile(1-tail)
		above, below := 0, 0
		for i := range steps + 1 {
			d := t.sign * (t.At(cell, lo+(hi-lo)*float64(i)/steps) - t.Line)
			if d > 1e-9 {
				above++
			} else if d < -1e-9 {
				below++
			}
		}
		switch steps + 1 {
		case above:
			return 1
		case below:
			return -1
		}
		return 0
	}
	sign = over(.05)
	return sign, sign != 0 && over(.001) == sign
}

// population is how many clusters stand for an infinite number in the median.
const population = 100_000

// Truth works out a line and the edges of a design against it. The curves and
// the pooled line are integrals, taken by quadrature; the median of the qualified
// clusters as observed comes from a population of 100,000 drawn under the seed
// (error of the line about .0003). Edges are looked for within three standard
// deviations of x.
func (d Design) Truth(r Reference, seed uint64) *Truth {
	t := d.curveTruth()
	line := 0.0
	for c := range d.Cells {
		line += d.Cells[c].Share * t.Overall[c]
	}
	if r == MedianLine {
		line = d.median(seed)
	}
	return t.against(d, line)
}

// curveTruth works out the curves of a design, whatever the line. Panics on a design
// that Validate refuses.
func (d Design) curveTruth() *Truth {
	if d.Validate() != nil {
		panic("calibrate: Truth needs a valid design")
	}
	t := &Truth{quantile: d.quantile, sign: d.Sign()}
	effects := d.effects()
	for c, odds := range d.curves() {
		t.curve = append(t.curve, func(x float64) float64 {
			sum := 0.0
			for _, e := range effects {
				o := odds(x) * math.Exp(e.value)
				sum += e.weight * o / (1 + o)
			}
			return sum * d.unit()
		})
		const steps = 200
		sum := 0.0
		for i := range steps {
			sum += t.At(c, d.quantile((float64(i)+.5)/steps)) / steps
		}
		t.Overall = append(t.Overall, sum)
	}
	return t
}

// against sets the line and finds the edges.
func (t *Truth) against(d Design, line float64) *Truth {
	t.Line = line
	for c := range d.Cells {
		t.Edges = append(t.Edges, d.edges(t.advantage(c)))
	}
	return t
}

// quantile of x over events.
func (d Design) quantile(p float64) float64 {
	return d.X.Centre + d.X.spread()*distuv.UnitNormal.Quantile(p)
}

// weighted is a value with its weight.
type weighted struct{ value, weight float64 }

// gauss is the standard normal distribution for quadrature: Gauss–Hermite of
// five points, exact for polynomials of degree nine (Abramowitz & Stegun 1964,
// table 25.10, from memory).
var gauss = [5]weighted{
	{-2.856970013872806, .011257411327721}, {-1.355626179974266, .222075922005613}, {0, .533333333333333},
	{1.355626179974266, .222075922005613}, {2.856970013872806, .011257411327721},
}

// effects is the distribution over events of cluster plus second effects: larger
// clusters weigh more, which matters where size goes with the effect.
func (d Design) effects() []weighted {
	outer := 100
	if d.Workload == 0 {
		outer = 1
	}
	rest := d.ClusterSD * math.Sqrt(1-d.Workload*d.Workload)
	if d.Second > 0 {
		rest = math.Hypot(rest, d.SecondSD)
	}
	var out []weighted
	total := 0.0
	for i := range outer {
		z := distuv.UnitNormal.Quantile((float64(i) + .5) / float64(outer))
		for _, g := range gauss {
			w := float64(d.size(z)) * g.weight
			out = append(out, weighted{d.ClusterSD*d.Workload*z + rest*g.value, w})
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
	rates := d.rates(rand.NewChaCha8(Key(seed, "population", 0)), population)
	slices.Sort(rates)
	return stats.Quantile(rates, .5)
}

// rates draws clusters and returns the observed rates of the qualified ones. The
// events of a cluster are alike, so that their numbers are binomial and none has
// to be drawn by itself.
func (d Design) rates(src *rand.ChaCha8, clusters int) []float64 {
	rng := rand.New(src)
	binomial := func(n int, p float64) int {
		return int(distuv.Binomial{N: float64(n), P: p, Src: src}.Rand())
	}
	var second [len(gauss)]weighted // e^effect
	for i, g := range gauss {
		second[i] = weighted{math.Exp(d.SecondSD * g.value), g.weight}
	}
	if d.Second == 0 {
		second = [len(gauss)]weighted{{1, 1}}
	}
	var rates []float64
	curves := d.curves()
	for range clusters {
		size, effect, mean := d.cluster(rng)
		n := binomial(size, d.EventShare)
		if n < 1 || float64(n) < d.Qualified {
			continue
		}
		p, own := 0.0, math.Exp(effect)
		for i, c := range d.Cells {
			for _, w := range gauss {
				odds := curves[i](mean+d.X.Within*w.value) * own
				for _, s := range second {
					o := odds * s.value
					p += c.Share * w.weight * s.weight * o / (1 + o)
				}
			}
		}
		y, left, rest := 0.0, binomial(n, p), 1.0
		if d.Kind == stats.Proportion {
			rates = append(rates, float64(left)/float64(n))
			continue
		}
		for _, v := range runValues[:len(runValues)-1] {
			k := binomial(left, v.share/rest)
			y += v.value * float64(k)
			left, rest = left-k, rest-v.share
		}
		y += runValues[len(runValues)-1].value * float64(left)
		rates = append(rates, y/float64(n))
	}
	return rates
}

// edges finds the sign changes of an advantage; differences below 1e-9 are the
// rounding of a flat curve on its own line.
func (d Design) edges(advantage func(x float64) float64) []TrueEdge {
	const steps = 120
	var out []TrueEdge
	var from, before float64
	for i := range steps + 1 {
		x := d.X.Centre + 3*d.X.spread()*(2*float64(i)/steps-1)
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

// Truth works out the line of a view over all its crews, and the edges of every
// crew's cells against it. See Design.Truth.
func (l League) Truth(view int, r Reference, seed uint64) []*Truth {
	if l.Validate() != nil {
		panic("calibrate: Truth needs a valid league")
	}
	crews := l.Views[view].Crews
	if r == PooledLine {
		var sum, events float64
		for _, d := range crews {
			n := float64(d.Clusters) * d.meanSize() * d.EventShare
			sum += n * d.Truth(PooledLine, seed).Line
			events += n
		}
		return l.TruthAt(view, sum/events)
	}
	clusters := 0
	for _, d := range crews {
		clusters += d.Clusters
	}
	src := rand.NewChaCha8(Key(seed, "population", view))
	var rates []float64
	for _, d := range crews {
		rates = append(rates, d.rates(src, population*d.Clusters/clusters)...)
	}
	slices.Sort(rates)
	return l.TruthAt(view, stats.Quantile(rates, .5))
}

// TruthAt is Truth against a stated line, by crew.
func (l League) TruthAt(view int, line float64) []*Truth {
	var out []*Truth
	for _, d := range l.Views[view].Crews {
		out = append(out, d.curveTruth().against(d, line))
	}
	return out
}

// meanSize is the mean number of trials of a cluster.
func (d Design) meanSize() float64 {
	const steps = 400
	sum := 0.0
	for i := range steps {
		sum += float64(d.size(distuv.UnitNormal.Quantile((float64(i)+.5)/steps))) / steps
	}
	return sum
}
