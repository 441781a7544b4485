package calibrate

import (
	"crypto/sha256"
	"encoding/binary"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"sill/stats"
)

// Crew is what a data set holds of one crew of clusters: a table per cell by cluster
// and, where there are second clusters, the same events by those.
type Crew struct {
	Tables, Second []*stats.Table
	Idle           [][]*stats.Table // by cell and idle variable
	// Events and Sums are counts and values by cluster over all cells, those of
	// bystanders (0) last.
	Events, Sums []float64
	// SecondEvents and SecondSums are the same by second cluster, numbered as the
	// tables number them: in a Design those that belong to a cell one cell after the
	// other. Empty without any.
	SecondEvents, SecondSums []float64

	squared float64     // Σ value² over all events
	lists   [][]event   // events by cell
	idle    [][][]event // and by cell and idle variable, with its x
}

// newCrew is a crew without events.
func (d Design) newCrew(seconds, idle int) Crew {
	clusters := d.Clusters + d.Bystanders
	c := Crew{Events: make([]float64, clusters), Sums: make([]float64, clusters),
		SecondEvents: make([]float64, seconds), SecondSums: make([]float64, seconds),
		lists: make([][]event, len(d.Cells)), idle: make([][][]event, len(d.Cells))}
	for i := range c.idle {
		c.idle[i] = make([][]event, idle)
	}
	return c
}

// add counts an event with its idle variables.
func (c *Crew) add(e event, idle []float64) {
	c.Events[e.cluster]++
	c.Sums[e.cluster] += e.value
	if len(c.SecondEvents) > 0 {
		c.SecondEvents[e.second]++
		c.SecondSums[e.second] += e.value
		c.squared += float64(e.value * e.value)
	}
	c.lists[e.cell] = append(c.lists[e.cell], e)
	for k, x := range idle {
		e.x = x
		c.idle[e.cell][k] = append(c.idle[e.cell][k], e)
	}
}

// count makes the tables of the events that were added, which it forgets.
func (c *Crew) count(d Design) {
	byCluster := func(e event) int { return e.cluster }
	for i, events := range c.lists {
		c.Tables = append(c.Tables, d.table(events, len(c.Events), byCluster))
		if len(c.SecondEvents) > 0 {
			c.Second = append(c.Second, d.table(events, len(c.SecondEvents), func(e event) int { return e.second }))
		}
		var idle []*stats.Table
		for _, events := range c.idle[i] {
			idle = append(idle, d.table(events, len(c.Events), byCluster))
		}
		c.Idle = append(c.Idle, idle)
	}
	c.lists, c.idle = nil, nil
}

// Key is the seed of a stream: SHA-256 of the seed, what it is for and a number.
func Key(seed uint64, what string, number int) [32]byte {
	var head [16]byte
	binary.LittleEndian.PutUint64(head[:8], seed)
	binary.LittleEndian.PutUint64(head[8:], uint64(number))
	return sha256.Sum256(append(head[:], what...))
}

// event is one event of a data set.
type event struct {
	cell, cluster, second int
	x, value              float64
}

// each draws a data set and visits its events, cluster by cluster.
func (d Design) each(rng *rand.Rand, visit func(event)) {
	// Cumulated weights and e^effect of the second clusters of each cell.
	weights, factors := make([][]float64, len(d.Cells)), make([][]float64, len(d.Cells))
	for c := range d.Cells {
		if d.Second == 0 {
			break
		}
		if c > 0 && !d.SecondByCell {
			weights[c], factors[c] = weights[0], factors[0]
			continue
		}
		sum := 0.0
		for range d.Second {
			sum += math.Exp(.8 * rng.NormFloat64())
			weights[c] = append(weights[c], sum)
			factors[c] = append(factors[c], math.Exp(d.SecondSD*rng.NormFloat64()))
		}
	}
	curves := d.curves()
	for cluster := range d.Clusters {
		size, effect, mean := d.cluster(rng)
		own := math.Exp(effect)
		for range size {
			if rng.Float64() >= d.EventShare {
				continue
			}
			e := event{cluster: cluster}
			if len(d.Cells) > 1 {
				e.cell = d.cell(rng.Float64())
			}
			e.x = mean + d.X.Within*rng.NormFloat64()
			odds := own
			if w := weights[e.cell]; w != nil {
				e.second = sort.SearchFloat64s(w, rng.Float64()*w[len(w)-1])
				odds *= factors[e.cell][e.second]
				if d.SecondByCell {
					e.second += e.cell * d.Second
				}
			}
			odds *= curves[e.cell](e.x)
			if rng.Float64()*(1+odds) < odds {
				e.value = d.value(rng)
			}
			visit(e)
		}
	}
}

// cluster draws the trials, the effect and the mean of x of a cluster.
func (d Design) cluster(rng *rand.Rand) (size int, effect, mean float64) {
	own := rng.NormFloat64()
	effect = d.ClusterSD * (d.Workload*own + math.Sqrt(1-d.Workload*d.Workload)*rng.NormFloat64())
	return d.size(own), effect, d.X.Centre + d.X.Between*rng.NormFloat64()
}

// cell is the one that a uniform u falls in.
func (d Design) cell(u float64) int {
	i := 0
	for ; i < len(d.Cells)-1 && u >= d.Cells[i].Share; i++ {
		u -= d.Cells[i].Share
	}
	return i
}

// size is the number of trials of a cluster whose standardised log size is z.
func (d Design) size(z float64) int {
	return int(math.Round(min(d.SizeMax, max(d.SizeMin, math.Exp(math.Log(d.SizeMedian)+d.SizeLogSD*z)))))
}

// value draws what an event that counts is worth.
func (d Design) value(rng *rand.Rand) float64 {
	if d.Kind == stats.Proportion {
		return 1
	}
	u := rng.Float64()
	for _, v := range runValues[:len(runValues)-1] {
		if u < v.share {
			return v.value
		}
		u -= v.share
	}
	return runValues[len(runValues)-1].value
}

// Draw returns data set number of the design under a seed. Panics on a design
// that Validate refuses.
func (d Design) Draw(seed uint64, number int) Crew {
	if d.Validate() != nil {
		panic("calibrate: Draw needs a valid design")
	}
	seconds := d.Second
	if d.SecondByCell {
		seconds *= len(d.Cells)
	}
	c := d.newCrew(seconds, 0)
	d.each(rand.New(rand.NewChaCha8(Key(seed, "data", number))), func(e event) { c.add(e, nil) })
	c.count(d)
	return c
}

// parts counts events by quarters of bins.
func (d Design) parts(events []event) *stats.Parts {
	type part struct{ n, x, y float64 }
	sums := map[int]*part{}
	for _, e := range events {
		at := int(math.Floor(4 * (e.x/d.X.Width + 1e-6)))
		if sums[at] == nil {
			sums[at] = &part{}
		}
		p := sums[at]
		p.n++
		p.x += e.x
		p.y += e.value
	}
	out := &stats.Parts{}
	for _, at := range slices.Sorted(maps.Keys(sums)) {
		p := sums[at]
		out.X, out.N, out.Y = append(out.X, p.x/p.n), append(out.N, p.n), append(out.Y, p.y)
	}
	return out
}

// table counts events by bin and cluster.
func (d Design) table(events []event, clusters int, of func(event) int) *stats.Table {
	t := &stats.Table{Start: []int32{0}, Clusters: clusters}
	if len(events) == 0 {
		return t
	}
	bin := func(x float64) int { return int(math.Floor(x/d.X.Width + 1e-6)) }
	low, high := bin(events[0].x), bin(events[0].x)
	for _, e := range events {
		low, high = min(low, bin(e.x)), max(high, bin(e.x))
	}
	bins := high - low + 1
	n, y := make([]float64, bins*clusters), make([]float64, bins*clusters)
	all, sumX, squares := make([]float64, bins), make([]float64, bins), make([]float64, bins)
	for _, e := range events {
		b := bin(e.x) - low
		n[b*clusters+of(e)]++
		y[b*clusters+of(e)] += e.value
		all[b]++
		sumX[b] += e.x
		squares[b] += float64(e.value * e.value)
	}
	last := -1
	for b := range bins {
		if all[b] == 0 {
			continue
		}
		if last >= 0 {
			t.Gap = append(t.Gap, int32(b-last-1))
		}
		last = b
		for c := range clusters {
			if n[b*clusters+c] > 0 {
				t.Cluster = append(t.Cluster, int32(c))
				t.N = append(t.N, n[b*clusters+c])
				t.Y = append(t.Y, y[b*clusters+c])
			}
		}
		t.X = append(t.X, sumX[b]/all[b])
		t.Start = append(t.Start, int32(len(t.N)))
		if d.Kind == stats.Mean {
			t.YY = append(t.YY, squares[b])
		}
	}
	t.Parts = d.parts(events)
	return t
}
