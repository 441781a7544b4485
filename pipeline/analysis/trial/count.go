package trial

import (
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
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

// count sums a claim's cells over their seasons, of which it tells the number.
func (l *League) count(c Claim, p placing) (sides [2]*answer.Group, seasons int) {
	sides = [2]*answer.Group{answer.NewGroup(l.Tally), answer.NewGroup(l.Tally)}
	var seen []int16
	for cell, curve := range l.Tally.Curves(p.variable) {
		k := cell.Cell
		if k.Stratum != tally.AllStrata || k.Type != c.Type || !slices.Contains(c.matchups(), pitch.Matchup{Hand: k.Hand, Side: k.Side}) {
			continue
		}
		if !slices.Contains(seen, k.Season) {
			seen = append(seen, k.Season)
		}
		for b := curve.Known(); b < len(curve.Bins); b++ {
			side := out
			if p.inside(curve.Bins[b]) {
				side = in
			}
			sides[side].AddBin(curve, b, c.Metric, &l.Scoring)
		}
	}
	return sides, len(seen)
}
