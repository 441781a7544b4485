package located

import (
	"math"
	"slices"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// sample holds the events of a cell by pitcher, node of the quality and place.
type sample struct {
	x        []float64 // node, as the cell's curve has it
	width    float64
	sign     float64
	line     float64
	mix      []float64
	pitchers int
	entries  []entry // by pitcher
	start    []int   // entries of pitcher p are start[p] … start[p+1]−1
}

type entry struct {
	node, place int
	n, y        float64
}

// newSample gathers the places of a cell over its seasons. Events without a known
// place are in none.
func newSample(t *tally.Tally, c *estimate.Curve, mix []float64, scoring *outcome.Scoring) *sample {
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
			s.pitchers++
		}
		s.entries = append(s.entries, entry{k.node, k.place, sums[k][0], sums[k][1]})
	}
	s.start = append(s.start, len(keys))
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
	var placeN, placeY, part [9]float64
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

// crossing returns where sign·(rate − line) of the smooth curve through some rates
// passes 0 in the direction given, nearest to x; NaN where it nowhere does.
func (s *sample) crossing(smoother *stats.Smoother, lambda float64, rates, n []float64, up bool, x float64) (at, chosen float64) {
	f := make([]float64, len(s.x))
	some := 0
	for _, k := range n {
		if k > 0 {
			some++
		}
	}
	if some < min(2, len(n)) {
		return nan, lambda
	}
	chosen = smoother.Fit(rates, n, f, lambda)
	at = nan
	for i := range len(f) - 1 {
		p, q := s.sign*(f[i]-s.line), s.sign*(f[i+1]-s.line)
		if (p > 0) == (q > 0) || (q > 0) != up {
			continue
		}
		c := s.x[i] + float64((s.x[i+1]-s.x[i])*(-p))/(q-p)
		if !(math.Abs(c-x) >= math.Abs(at-x)) {
			at = c
		}
	}
	return at, chosen
}
