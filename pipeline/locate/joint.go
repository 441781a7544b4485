package locate

import (
	"cmp"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Joint is the outcome of whiff rate and wOBA-against at once: good where both beat
// their lines. It adds no test. Its verdict follows from those of the two.
const Joint = thresholds.Joint

type curveKey struct {
	thresholds.Key
	reference string
}

func verdictIndex(t *thresholds.Tables) map[curveKey]*thresholds.Verdict {
	at := make(map[curveKey]*thresholds.Verdict, len(t.Verdicts))
	for i := range t.Verdicts {
		at[curveKey{t.Verdicts[i].Key, t.Verdicts[i].Reference}] = &t.Verdicts[i]
	}
	return at
}

// zonesBySign lists the zones of one sign, by curve.
func zonesBySign(t *thresholds.Tables, sign int64) map[curveKey][]*thresholds.Zone {
	at := map[curveKey][]*thresholds.Zone{}
	for i := range t.Zones {
		if z := &t.Zones[i]; z.Sign == sign {
			k := curveKey{z.Key, z.Reference}
			at[k] = append(at[k], z)
		}
	}
	return at
}

// addJoint adds a verdict on both outcomes at once wherever each has one, and its
// zones. A joint zone's share of events is that of the swings in bins whose mean
// lies in it.
func addJoint(t *thresholds.Tables) {
	index, good, bad := verdictIndex(t), zonesBySign(t, 1), zonesBySign(t, -1)
	bins := map[thresholds.Key][]*thresholds.Bin{}
	for i := range t.Bins {
		b := &t.Bins[i]
		bins[b.Key] = append(bins[b.Key], b)
	}
	var verdicts []thresholds.Verdict
	var zones []thresholds.Zone
	for i := range t.Verdicts {
		a := &t.Verdicts[i]
		if a.Outcome != outcome.Metrics[outcome.Whiff].Name {
			continue
		}
		k := curveKey{a.Key, a.Reference}
		o := k
		o.Outcome = outcome.Metrics[outcome.WOBA].Name
		b := index[o]
		if b == nil {
			continue
		}
		var own []thresholds.Zone
		if settled(a) && settled(b) {
			own = meetAll(good[k], good[o])
			own = withGaps(own, slices.Concat(bad[k], bad[o]))
		}
		for n := range own {
			z := &own[n]
			z.Key, z.Reference, z.Zone = a.Key, a.Reference, int64(n+1)
			z.Outcome, z.EventShare = Joint, shareWithin(bins[a.Key], z)
		}
		v := jointVerdict(a, b, own)
		verdicts = append(verdicts, v)
		if v.Verdict == Found || v.Verdict == AlwaysBeats {
			zones = append(zones, own...)
		}
	}
	t.Verdicts, t.Zones = append(t.Verdicts, verdicts...), append(t.Zones, zones...)
}

// settled tells whether a verdict says where the outcome beats its line.
func settled(v *thresholds.Verdict) bool { return v.Verdict == Found || v.Verdict == AlwaysBeats }

// jointVerdict is the verdict on two outcomes at once by the words of one: never
// where either never beats its line, always where both do, found where their zones
// meet on a stretch that is certain of both and has a breakpoint. Sample and rate are
// those of the whiff rate; q is the larger of those it rests on.
func jointVerdict(a, b *thresholds.Verdict, zones []thresholds.Zone) thresholds.Verdict {
	either := func(word string) bool { return a.Verdict == word || b.Verdict == word }
	v := *a
	v.Outcome, v.Line, v.LineLo, v.LineHi, v.P = Joint, nil, nil, nil, nil
	v.Level, v.LevelLo, v.LevelHi, v.Lambda, v.LambdaLo, v.LambdaHi = nil, nil, nil, nil, nil, nil
	v.Qualified = min(a.Qualified, b.Qualified)
	v.Q, v.FamilyQ, v.Everywhere = larger(a.Q, b.Q), larger(a.FamilyQ, b.FamilyQ), false
	switch {
	case either(TooFew):
		v.Verdict = TooFew
	case either(NeverBeats):
		v.Verdict = NeverBeats
		v.Everywhere = a.Verdict == NeverBeats && a.Everywhere || b.Verdict == NeverBeats && b.Everywhere
	case a.Verdict == AlwaysBeats && b.Verdict == AlwaysBeats:
		v.Verdict, v.Everywhere = AlwaysBeats, a.Everywhere && b.Everywhere
	case either(Inconclusive):
		v.Verdict = Inconclusive
	case slices.ContainsFunc(zones, func(z thresholds.Zone) bool { return z.Sign > 0 && len(z.Edges()) > 0 }):
		v.Verdict = Found
	default:
		v.Verdict = EdgeUnresolved
	}
	if v.Verdict == Found && either(AlwaysBeats) { // which rests on no q
		v.Q, v.FamilyQ = a.Q, a.FamilyQ
		if a.Verdict == AlwaysBeats {
			v.Q, v.FamilyQ = b.Q, b.FamilyQ
		}
	}
	switch {
	case a.LevelVerdict == Below || b.LevelVerdict == Below:
		v.LevelVerdict = Below
	case a.LevelVerdict != b.LevelVerdict:
		v.LevelVerdict = NotShown
	}
	if a.Trend != b.Trend {
		v.Trend = Flat
	}
	v.Settle = jointSettle(a, b, v.Verdict)
	v.Warnings = slices.Clone(a.Warnings)
	for _, w := range b.Warnings {
		if !slices.Contains(v.Warnings, w) {
			v.Warnings = append(v.Warnings, w)
		}
	}
	return v
}

// meetAll makes the zones in which a certain stretch of both outcomes meet, from left
// to right. An outcome without a zone beats its line throughout.
func meetAll(a, b []*thresholds.Zone) []thresholds.Zone {
	var out []thresholds.Zone
	if len(a) == 0 || len(b) == 0 {
		for _, z := range slices.Concat(a, b) {
			alone := *z
			alone.LowerMinus, alone.LowerPlus, alone.UpperMinus, alone.UpperPlus = nil, nil, nil, nil
			alone.BeyondLower, alone.BeyondUpper, alone.Support = "", "", nil
			out = append(out, alone)
		}
		return out
	}
	for _, x := range a {
		for _, y := range b {
			if both := overlaps(x.Certain, y.Certain); len(both) > 0 {
				z := meet(x, y)
				setCertain(&z, both)
				out = append(out, z)
			}
		}
	}
	return out
}

func setCertain(z *thresholds.Zone, spans []thresholds.Span) {
	z.Certain, z.CertainLo, z.CertainHi = spans, &spans[0].Lo, &spans[len(spans)-1].Hi
}

// overlaps lists where a stretch of a and one of b meet, from left to right.
func overlaps(a, b []thresholds.Span) []thresholds.Span {
	var out []thresholds.Span
	for _, x := range a {
		for _, y := range b {
			if lo, hi := max(x.Lo, y.Lo), min(x.Hi, y.Hi); lo < hi {
				out = append(out, thresholds.Span{Lo: lo, Hi: hi})
			}
		}
	}
	return out
}

// meet makes the zone of two that have a certain stretch in common.
func meet(x, y *thresholds.Zone) thresholds.Zone {
	z := thresholds.Zone{Sign: 1, Weak: x.Weak || y.Weak,
		PossibleLo: extreme(x.PossibleLo, y.PossibleLo, 1, false), PossibleHi: extreme(x.PossibleHi, y.PossibleHi, -1, false)}
	setLower(&z, binding(lowerEnd(x), lowerEnd(y), 1))
	setUpper(&z, binding(upperEnd(x), upperEnd(y), -1))
	return z
}

// end is one end of a zone: its place with limits, how it rests on single pitchers,
// and how far the zone is certain.
type end struct {
	kind                                string
	at, lo, hi, share, without, certain *float64
}

func lowerEnd(z *thresholds.Zone) end {
	return end{z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.LowerLargestShare, z.LowerWithoutOne, z.CertainLo}
}

func upperEnd(z *thresholds.Zone) end {
	return end{z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.UpperLargestShare, z.UpperWithoutOne, z.CertainHi}
}

func setLower(z *thresholds.Zone, e end) {
	z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.LowerLargestShare, z.LowerWithoutOne = e.kind, e.at, e.lo, e.hi, e.share, e.without
}

func setUpper(z *thresholds.Zone, e end) {
	z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.UpperLargestShare, z.UpperWithoutOne = e.kind, e.at, e.lo, e.hi, e.share, e.without
}

// binding is the end that two zones have in common: of two lower ends (sign +1) the
// higher, of two upper ends (−1) the lower. Of two breakpoints the limits are taken
// end by end in the same way: they miss the joint one in no more than about .05, since
// both must lie too low to have it above (an intersection–union of the two
// intervals; study joint).
func binding(a, b end, sign float64) end {
	switch {
	case a.kind == thresholds.EndEdge && b.kind == thresholds.EndEdge:
		e := a
		if sign*(*b.at-*a.at) > 0 {
			e = b
		}
		e.lo, e.hi = extreme(a.lo, b.lo, sign, sign < 0), extreme(a.hi, b.hi, sign, sign > 0)
		return e
	case a.kind == thresholds.EndOpen && b.kind == thresholds.EndEdge:
		return b
	case a.kind == thresholds.EndEdge && b.kind == thresholds.EndOpen:
		return a
	case sign*(*b.certain-*a.certain) > 0:
		return b
	}
	return a
}

// extreme is the larger (sign +1) or smaller (−1) of two numbers. Null wins, or else
// loses against any number.
func extreme(a, b *float64, sign float64, null bool) *float64 {
	switch {
	case a == nil && b == nil, null && (a == nil || b == nil):
		return nil
	case a == nil, b != nil && sign*(*b-*a) > 0:
		return b
	}
	return a
}

func larger(a, b *float64) *float64 { return extreme(a, b, 1, false) }

// withGaps puts between the zones where both outcomes beat their lines those where
// either certainly falls behind. A gap ends at the breakpoints of its neighbours.
func withGaps(good []thresholds.Zone, bad []*thresholds.Zone) []thresholds.Zone {
	var out []thresholds.Zone
	for i := range len(good) + 1 {
		gap := thresholds.Zone{Sign: -1}
		from, to := end{kind: thresholds.EndOpen}, end{kind: thresholds.EndOpen}
		if i > 0 {
			from, gap.Weak = upperEnd(&good[i-1]), good[i-1].Weak
		}
		if i < len(good) {
			to, gap.Weak = lowerEnd(&good[i]), gap.Weak || good[i].Weak
		}
		if spans := behind(bad, from.certain, to.certain); len(good) > 0 && len(spans) > 0 {
			setCertain(&gap, spans)
			setLower(&gap, from.ofGap(gap.CertainLo))
			setUpper(&gap, to.ofGap(gap.CertainHi))
			out = append(out, gap)
		}
		if i < len(good) {
			out = append(out, good[i])
		}
	}
	return out
}

// ofGap is a neighbour's end as that of the gap, which has no end of its own: where
// the neighbour has no breakpoint there, the gap's evidence fades.
func (e end) ofGap(fades *float64) end {
	switch e.kind {
	case thresholds.EndEdge:
		return e
	case thresholds.EndOpen:
		return end{kind: thresholds.EndOpen, at: fades}
	}
	return end{kind: thresholds.EndUnresolved, at: fades}
}

// behind lists the certain stretches of zones between two places, null for no end,
// with those that touch made one.
func behind(bad []*thresholds.Zone, from, to *float64) []thresholds.Span {
	var all, out []thresholds.Span
	for _, z := range bad {
		for _, s := range z.Certain {
			if (from == nil || s.Lo > *from) && (to == nil || s.Hi < *to) {
				all = append(all, s)
			}
		}
	}
	slices.SortFunc(all, func(a, b thresholds.Span) int { return cmp.Or(cmp.Compare(a.Lo, b.Lo), cmp.Compare(a.Hi, b.Hi)) })
	for _, s := range all {
		if n := len(out); n > 0 && s.Lo <= out[n-1].Hi {
			out[n-1].Hi = max(out[n-1].Hi, s.Hi)
			continue
		}
		out = append(out, s)
	}
	return out
}

func shareWithin(bins []*thresholds.Bin, z *thresholds.Zone) float64 {
	var in, all int64
	for _, b := range bins {
		if b.Mean == nil {
			continue
		}
		all += b.Events
		if (z.LowerKind == thresholds.EndOpen || *b.Mean >= *z.Lower) && (z.UpperKind == thresholds.EndOpen || *b.Mean <= *z.Upper) {
			in += b.Events
		}
	}
	return float64(in) / float64(max(all, 1))
}

// headline makes the view that people open first: every verdict on all pitches of
// a cell against a headline line with each of its zones that beat it, or with
// none. The joint rows have the whiff rate and no single line. Strata are not in
// it: asking for more of them leaves it as it is.
func headline(t *thresholds.Tables) []thresholds.Threshold {
	zones := zonesBySign(t, 1)
	var out []thresholds.Threshold
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		if !v.Headline || v.Stratum != tally.AllStrata {
			continue
		}
		row := thresholds.Threshold{Key: v.Key, Reference: v.Reference, Unit: v.Unit, Verdict: v.Verdict,
			Line: v.Line, Rate: v.Rate, Events: v.Events, Pitchers: v.Pitchers, Q: v.Q, Warnings: v.Warnings}
		k := curveKey{v.Key, v.Reference}
		if len(zones[k]) == 0 {
			out = append(out, row)
		}
		for _, z := range zones[k] {
			out = append(out, withZone(row, z))
		}
	}
	return out
}

func withZone(row thresholds.Threshold, z *thresholds.Zone) thresholds.Threshold {
	row.Zone = z.Zone
	row.LowerKind, row.Lower, row.LowerLo, row.LowerHi = z.LowerKind, z.Lower, z.LowerLo, z.LowerHi
	row.UpperKind, row.Upper, row.UpperLo, row.UpperHi = z.UpperKind, z.Upper, z.UpperLo, z.UpperHi
	return row
}
