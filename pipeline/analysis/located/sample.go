package located

import (
	"cmp"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// sample holds the events of a cell by pitcher, node of the quality and place.
type sample struct {
	x        []float64 // node, as the cell's curve has it
	width    float64   // of a bin
	sign     float64
	mix      []float64
	pitchers int
	entries  []entry // by pitcher
	start    []int   // entries of pitcher p are start[p] … start[p+1]−1
	drawn    []int32 // by pitcher: his place among those whom the hand's draws draw
	batters  []batterEntry
}

// batterEntry are the events of a batter at a node and place; yy is of squares.
type batterEntry struct {
	batter      int32
	node, place int
	n, y, yy    float64
}

type entry struct {
	node, place int
	n, y        float64
}

// newSample gathers the places of a cell over its seasons. Events without a known
// place are in none. drawn is each pitcher's place among the hand's.
func newSample(t *tally.Tally, c *estimate.Curve, mix []float64, scoring *outcome.Scoring, drawn []int32) *sample {
	v := t.Variables[c.Variable]
	s := &sample{x: c.Table.X, width: v.Width(), sign: c.Sign(), mix: mix}
	var known []estimate.Bin // that are nodes
	for _, b := range c.Bins {
		if b.Node >= 0 {
			known = append(known, b)
		}
	}
	node := func(bin int32) int {
		x := v.Lower(bin)
		return slices.IndexFunc(known, func(b estimate.Bin) bool { return !(x < b.Lower) && !(x >= b.Upper) }) // an open end is NaN
	}
	type key struct {
		pitcher     int32
		node, place int
	}
	sums := map[key][2]float64{}
	faced := map[key]*batterEntry{} // pitcher is the batter
	for i := range t.Cells {
		cell := &t.Cells[i]
		place := placeOf(cell.Cell.Stratum)
		k := estimate.CellKey{Type: cell.Cell.Type, Hand: cell.Cell.Hand, Side: cell.Cell.Side}
		if place < 0 || k != c.Key {
			continue
		}
		curve := &cell.Curves[c.Variable]
		for b := curve.Known(); b < len(curve.Bins); b++ {
			at := node(curve.Bins[b])
			if at < 0 {
				continue
			}
			rows := curve.Bin(b)
			for j := range rows {
				if n, y, _ := rows[j].Values(c.Metric, scoring); n > 0 {
					k := key{rows[j].Cluster, at, place}
					own := sums[k]
					sums[k] = [2]float64{own[0] + float64(n), own[1] + y}
				}
			}
			for _, e := range curve.BatterBin(b) {
				if !outcome.Metrics[c.Metric].Counts(e.Event()) {
					continue
				}
				k := key{e.Batter, at, place}
				if faced[k] == nil {
					faced[k] = &batterEntry{batter: e.Batter, node: at, place: place}
				}
				n, y := float64(e.Count()), outcome.Metrics[c.Metric].Value(e.Event(), scoring)
				faced[k].n += n
				faced[k].y += float64(n * y)
				faced[k].yy += float64(float64(n*y) * y)
			}
		}
	}
	keys := make([]key, 0, len(sums))
	for k := range sums {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int {
		if a.pitcher != b.pitcher {
			return int(a.pitcher) - int(b.pitcher)
		}
		return (a.node-b.node)*places + a.place - b.place
	})
	for i, k := range keys {
		if i == 0 || k.pitcher != keys[i-1].pitcher {
			s.start = append(s.start, i)
			s.drawn = append(s.drawn, drawn[k.pitcher])
			s.pitchers++
		}
		s.entries = append(s.entries, entry{k.node, k.place, sums[k][0], sums[k][1]})
	}
	s.start = append(s.start, len(keys))
	for _, b := range faced {
		s.batters = append(s.batters, *b)
	}
	slices.SortFunc(s.batters, func(a, b batterEntry) int {
		return cmp.Or(cmp.Compare(a.node, b.node), cmp.Compare(a.batter, b.batter), cmp.Compare(a.place, b.place))
	})
	return s
}

// counts are events and values by group of nodes and place, groups × places.
type counts struct{ n, y []float64 }

func newCounts(groups int) counts {
	return counts{make([]float64, groups*places), make([]float64, groups*places)}
}

// add adds a pitcher's events so many times, nodes grouped by group.
func (s *sample) add(c *counts, pitcher int, times float64, group func(node int) int) {
	for _, e := range s.entries[s.start[pitcher]:s.start[pitcher+1]] {
		at := group(e.node)*places + e.place
		c.n[at] += float64(times * e.n)
		c.y[at] += float64(times * e.y)
	}
}

// borrowed is how many events' worth a place of a group borrows from what its group
// and its place would lead to expect: places without enough events of their own
// then do not run wild.
const borrowed = 5

// fitRounds is how often groups and places are fitted in turn; each round comes
// several times nearer.
const fitRounds = 25

// rates returns events, rate as thrown and rate at the league's mix of places by
// group:
//
//	Σ_l w_l·(Y_gl + k·(a_g + c_l))/(n_gl + k),  k = 5
//
// with w the mix and a_g + c_l the sum of a part of the group and one of the place,
// fitted together by least squares (c drawn toward 0 by k events): a place's own
// part is not what the groups thrown there bring.
//
// Source: direct standardisation (common practice in rates of health, from memory);
// the borrowing is ours.
func (s *sample) rates(c *counts) (n, thrown, held []float64) {
	groups := len(c.n) / places
	n, thrown, held = make([]float64, groups), make([]float64, groups), make([]float64, groups)
	y := make([]float64, groups)
	var placeN, placeY, part [places]float64
	for i, k := range c.n {
		n[i/places] += k
		y[i/places] += c.y[i]
		placeN[i%places] += k
		placeY[i%places] += c.y[i]
	}
	own := make([]float64, groups)
	for range fitRounds {
		rest := placeY
		for g := range groups {
			if n[g] == 0 {
				continue
			}
			row := c.n[g*places : (g+1)*places]
			sum := y[g]
			for l, k := range row {
				sum -= float64(k * part[l])
			}
			own[g] = sum / n[g]
			for l, k := range row {
				rest[l] -= float64(k * own[g])
			}
		}
		for l := range part {
			part[l] = rest[l] / (placeN[l] + borrowed)
		}
	}
	for g := range groups {
		if n[g] == 0 {
			continue
		}
		thrown[g] = y[g] / n[g]
		for l, w := range s.mix {
			at := g*places + l
			held[g] += float64(w*(c.y[at]+float64(borrowed*(own[g]+part[l])))) / (c.n[at] + borrowed)
		}
	}
	return n, thrown, held
}

// empty is the share of a group's weight that stands on places where it has no event,
// which the additive model fills, by group.
func (s *sample) empty(c *counts) []float64 {
	out := make([]float64, len(c.n)/places)
	for i, k := range c.n {
		if k == 0 {
			out[i/places] += s.mix[i%places]
		}
	}
	return out
}

// curves are those of the pitches of a known place, as thrown and with location held,
// with what batters add to the second, and the line.
type curves struct {
	thrown, held *stats.Curve // nil where too few nodes have events
	second       *stats.SecondWay
	line         stats.Line
}

// fit fits both curves and their replicates: in each draw of the hand's pitchers, rates,
// places' parts and λ anew; the line's replicates are of the same draws.
func (s *sample) fit(c *estimate.Curve, line stats.Line, w *stats.Weights, grid []float64) curves {
	own := func(node int) int { return node }
	rates := func(locationHeld bool) func(count []uint8, n, rate []float64) {
		return func(count []uint8, n, rate []float64) {
			all := newCounts(len(s.x))
			for p := range s.pitchers {
				if times := count[s.drawn[p]]; times > 0 {
					s.add(&all, p, float64(times), own)
				}
			}
			events, thrown, held := s.rates(&all)
			copy(n, events)
			copy(rate, thrown)
			if locationHeld {
				copy(rate, held)
			}
		}
	}
	out := curves{line: line, thrown: stats.FitRates(c.Table, s.width, w, grid, rates(false)), held: stats.FitRates(c.Table, s.width, w, grid, rates(true))}
	if out.held != nil && c.ByBatter != nil && len(s.batters) > 0 {
		out.second = stats.NewSecondWay(out.held, s.byBatter(out.held, c.ByBatter.Clusters))
	}
	return out
}

// byBatter counts the events by batter so that a node's mean is its rate with location
// held, and a batter's part of it the one that he has in that rate: an event of value v
// in place l of node b counts
//
//	h_b + w_l·N_b/(n_bl + k)·(v − Y_bl/n_bl)
//
// with h_b the rate held. What batters do to what places borrow is neglected.
func (s *sample) byBatter(held *stats.Curve, batters int) *stats.Table {
	all := newCounts(len(s.x))
	for p := range s.pitchers {
		s.add(&all, p, 1, func(node int) int { return node })
	}
	t := &stats.Table{Start: []int32{0}, YY: []float64{}, Clusters: batters}
	for i := 0; i < len(s.batters); {
		node := s.batters[i].node
		first, yy := len(t.N), 0.0
		for ; i < len(s.batters) && s.batters[i].node == node; i++ {
			e := &s.batters[i]
			at := node*places + e.place
			weight, rate, h := s.mix[e.place]*held.N[node]/(all.n[at]+borrowed), all.y[at]/all.n[at], held.Rate[node]
			off := float64(weight * (e.y - float64(rate*e.n)))
			if k := len(t.N); k == first || t.Cluster[k-1] != e.batter {
				t.Cluster, t.N, t.Y = append(t.Cluster, e.batter), append(t.N, 0), append(t.Y, 0)
			}
			k := len(t.N) - 1
			t.N[k] += e.n
			t.Y[k] += off + float64(h*e.n)
			yy += float64(weight*weight*(e.yy-float64(2*rate*e.y)+float64(rate*rate*e.n))) + float64(2*h*off) + float64(h*h*e.n)
		}
		t.X, t.YY, t.Start = append(t.X, s.x[node]), append(t.YY, yy), append(t.Start, int32(len(t.N)))
	}
	return t
}

// crossing returns where sign·(f − line) passes 0 in the direction given, nearest to x;
// NaN where it nowhere does.
func (s *sample) crossing(f []float64, line float64, up bool, x float64) float64 {
	at := answer.NaN
	for i := range len(f) - 1 {
		p, q := s.sign*(f[i]-line), s.sign*(f[i+1]-line)
		if (p > 0) == (q > 0) || (q > 0) != up {
			continue
		}
		c := s.x[i] + float64((s.x[i+1]-s.x[i])*(-p))/(q-p)
		if !(math.Abs(c-x) >= math.Abs(at-x)) {
			at = c
		}
	}
	return at
}
