package demo

import (
	"crypto/sha256"
	"encoding/binary"
	"math/rand/v2"
)

// stream returns the random stream of one thing: a pitcher, a game. It depends
// on the seed and on what the thing is, never on who draws it or when.
func stream(seed uint64, league, thing string, numbers ...int) *rand.Rand {
	key := binary.LittleEndian.AppendUint64(nil, seed)
	key = append(key, league...)
	key = append(key, 0)
	key = append(key, thing...)
	key = append(key, 0)
	for _, n := range numbers {
		key = binary.LittleEndian.AppendUint64(key, uint64(n))
	}
	sum := sha256.Sum256(key)
	return rand.New(rand.NewPCG(binary.LittleEndian.Uint64(sum[:8]), binary.LittleEndian.Uint64(sum[8:16])))
}

// draw returns an index with probability in proportion to its weight.
func draw(r *rand.Rand, weights []float64) int {
	total := 0.
	for _, w := range weights {
		total += w
	}
	u := r.Float64() * total
	for i, w := range weights {
		if u -= w; u < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// chance is true with probability p.
func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }
