package trial

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// A tally places a claim's pitches in one of two ways: by the bins of the variable,
// whose edges the bounds are moved to, or exactly, where the pitches were counted
// by the claim's own bounds (see Exactly).

// exactName names the variable that counts pitches between the bounds of a region
// and on either side.
func exactName(c Claim) string {
	if c.Region.two() {
		return c.Variable + " | " + plainNumber(c.Region.A) + " | " + plainNumber(c.Region.B)
	}
	return c.Variable + " | " + plainNumber(c.Region.A)
}

// Exactly returns, for the variables that a source can tell, those that count each
// claim's pitches exactly: their bin is the number of the claim's bounds at or
// below the pitch. They keep their variable's definition.
func Exactly(claims []Claim, vars []shape.Variable) []shape.Variable {
	var out []shape.Variable
	for _, c := range claims {
		name := exactName(c)
		i := slices.IndexFunc(vars, func(v shape.Variable) bool { return v.Name == c.Variable })
		if i < 0 || slices.ContainsFunc(out, func(v shape.Variable) bool { return v.Name == name }) {
			continue
		}
		v := vars[i]
		a, _ := v.Quantize(c.Region.A)
		b, _ := v.Quantize(c.Region.B)
		if !c.Region.two() {
			b = math.MaxInt64
		}
		exact := v
		exact.Name, exact.Width, exact.Quantum = name, 1, 1
		exact.Value = func(p *pitch.Pitch) float64 {
			q, ok := v.Quantize(v.Value(p))
			switch {
			case !ok:
				return math.NaN()
			case q < a:
				return 0
			case q < b:
				return 1
			}
			return 2
		}
		out = append(out, exact)
	}
	return out
}

// placing says where the bins of a variable lie against a claim's bounds.
type placing struct {
	variable int // index into the tally's variables
	region   Region
	rounded  bool // bounds were moved to edges of bins
	inside   func(bin int32) bool
}

// place finds how a tally can place a claim's pitches; ok is false where it does
// not hold the variable.
func place(t *tally.Tally, c Claim) (placing, bool) {
	if i := t.VariableIndex(exactName(c)); i >= 0 {
		return placing{i, c.Region, false, func(bin int32) bool { return c.Region.contains(int(bin)) }}, true
	}
	i := t.VariableIndex(c.Variable)
	if i < 0 {
		return placing{}, false
	}
	v := t.Variables[i]
	p := placing{variable: i, region: c.Region}
	edge := func(x float64) (int32, float64) {
		q := int64(math.Round(x * float64(v.PerUnit)))
		bin, d := shape.Bin(q, v.WidthQ)
		if d != 0 {
			p.rounded = true
			if 2*d >= v.WidthQ {
				bin++
			}
		}
		return int32(bin), v.Lower(int32(bin))
	}
	var a, b int32
	a, p.region.A = edge(c.Region.A)
	if c.Region.two() {
		b, p.region.B = edge(c.Region.B)
	}
	p.inside = func(bin int32) bool {
		above := 0
		if bin >= a {
			above++
		}
		if c.Region.two() && bin >= b {
			above++
		}
		return c.Region.contains(above)
	}
	return p, true
}

// The two sides of a claim.
const (
	in = iota
	out
)

// sample is what a league threw on both sides of a claim, over its seasons.
type sample struct {
	pitchers, batters [2]stats.Sums
	pitches           [2]int64
	seasons           int
}

// count sums a claim's cells.
func (l *League) count(c Claim, p placing) sample {
	t := l.Tally
	s := sample{}
	for side := range 2 {
		s.pitchers[side], s.batters[side] = stats.NewSums(len(t.Pitchers)), stats.NewSums(len(t.Batters))
	}
	var seasons []int16
	for i := range t.Cells {
		cell := &t.Cells[i]
		k := cell.Cell
		if k.Stratum != tally.AllStrata || k.Type != c.Type || !slices.Contains(c.matchups(), pitch.Matchup{Hand: k.Hand, Side: k.Side}) {
			continue
		}
		if !slices.Contains(seasons, k.Season) {
			seasons = append(seasons, k.Season)
		}
		curve := &cell.Curves[p.variable]
		for b := curve.Known(); b < len(curve.Bins); b++ {
			side := out
			if p.inside(curve.Bins[b]) {
				side = in
			}
			rows := curve.Bin(b)
			for r := range rows {
				s.pitches[side] += int64(rows[r].Pitches)
				if n, y, yy := rows[r].Values(c.Metric, &l.Scoring); n > 0 {
					s.pitchers[side].Add(rows[r].Cluster, float64(n), y, yy)
				}
			}
			for _, k := range curve.BatterBin(b) {
				if k.Event().Metric() == c.Metric {
					n, w := float64(k.Count()), k.Event().Value(&l.Scoring)
					s.batters[side].Add(k.Batter, n, float64(n*w), float64(float64(n*w)*w))
				}
			}
		}
	}
	s.seasons = len(seasons)
	return s
}

// minBattersKnown is the share of the events whose batter must be known for
// batters to count as clusters, as on curves.
const minBattersKnown = .9

// battersKnown tells whether batters count as clusters.
func (s *sample) battersKnown() bool {
	known := s.batters[in].Events() + s.batters[out].Events()
	return known > 0 && known >= float64(minBattersKnown*(s.pitchers[in].Events()+s.pitchers[out].Events()))
}
