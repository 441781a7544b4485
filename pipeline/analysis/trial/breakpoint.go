package trial

import (
	"math"
	"slices"
	"strings"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/render/words"
	"sill/stats"
)

// Where a cutoff lies against a league's own breakpoints.
const (
	Inside    = "inside"    // inside the interval of each
	Elsewhere = "elsewhere" // outside them
	Mixed     = "mixed"     // one in some matchups, another in others
	NoneOwn   = "none"      // the league has none of this direction
	Unknown   = "unknown"   // the league has no published version
)

// bound is one end of a region: better above it, or below.
type bound struct {
	x     float64
	above bool
}

func (r Region) bounds() []bound {
	switch r.Kind {
	case AtLeast:
		return []bound{{r.A, true}}
	case AtMost:
		return []bound{{r.A, false}}
	case Between:
		return []bound{{r.A, true}, {r.B, false}}
	default:
		return []bound{{r.A, false}, {r.B, true}}
	}
}

// against holds the claim's bounds against the league's own breakpoints.
func (r *Row) against(l *League) {
	if l.Zones == nil {
		r.Breakpoint = Unknown
		return
	}
	v := answer.Variable(r.Variable)
	format := func(x float64) string { return words.Number(x, v.Decimals) }
	var found []string
	for _, m := range r.claim.matchups() {
		cell := answer.Cell{Hand: m.Hand, Side: m.Side, Type: r.claim.Type}
		edges := answer.Edges(l.Zones, cell.Key(r.Variable, r.claim.Metric), Reference)
		var texts []string
		for _, b := range r.claim.Region.bounds() {
			own, ok := b.nearest(edges)
			switch {
			case !ok:
				found = append(found, NoneOwn)
				continue
			case own.Lo <= b.x && b.x <= own.Hi:
				found = append(found, Inside)
			default:
				found = append(found, Elsewhere)
			}
			texts = append(texts, format(own.X)+" "+answer.Span(answer.Null(own.Lo), answer.Null(own.Hi), format))
		}
		if len(texts) > 0 {
			r.Breakpoints = append(r.Breakpoints, m.String()+" "+strings.Join(texts, " and "))
		}
	}
	slices.Sort(found)
	r.Breakpoint = Mixed
	if found = slices.Compact(found); len(found) == 1 {
		r.Breakpoint = found[0]
	}
}

// nearest is the edge nearest to the bound on whose same side the pitch beats the line.
func (b bound) nearest(edges []stats.Edge) (best stats.Edge, ok bool) {
	for _, e := range edges {
		if e.Up == b.above && (!ok || math.Abs(e.X-b.x) < math.Abs(best.X-b.x)) {
			best, ok = e, true
		}
	}
	return best, ok
}
