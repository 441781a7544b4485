package estimate

import (
	"cmp"
	"slices"

	"sill/pipeline/tally"
)

// binned is one bin of a cell over all seasons.
type binned struct {
	bin     int32
	rows    []tally.Row // sorted by pitcher, one each
	batters []tally.BatterCount
}

// merged returns the bins of a cell and a variable over its seasons, ascending,
// the missing bin first where present.
func merged(tables []*tally.CellTable, variable int) ([]binned, error) {
	var out []binned
	for _, t := range tables {
		if variable >= len(t.Curves) {
			continue
		}
		c := &t.Curves[variable]
		for i, b := range c.Bins {
			out = append(out, binned{b, c.Bin(i), c.BatterBin(i)})
		}
	}
	if len(tables) == 1 {
		return out, nil
	}
	slices.SortStableFunc(out, func(a, b binned) int { return cmp.Compare(a.bin, b.bin) })
	n := 0
	for i := 0; i < len(out); {
		j := i + 1
		for j < len(out) && out[j].bin == out[i].bin {
			j++
		}
		b, err := joined(out[i:j])
		if err != nil {
			return nil, err
		}
		out[n] = b
		n, i = n+1, j
	}
	return out[:n], nil
}

// joined adds the same bin of several seasons.
func joined(parts []binned) (binned, error) {
	if len(parts) == 1 {
		return parts[0], nil
	}
	b := binned{bin: parts[0].bin}
	for _, p := range parts {
		b.rows = append(b.rows, p.rows...)
		b.batters = append(b.batters, p.batters...)
	}
	slices.SortStableFunc(b.rows, func(x, y tally.Row) int { return cmp.Compare(x.Cluster, y.Cluster) })
	n := 0
	for _, r := range b.rows {
		if n > 0 && b.rows[n-1].Cluster == r.Cluster {
			if err := b.rows[n-1].Add(&r.Counts); err != nil {
				return b, err
			}
			continue
		}
		b.rows[n] = r
		n++
	}
	b.rows = b.rows[:n]
	return b, nil
}

// block is a run of bins that is published and estimated as one.
type block struct{ first, last int } // indices into the known bins, both included

// pooled runs the end bins together: from each end, bins are taken until they
// hold enough events and pitchers. Inner bins stay as they are, however thin.
// Where the two ends would meet, nothing is pooled: the cell is too small.
func pooled(bins []binned, metric, minEvents, minPitchers, pitchers int) (blocks []block, low, high bool) {
	reach := func(order func(i int) int) int {
		seen := make([]bool, pitchers)
		events, heads := int64(0), 0
		for i := range bins {
			for _, r := range bins[order(i)].rows {
				if n := r.Events(metric); n > 0 {
					events += n
					if !seen[r.Cluster] {
						seen[r.Cluster] = true
						heads++
					}
				}
			}
			if events >= int64(minEvents) && heads >= minPitchers {
				return order(i)
			}
		}
		return -1
	}
	last := len(bins) - 1
	l := reach(func(i int) int { return i })
	r := reach(func(i int) int { return last - i })
	if l < 0 || l >= r {
		for i := range bins {
			blocks = append(blocks, block{i, i})
		}
		return blocks, false, false
	}
	blocks = append(blocks, block{0, l})
	for i := l + 1; i < r; i++ {
		blocks = append(blocks, block{i, i})
	}
	return append(blocks, block{r, last}), true, true
}
