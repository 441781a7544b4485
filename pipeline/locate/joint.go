package locate

import (
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// Joint is the outcome of zones where whiff rate and wOBA-against both beat
// their lines. Such zones stand where both outcomes are found, and add no test:
// their q is the larger of the two.
const Joint = "joint"

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

// goodZones lists the zones that beat a line, by curve.
func goodZones(t *thresholds.Tables) map[curveKey][]*thresholds.Zone {
	at := map[curveKey][]*thresholds.Zone{}
	for i := range t.Zones {
		if z := &t.Zones[i]; z.Sign > 0 {
			k := curveKey{z.Key, z.Reference}
			at[k] = append(at[k], z)
		}
	}
	return at
}

// addJointZones adds the zones in which a certain stretch of both outcomes meet.
// Each end is that of the outcome that binds there; the share of events is that
// of the swings in bins whose mean lies on such a stretch.
func addJointZones(t *thresholds.Tables) {
	verdicts, zones := verdictIndex(t), goodZones(t)
	bins := map[thresholds.Key][]*thresholds.Bin{}
	for i := range t.Bins {
		b := &t.Bins[i]
		bins[b.Key] = append(bins[b.Key], b)
	}
	for i := range t.Verdicts {
		a := &t.Verdicts[i]
		if a.Outcome != outcome.Metrics[outcome.Whiff].Name || a.Verdict != Found {
			continue
		}
		k := curveKey{a.Key, a.Reference}
		k.Outcome = outcome.Metrics[outcome.WOBA].Name
		b := verdicts[k]
		if b == nil || b.Verdict != Found {
			continue
		}
		number := int64(0)
		for _, x := range zones[curveKey{a.Key, a.Reference}] {
			for _, y := range zones[k] {
				both := overlaps(x.Certain, y.Certain)
				if len(both) == 0 {
					continue
				}
				number++
				z := meet(x, y)
				z.Key.Outcome, z.Zone = Joint, number
				z.Certain = both
				z.CertainLo, z.CertainHi = &both[0].Lo, &both[len(both)-1].Hi
				z.EventShare = shareWithin(bins[a.Key], both)
				t.Zones = append(t.Zones, z)
			}
		}
	}
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

// meet makes the zone of two that have a certain stretch in common, with the ends of
// the one that binds.
func meet(x, y *thresholds.Zone) thresholds.Zone {
	low, high := x, x
	if *y.CertainLo > *x.CertainLo {
		low = y
	}
	if *y.CertainHi < *x.CertainHi {
		high = y
	}
	z := thresholds.Zone{Key: x.Key, Reference: x.Reference, Sign: 1,
		LowerKind: low.LowerKind, Lower: low.Lower, LowerLo: low.LowerLo, LowerHi: low.LowerHi,
		LowerLargestShare: low.LowerLargestShare, LowerWithoutOne: low.LowerWithoutOne,
		UpperKind: high.UpperKind, Upper: high.Upper, UpperLo: high.UpperLo, UpperHi: high.UpperHi,
		UpperLargestShare: high.UpperLargestShare, UpperWithoutOne: high.UpperWithoutOne,
		PossibleLo: tighter(x.PossibleLo, y.PossibleLo, 1), PossibleHi: tighter(x.PossibleHi, y.PossibleHi, -1),
		Weak: x.Weak || y.Weak}
	return z
}

// tighter is the larger (sign +1) or smaller (−1) of two ends, null being none.
func tighter(a, b *float64, sign float64) *float64 {
	if a == nil || b != nil && sign*(*b-*a) > 0 {
		return b
	}
	return a
}

func shareWithin(bins []*thresholds.Bin, stretches []thresholds.Span) float64 {
	var in, all int64
	for _, b := range bins {
		if b.Mean == nil {
			continue
		}
		all += b.Events
		if slices.ContainsFunc(stretches, func(s thresholds.Span) bool { return *b.Mean >= s.Lo && *b.Mean <= s.Hi }) {
			in += b.Events
		}
	}
	return float64(in) / float64(max(all, 1))
}

// headline makes the view that people open first: every verdict on all pitches of
// a cell against a headline line with each of its zones that beat it, or with
// none; then the joint zones, whose rate is the whiff rate and which have no
// single line. Strata are not in it: asking for more of them leaves it as it is.
func headline(t *thresholds.Tables) []thresholds.Threshold {
	verdicts, zones := verdictIndex(t), goodZones(t)
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
		if v.Outcome != outcome.Metrics[outcome.Whiff].Name {
			continue
		}
		k.Outcome = outcome.Metrics[outcome.WOBA].Name
		other := verdicts[k]
		k.Outcome = Joint
		for _, z := range zones[k] {
			joint := row
			joint.Key, joint.Line = k.Key, nil
			if *other.Q > *v.Q {
				joint.Q = other.Q
			}
			joint.Warnings = slices.Clone(v.Warnings)
			for _, w := range other.Warnings {
				if !slices.Contains(joint.Warnings, w) {
					joint.Warnings = append(joint.Warnings, w)
				}
			}
			out = append(out, withZone(joint, z))
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
