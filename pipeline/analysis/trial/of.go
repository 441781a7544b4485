package trial

import (
	"fmt"
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/locate"
	"sill/pipeline/thresholds"
)

// Of makes a published version's own thresholds claims: of every curve found
// against Reference the breakpoints of its better zones, as they are shown to
// people. A zone that is better on both sides of a stretch becomes one claim; of
// any more zones each is one.
func Of(m thresholds.Manifest, tables *thresholds.Tables) []Claim {
	definition := map[string]string{}
	for _, v := range m.Variables {
		definition[v.Name] = v.Definition
	}
	var out []Claim
	for i := range tables.Verdicts {
		v := &tables.Verdicts[i]
		if v.Reference != Reference || v.Verdict != locate.Found || v.Stratum != "" {
			continue
		}
		c := Claim{Variable: v.Variable, Definition: definition[v.Variable]}
		cell, err := answer.ParseCell(v.PitchType, v.Hand, v.Side)
		c.Type, c.Hand, c.Side, c.Metric = cell.Type, cell.Hand, cell.Side, answer.Metric(v.Outcome)
		if c.Metric < 0 || err != nil {
			continue // of a later program
		}
		c.Smallest = c.outcome().Delta
		c.Source = fmt.Sprintf("%s %s", m.Name, m.Version)
		for _, r := range regions(v, tables.Zones) {
			c.Region = r
			out = append(out, c)
		}
	}
	return out
}

// regions are the better zones of a verdict that have a breakpoint.
func regions(v *thresholds.Verdict, zones []thresholds.Zone) []Region {
	scale := math.Pow(10, float64(answer.Variable(v.Variable).Decimals))
	shown := func(x float64) float64 { return math.Round(x*scale) / scale }
	var out []Region
	for i := range zones {
		z := &zones[i]
		if z.Key != v.Key || z.Reference != v.Reference || z.Sign < 0 {
			continue
		}
		lower, upper := z.LowerKind == answer.Edge && z.Lower != nil, z.UpperKind == answer.Edge && z.Upper != nil
		switch {
		case lower && upper && shown(*z.Lower) < shown(*z.Upper):
			out = append(out, Region{Between, shown(*z.Lower), shown(*z.Upper)})
		case lower:
			out = append(out, Region{Kind: AtLeast, A: shown(*z.Lower)})
		case upper:
			out = append(out, Region{Kind: AtMost, A: shown(*z.Upper)})
		}
	}
	if len(out) == 2 && out[0].Kind == AtMost && out[1].Kind == AtLeast && out[0].A < out[1].A {
		out = []Region{{Outside, out[0].A, out[1].A}}
	}
	return out
}
