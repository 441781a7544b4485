package stats

import (
	"math/bits"
	"math/rand/v2"
)

// wide is how many replicates are summed side by side.
const wide = 256

// Weights are joint draws of whole clusters: how often each replicate holds
// each cluster. One set serves every curve and line over the same clusters, so
// that differences between them are drawn jointly. Read only.
type Weights struct {
	Replicates, Clusters int
	Count                []uint8 // Replicates × Clusters, one row per replicate
	// blocks holds the counts again as [⌈R/wide⌉][Clusters][wide]float64, so that
	// the sums over clusters run over many replicates at once.
	blocks []float64
}

// NewWeights wraps explicit multiplicities, one row of clusters per replicate.
// Panics unless the counts fill whole rows.
func NewWeights(clusters int, count []uint8) *Weights {
	if clusters < 1 || len(count)%clusters != 0 {
		panic("stats: NewWeights needs whole rows of at least one cluster")
	}
	w := &Weights{Replicates: len(count) / clusters, Clusters: clusters, Count: count}
	w.blocks = make([]float64, (w.Replicates+wide-1)/wide*clusters*wide)
	for r := range w.Replicates {
		at := w.blocks[r/wide*clusters*wide+r%wide:]
		for g, k := range w.Row(r) {
			at[g*wide] = float64(k)
		}
	}
	return w
}

// Row returns the multiplicities of one replicate.
func (w *Weights) Row(r int) []uint8 { return w.Count[r*w.Clusters : (r+1)*w.Clusters] }

// DrawMultinomial draws, per replicate, as many clusters as there are, with
// replacement and equal chances: the cluster bootstrap's multiplicities. The
// same seed (a SHA-256 of what the stream is for) gives the same draws.
// Replicates come in order, so a shorter run is the beginning of a longer one.
//
// Source: Efron 1979, Annals of Statistics 7:1; Davison & Hinkley 1997,
// Bootstrap Methods and their Application, section 3.8 (whole clusters).
func DrawMultinomial(seed [32]byte, clusters, replicates int) *Weights {
	if clusters < 1 || replicates < 0 {
		panic("stats: DrawMultinomial needs at least one cluster and no negative replicates")
	}
	src := rand.NewChaCha8(seed)
	count := make([]uint8, replicates*clusters)
	for r := range replicates {
		row := count[r*clusters : (r+1)*clusters]
		for range clusters {
			g := below(src, uint64(clusters))
			row[g]++
			if row[g] == 0 {
				panic("stats: a cluster was drawn more than 255 times")
			}
		}
	}
	return NewWeights(clusters, count)
}

// below returns a number in [0, n), each with the same chance.
//
// Source: Lemire 2019, ACM Transactions on Modeling and Computer Simulation 29:3.
func below(src rand.Source, n uint64) uint64 {
	hi, lo := bits.Mul64(src.Uint64(), n)
	if lo < n {
		for floor := -n % n; lo < floor; {
			hi, lo = bits.Mul64(src.Uint64(), n)
		}
	}
	return hi
}
