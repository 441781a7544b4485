package simulate

import (
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/stats"
)

// Truth works out the line of a view over all its crews, and the edges of every
// crew's cells against it. See Design.Truth.
func (l League) Truth(view int, r Reference, seed uint64) []*Truth {
	if l.Validate() != nil {
		panic("simulate: Truth needs a valid league")
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
		t := d.Truth(PooledLine, 0)
		t.Line = line
		for c := range d.Cells {
			t.Edges[c] = d.edges(func(x float64) float64 { return d.Sign() * (t.At(c, x) - line) })
		}
		out = append(out, t)
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
