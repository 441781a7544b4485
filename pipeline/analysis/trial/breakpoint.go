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

// bounds are the ends of a region: the pitch is better above them, or below.
func (r Region) bounds() []stats.Edge {
	a, b := stats.Edge{X: r.A, Up: r.Kind == AtLeast || r.Kind == Between}, stats.Edge{X: r.B, Up: r.Kind == Outside}
	if r.two() {
		return []stats.Edge{a, b}
	}
	return []stats.Edge{a}
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
		key := cell.Key(r.Variable, r.claim.Metric)
		key.Outcome = r.claim.measure()
		edges := answer.Edges(l.Zones, key, Reference)
		var texts []string
		for _, b := range r.claim.Region.bounds() {
			own, ok := nearest(edges, b)
			switch {
			case !ok:
				found = append(found, NoneOwn)
				continue
			case own.Lo <= b.X && b.X <= own.Hi:
				found = append(found, Inside)
			default:
				found = append(found, Elsewhere)
			}
			texts = append(texts, format(own.X)+" "+words.Interval(answer.Null(own.Lo), answer.Null(own.Hi), format))
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

// nearest is the edge nearest to a bound, on the same side of which the pitch is better.
func nearest(edges []stats.Edge, to stats.Edge) (best stats.Edge, ok bool) {
	for _, e := range edges {
		if e.Up == to.Up && (!ok || math.Abs(e.X-to.X) < math.Abs(best.X-to.X)) {
			best, ok = e, true
		}
	}
	return best, ok
}
