package trial

import (
	"math"
	"slices"
	"strings"

	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// Where a cutoff lies against a league's own breakpoints.
const (
	Inside    = "inside"    // inside the interval of each
	Elsewhere = "elsewhere" // outside them
	Mixed     = "mixed"     // one in some matchups, another in others
	NoneOwn   = "none"      // the league has none of this direction
	Unknown   = "unknown"   // the league has no published version
)

// breakpoint is one edge of a league's zones; a limit that is open is infinite.
type breakpoint struct{ x, lo, hi float64 }

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
	v := variableOf(r.Variable)
	format := func(x float64) string { return words.Number(x, v.Decimals) }
	var found []string
	for _, m := range r.claim.matchups() {
		var texts []string
		for _, b := range r.claim.Region.bounds() {
			own, ok := nearest(edgesOf(l.Zones, r.claim, m, b.above), b.x)
			switch {
			case !ok:
				found = append(found, NoneOwn)
				continue
			case own.lo <= b.x && b.x <= own.hi:
				found = append(found, Inside)
			default:
				found = append(found, Elsewhere)
			}
			texts = append(texts, format(own.x)+" "+span(own.lo, own.hi, format))
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

// edgesOf lists a matchup's confirmed edges above which (or below which) the pitch
// beats the line.
func edgesOf(zones []thresholds.Zone, c Claim, m pitch.Matchup, above bool) []breakpoint {
	k := thresholds.Key{Hand: m.Hand.String(), Side: m.Side.String(), PitchType: c.Type.String(), Variable: c.Variable, Outcome: c.outcome().Name}
	var out []breakpoint
	for i := range zones {
		z := &zones[i]
		if z.Key != k || z.Reference != Reference {
			continue
		}
		kind, x, lo, hi := z.LowerKind, z.Lower, z.LowerLo, z.LowerHi
		if (z.Sign > 0) != above {
			kind, x, lo, hi = z.UpperKind, z.Upper, z.UpperLo, z.UpperHi
		}
		if kind != edgeKind || x == nil {
			continue
		}
		b := breakpoint{*x, orInf(lo, -1), orInf(hi, 1)}
		if !slices.Contains(out, b) { // the zones on both sides of an edge tell it
			out = append(out, b)
		}
	}
	return out
}

// edgeKind is a zone's end that is a breakpoint.
const edgeKind = "edge"

func orInf(p *float64, sign int) float64 {
	if p == nil {
		return math.Inf(sign)
	}
	return *p
}

func nearest(list []breakpoint, x float64) (best breakpoint, ok bool) {
	for _, b := range list {
		if !ok || math.Abs(b.x-x) < math.Abs(best.x-x) {
			best, ok = b, true
		}
	}
	return best, ok
}
