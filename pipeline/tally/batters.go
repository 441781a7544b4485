package tally

import "sill/pipeline/outcome"

// BatterCount is how often one event befell one batter, in eight bytes: the
// batter table is long and thin.
type BatterCount struct {
	Batter int32 // index into Tally.Batters
	packed uint32
}

// maxBatterCount is the largest count that BatterCount holds.
const maxBatterCount = 1<<24 - 1

// Event returns what was counted.
func (b BatterCount) Event() outcome.Event { return outcome.Event(b.packed >> 24) }

// Count returns how often.
func (b BatterCount) Count() int64 { return int64(b.packed & maxBatterCount) }

func newBatterCount(batter int32, e outcome.Event, n uint32) (BatterCount, error) {
	if n > maxBatterCount {
		return BatterCount{}, outcome.ErrOverflow
	}
	return BatterCount{Batter: batter, packed: uint32(e)<<24 | n}, nil
}
