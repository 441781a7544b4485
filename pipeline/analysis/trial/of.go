package trial

import (
	"fmt"
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
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
		c.Type, c.Hand, c.Side, c.Metric = cell.Type, cell.Hand, cell.Side, outcome.MetricIndex(v.Outcome)
		c.Both = v.Outcome == thresholds.Joint
		if c.Both {
			c.Metric = outcome.Whiff
		}
		if c.Metric < 0 || err != nil {
			continue // of a later program
		}
		if !c.Both {
			c.Smallest = c.outcome().Delta
		}
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
		switch edges := z.Edges(); {
		case len(edges) == 0:
		case len(edges) == 2 && shown(edges[0].At) < shown(edges[1].At):
			out = append(out, Region{Between, shown(edges[0].At), shown(edges[1].At)})
		case edges[0].Lower:
			out = append(out, Region{Kind: AtLeast, A: shown(edges[0].At)})
		default:
			out = append(out, Region{Kind: AtMost, A: shown(edges[0].At)})
		}
	}
	if len(out) == 2 && out[0].Kind == AtMost && out[1].Kind == AtLeast && out[0].A < out[1].A {
		out = []Region{{Outside, out[0].A, out[1].A}}
	}
	return out
}
