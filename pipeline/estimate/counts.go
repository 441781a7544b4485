package estimate

import (
	"cmp"
	"slices"

	"sill/pipeline/tally"
	"sill/stats"
)

// binned is a bin of a cell in one season or more; a pitcher has a row in each.
type binned struct {
	bin     int32
	rows    []tally.Row
	batters []tally.BatterCount
}

// merged returns the bins of a cell and a variable over its seasons, ascending,
// the missing bin first where present.
func merged(tables []*tally.CellTable, variable int) []binned {
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
		return out
	}
	slices.SortStableFunc(out, func(a, b binned) int { return cmp.Compare(a.bin, b.bin) })
	n := 0
	for _, b := range out {
		if n > 0 && out[n-1].bin == b.bin {
			last := &out[n-1]
			last.rows = append(slices.Clip(last.rows), b.rows...)
			last.batters = append(slices.Clip(last.batters), b.batters...)
			continue
		}
		out[n] = b
		n++
	}
	return out[:n]
}

// parts returns the events of a cell and a variable in quarters of bins, over its
// seasons; nil where a season leaves them out.
func (e *Estimate) parts(tables []*tally.CellTable, variable, metric int) *stats.Parts {
	var rows []tally.PartRow
	for _, t := range tables {
		if variable >= len(t.Curves) {
			continue
		}
		c := &t.Curves[variable]
		if len(c.Parts) == 0 && c.Known() < len(c.Bins) {
			return nil
		}
		rows = append(rows, c.Parts...)
	}
	slices.SortStableFunc(rows, func(a, b tally.PartRow) int { return cmp.Compare(a.Part, b.Part) })
	v := e.tally.Variables[variable]
	out := &stats.Parts{}
	for i := 0; i < len(rows); {
		bin := tally.BinOf(rows[i].Part)
		var n, offsets int64
		var y float64
		for part := rows[i].Part; i < len(rows) && rows[i].Part == part; i++ {
			events, values, _ := rows[i].Values(metric, &e.scoring)
			d, _ := rows[i].Offsets(metric)
			n, y, offsets = n+events, y+values, offsets+d
		}
		if n > 0 {
			out.X = append(out.X, v.Mean(bin, n, offsets))
			out.N = append(out.N, float64(n))
			out.Y = append(out.Y, y)
		}
	}
	return out
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
