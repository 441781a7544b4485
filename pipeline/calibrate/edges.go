package calibrate

import (
	"math"
	"slices"

	"sill/pipeline/thresholds"
)

// curve names what is compared with a line: a row of the verdicts resource.
type curve struct {
	thresholds.Key
	reference string
}

// edge is a confirmed breakpoint; a limit that is not pinned is infinite.
type edge struct {
	x, lo, hi float64
	up        bool // to an advantage
	weak      bool // every zone that it bounds is marked weak
}

func (e edge) holds(x float64) bool { return e.lo <= x && x <= e.hi }

func (e edge) open() bool { return math.IsInf(e.lo, 0) || math.IsInf(e.hi, 0) }

// edgesOf gathers the confirmed breakpoints of a table by curve, from left to
// right. The zones on both sides of an edge tell of it.
func edgesOf(tables *thresholds.Tables) map[curve][]edge {
	or := func(p *float64, otherwise float64) float64 {
		if p == nil {
			return otherwise
		}
		return *p
	}
	out := map[curve][]edge{}
	add := func(c curve, kind string, x, lo, hi *float64, up, weak bool) {
		if kind != "edge" {
			return
		}
		e := edge{*x, or(lo, math.Inf(-1)), or(hi, math.Inf(1)), up, weak}
		if k := slices.IndexFunc(out[c], func(o edge) bool { return o.x == e.x && o.up == e.up }); k >= 0 {
			out[c][k].weak = out[c][k].weak && weak
			return
		}
		out[c] = append(out[c], e)
	}
	for i := range tables.Zones {
		z := &tables.Zones[i]
		c := curve{z.Key, z.Reference}
		add(c, z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.Sign > 0, z.Weak)
		add(c, z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.Sign < 0, z.Weak)
	}
	for c := range out {
		slices.SortFunc(out[c], func(a, b edge) int { return int(math.Copysign(1, a.x-b.x)) })
	}
	return out
}
