package estimate

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// clusterSet is one hand's pitchers and their joint draws. A pitcher who throws with
// both hands belongs to both sets.
type clusterSet struct {
	local   []int32        // by index into Tally.Pitchers: index in the set, −1 if none
	size    int            // pitchers of the set
	weights *stats.Weights // one draw per replicate, used for every curve and line
}

// newClusterSet collects the pitchers who threw with the hand, in the order of their
// keys, and draws them once; with them those of the tally along.
func newClusterSet(t *tally.Tally, hand pitch.Hand, o Options) clusterSet {
	c := clusterSet{local: make([]int32, len(t.Pitchers))}
	var others []string // of the tally along, in the order of their keys
	key := StreamKey(o.Seed, "draws", seasonWords(t), hand.String())
	if o.Along != nil {
		for p, ok := range threw(o.Along, hand) {
			if ok {
				others = append(others, o.Along.Pitchers[p])
			}
		}
		key = StreamKey(o.Seed, "joint draws", hand.String())
	}
	for p, ok := range threw(t, hand) {
		c.local[p] = -1
		if !ok {
			continue
		}
		for len(others) > 0 && others[0] < t.Pitchers[p] {
			others = others[1:]
			c.size++
		}
		if len(others) > 0 && others[0] == t.Pitchers[p] {
			others = others[1:]
		}
		c.local[p] = int32(c.size)
		c.size++
	}
	c.size += len(others)
	if c.size > 0 {
		c.weights = stats.DrawMultinomial(key, c.size, o.Replicates)
	}
	return c
}

// Draws returns the joint draws of a hand's pitchers, and the place of each of the
// tally's pitchers among those drawn, −1 for none. Both are read only.
func (e *Estimate) Draws(h pitch.Hand) (place []int32, w *stats.Weights) {
	return e.pitchers[h].local, e.pitchers[h].weights
}

// threw tells of each pitcher of a tally whether he threw with the hand.
func threw(t *tally.Tally, hand pitch.Hand) []bool {
	seen := make([]bool, len(t.Pitchers))
	for i := range t.Cells {
		if t.Cells[i].Cell.Hand == hand {
			for _, r := range t.Cells[i].Totals {
				seen[r.Cluster] = true
			}
		}
	}
	return seen
}

// StreamKey is the key of a random stream: the SHA-256 of the seed and of what
// the stream is for. Each part is written with its length, so that no two lists
// of parts are the same bytes.
func StreamKey(seed uint64, parts ...string) [32]byte {
	b := binary.LittleEndian.AppendUint64([]byte("sill stream\n"), seed)
	for _, p := range parts {
		b = binary.LittleEndian.AppendUint64(b, uint64(len(p)))
		b = append(b, p...)
	}
	return sha256.Sum256(b)
}

func seasonWords(t *tally.Tally) string { return fmt.Sprint(t.Seasons()) }
