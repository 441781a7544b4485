package tally

import (
	"cmp"
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/shape"
)

// counter counts the log of one cell after another, reusing its scratch.
type counter struct {
	builder *Builder

	// The pitches of the cell, sorted by pitcher; equal pitchers in any order.
	heads  []head
	values [][]int32  // by variable
	strata [][]string // by stratum

	refs     []ref
	order    []int32 // positions sorted by batter, of pitches with an event
	picked   []int32 // positions of one subset, by pitcher
	pickedB  []int32 // the same by batter
	bins     []int32 // by position
	offsets  []int32
	byBin    []int32
	binCount []int32
	rows     []Row
	batters  []BatterCount
}

// ref finds one pitch of a log.
type ref struct {
	key   uint64 // pitcher, then order of arrival
	shard *shard
	chunk *chunk
	at    int32
}

// cell counts one cell and its strata over the logs of some shards.
func (c *counter) cell(cell baseCell, shards []*shard) ([]CellTable, error) {
	c.gather(cell, shards)
	c.picked = c.picked[:0]
	for i := range c.heads {
		c.picked = append(c.picked, int32(i))
	}
	c.pickedB = append(c.pickedB[:0], c.order...)
	table, err := c.table(cell.in(AllStrata), nil)
	if err != nil {
		return nil, err
	}
	out := []CellTable{table}
	for i := range c.builder.strata {
		s := &c.builder.strata[i]
		labels := slices.Clone(c.strata[i])
		slices.Sort(labels)
		for _, label := range slices.Compact(labels) {
			if label == "" {
				continue
			}
			c.picked, c.pickedB = c.picked[:0], c.pickedB[:0]
			for pos, l := range c.strata[i] {
				if l == label {
					c.picked = append(c.picked, int32(pos))
				}
			}
			for _, pos := range c.order {
				if c.strata[i][pos] == label {
					c.pickedB = append(c.pickedB, pos)
				}
			}
			if table, err = c.table(cell.in(s.key(label)), s); err != nil {
				return nil, err
			}
			out = append(out, table)
		}
	}
	return out, nil
}

// gather collects the pitches of a cell in the order of their pitchers.
func (c *counter) gather(cell baseCell, shards []*shard) {
	refs := c.refs[:0]
	for _, s := range shards {
		for _, k := range s.logs[cell] {
			for i := range k.heads {
				refs = append(refs, ref{uint64(k.heads[i].pitcher)<<32 | uint64(len(refs)), s, k, int32(i)})
			}
		}
	}
	slices.SortFunc(refs, func(a, b ref) int { return cmp.Compare(a.key, b.key) })
	c.refs = refs
	c.heads = c.heads[:0]
	c.values = slices.Grow(c.values[:0], len(c.builder.variables))[:len(c.builder.variables)]
	c.strata = slices.Grow(c.strata[:0], len(c.builder.strata))[:len(c.builder.strata)]
	for v := range c.values {
		c.values[v] = slices.Grow(c.values[v][:0], len(refs))
	}
	for s := range c.strata {
		c.strata[s] = c.strata[s][:0]
	}
	for _, r := range refs {
		c.heads = append(c.heads, r.chunk.heads[r.at])
		for v, x := range r.chunk.values[int(r.at)*len(c.values):][:len(c.values)] {
			c.values[v] = append(c.values[v], x)
		}
		for s := range c.strata {
			label := r.shard.strata[s].names[r.chunk.strata[int(r.at)*len(c.strata)+s]]
			c.strata[s] = append(c.strata[s], label)
		}
	}
	c.order = c.order[:0]
	for i, h := range c.heads {
		if h.batter >= 0 && (h.swing != outcome.NoSwing || h.class != outcome.NoClass) {
			c.order = append(c.order, int32(i))
		}
	}
	slices.SortFunc(c.order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(c.heads[a].batter, c.heads[b].batter), cmp.Compare(a, b))
	})
}

// table counts the picked pitches; stratum is nil for AllStrata.
func (c *counter) table(cell Cell, stratum *Stratum) (CellTable, error) {
	t := CellTable{Cell: cell, Curves: make([]Curve, len(c.builder.variables))}
	c.rows, c.batters = c.rows[:0], c.batters[:0]
	if err := c.addRows(c.picked, false); err != nil {
		return t, err
	}
	if err := c.addBatters(c.pickedB); err != nil {
		return t, err
	}
	t.Totals, t.BatterTotals = slices.Clone(c.rows), slices.Clone(c.batters)
	for v := range c.builder.variables {
		if stratum != nil && !stratum.counts(c.builder.variables[v].Name) {
			continue
		}
		if err := c.curve(v, &t.Curves[v]); err != nil {
			return t, err
		}
	}
	return t, nil
}

// curve counts the picked pitches by the bins of one variable.
func (c *counter) curve(v int, dst *Curve) error {
	width := c.builder.widths[v]
	c.bins = slices.Grow(c.bins[:0], len(c.heads))[:len(c.heads)]
	c.offsets = slices.Grow(c.offsets[:0], len(c.heads))[:len(c.heads)]
	for _, pos := range c.picked {
		c.bins[pos], c.offsets[pos] = MissingBin, 0
		if q := c.values[v][pos]; q != missingQ {
			bin, d := shape.Bin(int64(q), width)
			c.bins[pos], c.offsets[pos] = int32(bin), int32(d)
		}
	}
	c.rows, c.batters = c.rows[:0], c.batters[:0]
	byBin := c.sortByBin(c.picked)
	for i := 0; i < len(byBin); {
		j := c.sameBin(byBin, i)
		dst.Bins = append(dst.Bins, c.bins[byBin[i]])
		dst.Start = append(dst.Start, int32(len(c.rows)))
		if err := c.addRows(byBin[i:j], true); err != nil {
			return err
		}
		if bin := c.bins[byBin[i]]; bin != MissingBin && width >= PartsPerBin {
			var err error
			if dst.Parts, err = c.addParts(dst.Parts, bin, width, byBin[i:j]); err != nil {
				return err
			}
		}
		i = j
	}
	dst.Start = append(dst.Start, int32(len(c.rows)))

	byBin = c.sortByBin(c.pickedB)
	i := 0
	for _, bin := range dst.Bins {
		dst.BatterStart = append(dst.BatterStart, int32(len(c.batters)))
		if i < len(byBin) && c.bins[byBin[i]] == bin {
			j := c.sameBin(byBin, i)
			if err := c.addBatters(byBin[i:j]); err != nil {
				return err
			}
			i = j
		}
	}
	dst.BatterStart = append(dst.BatterStart, int32(len(c.batters)))
	dst.Rows, dst.BatterCounts = slices.Clone(c.rows), slices.Clone(c.batters)
	return nil
}

// sameBin returns the end of the run of positions in the bin of byBin[i].
func (c *counter) sameBin(byBin []int32, i int) int {
	j := i + 1
	for j < len(byBin) && c.bins[byBin[j]] == c.bins[byBin[i]] {
		j++
	}
	return j
}

// sortByBin returns positions in the order of their bins, keeping their order
// within a bin: by counting, or by comparing where bins lie far apart.
func (c *counter) sortByBin(positions []int32) []int32 {
	lo, hi := int32(math.MaxInt32), int32(math.MinInt32)
	for _, pos := range positions {
		if b := c.bins[pos]; b != MissingBin {
			lo, hi = min(lo, b), max(hi, b)
		}
	}
	c.byBin = slices.Grow(c.byBin[:0], len(positions))[:len(positions)]
	span := int64(hi) - int64(lo) + 3 // a place for the missing bin and one for the sum
	if span > int64(4*len(positions)+4096) {
		copy(c.byBin, positions)
		slices.SortStableFunc(c.byBin, func(a, b int32) int { return cmp.Compare(c.bins[a], c.bins[b]) })
		return c.byBin
	}
	span = max(span, 2) // all missing
	c.binCount = slices.Grow(c.binCount[:0], int(span))[:span]
	clear(c.binCount)
	place := func(pos int32) int {
		if b := c.bins[pos]; b != MissingBin {
			return int(b-lo) + 1
		}
		return 0
	}
	for _, pos := range positions {
		c.binCount[place(pos)+1]++
	}
	for i := 1; i < len(c.binCount); i++ {
		c.binCount[i] += c.binCount[i-1]
	}
	for _, pos := range positions {
		k := place(pos)
		c.byBin[c.binCount[k]] = pos
		c.binCount[k]++
	}
	return c.byBin
}

// addRows appends one row for each pitcher of positions, which are sorted by
// pitcher, with offsets where asked for.
func (c *counter) addRows(positions []int32, offsets bool) error {
	cluster := int32(-1)
	var r *Row
	ok := true
	for _, pos := range positions {
		h := c.heads[pos]
		if h.pitcher != cluster || r == nil {
			cluster = h.pitcher
			c.rows = append(c.rows, Row{Cluster: cluster})
			r = &c.rows[len(c.rows)-1]
		}
		d := int64(0)
		if offsets {
			d = int64(c.offsets[pos])
		}
		ok = ok && r.Count(h.swing, h.class, d)
	}
	if !ok {
		return outcome.ErrOverflow
	}
	return nil
}

// addParts appends the parts of a bin that hold a pitch.
func (c *counter) addParts(dst []PartRow, bin int32, width int64, positions []int32) ([]PartRow, error) {
	var parts [PartsPerBin]outcome.Counts
	for _, pos := range positions {
		d := int64(c.offsets[pos])
		h := c.heads[pos]
		if !parts[partOf(bin, d, width)-bin*PartsPerBin].Count(h.swing, h.class, d) {
			return nil, outcome.ErrOverflow
		}
	}
	for k, n := range parts {
		if n.Pitches > 0 {
			dst = append(dst, PartRow{bin*PartsPerBin + int32(k), n})
		}
	}
	return dst, nil
}

// addBatters appends the events of each batter of positions, which are sorted
// by batter.
func (c *counter) addBatters(positions []int32) error {
	for i := 0; i < len(positions); {
		batter := c.heads[positions[i]].batter
		var n outcome.EventCounts
		for ; i < len(positions) && c.heads[positions[i]].batter == batter; i++ {
			h := c.heads[positions[i]]
			n.Count(h.swing, h.class)
		}
		for e, k := range n {
			if k > 0 {
				count, err := newBatterCount(batter, outcome.Event(e), k)
				if err != nil {
					return err
				}
				c.batters = append(c.batters, count)
			}
		}
	}
	return nil
}
