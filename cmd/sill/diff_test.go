package main

import (
	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// movedFixture is the fixture a season later: one breakpoint has moved, one has
// not, one has vanished and one is new, and two verdicts are others.
func movedFixture() *thresholds.Tables {
	t := fixture.Tables()
	shift := func(by float64, ps ...*float64) {
		for _, p := range ps {
			if p != nil {
				*p += by
			}
		}
	}
	verdict := func(k thresholds.Key, word string) {
		for i := range t.Verdicts {
			if t.Verdicts[i].Key == k && t.Verdicts[i].Reference == thresholds.HeadlineReference {
				t.Verdicts[i].Verdict = word
			}
		}
	}
	var zones []thresholds.Zone
	for _, z := range t.Zones {
		switch {
		case z.Variable == "velocity" && z.Side == "left":
			shift(2.4, z.Lower, z.LowerLo, z.LowerHi, z.Upper, z.UpperLo, z.UpperHi)
		case z.Variable == "velocity":
			continue
		default:
			shift(.1, z.Lower, z.LowerLo, z.LowerHi)
		}
		zones = append(zones, z)
	}
	fresh := fixture.Key("right", "left", "four_seam", "velocity", "whiff_rate")
	t.Zones = append(zones, thresholds.Zone{Key: fresh, Reference: thresholds.HeadlineReference, Zone: 1, Sign: 1, LowerKind: "edge", Lower: fixture.Num(95.2),
		LowerLo: fixture.Num(94.1), LowerHi: fixture.Num(96), UpperKind: "open", EventShare: .2,
		Certain: []thresholds.Span{{Lo: 96.5, Hi: 97.4}}, CertainLo: fixture.Num(96.5), CertainHi: fixture.Num(97.4)})
	verdict(fresh, "found")
	verdict(fixture.Key("left", "right", "four_seam", "velocity", "whiff_rate"), "inconclusive")
	verdict(fixture.Key("right", "right", "four_seam", "vertical_approach_angle", "whiff_rate"), "inconclusive")
	for i := range t.References {
		shift(.021, t.References[i].Value, t.References[i].Lo, t.References[i].Hi)
	}
	thresholds.Sort(t, shape.Names(shape.Variables))
	t.Round()
	return t
}
