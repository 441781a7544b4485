package estimate

import (
	"math"
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// Spread says how far the league's batters, or its pitchers, differ from each
// other in one outcome on one pitch type, chance apart. It describes the league
// and names nobody.
type Spread struct {
	PitchType string   `json:"pitch_type" doc:"pitch type, over all matchups and seasons"`
	Outcome   string   `json:"outcome" doc:"whiff_rate or woba_against"`
	Of        string   `json:"of" doc:"batters or pitchers"`
	Clusters  int64    `json:"clusters" unit:"count" doc:"batters or pitchers with an event"`
	Events    int64    `json:"events" unit:"count" doc:"eligible events whose batter or pitcher is known"`
	Mean      *float64 `json:"mean" unit:"outcome" doc:"mean of their true rates; null where it cannot be told"`
	SD        *float64 `json:"sd" doc:"standard deviation of their true rates, chance taken out: of whiff_rate on the logit scale (beta-binomial, maximum likelihood), of woba_against in its own unit (normal-normal, restricted maximum likelihood); null where it cannot be told"`
}

// minSpreadClusters is the fewest batters or pitchers whose spread is estimated.
const minSpreadClusters = 20

// Spreads estimates the spread of batters and pitchers on every pitch type.
// Batters who see only one side's or one hand's pitchers differ for that too: what
// is told is how far they differ in this league's own match-ups.
func (e *Estimate) Spreads() []Spread {
	t := e.tally
	var types []pitch.Type
	for i := range t.Cells {
		c := t.Cells[i].Cell
		if c.Type.Tested() && c.Stratum == tally.AllStrata && !slices.Contains(types, c.Type) {
			types = append(types, c.Type)
		}
	}
	slices.SortFunc(types, pitch.Type.Compare)
	out := []Spread{}
	for _, typ := range types {
		for metric := range outcome.Metrics {
			batters, pitchers := stats.NewSums(len(t.Batters)), stats.NewSums(len(t.Pitchers))
			for i := range t.Cells {
				c := &t.Cells[i]
				if c.Cell.Type != typ || c.Cell.Stratum != tally.AllStrata {
					continue
				}
				for j := range c.Totals {
					n, y, yy := c.Totals[j].Values(metric, &e.scoring)
					pitchers.Add(c.Totals[j].Cluster, float64(n), y, yy)
				}
				e.addBatters(&batters, c.BatterTotals, metric)
			}
			m := &outcome.Metrics[metric]
			out = append(out, spreadOf(&batters, m, Spread{PitchType: typ.String(), Outcome: m.Name, Of: "batters"}),
				spreadOf(&pitchers, m, Spread{PitchType: typ.String(), Outcome: m.Name, Of: "pitchers"}))
		}
	}
	return out
}

// spreadOf fills counts, mean and SD.
func spreadOf(sums *stats.Sums, m *outcome.Metric, s Spread) Spread {
	var n, y []float64
	for i, events := range sums.N {
		if events > 0 {
			n, y = append(n, events), append(y, sums.Y[i])
			s.Events += int64(events)
		}
	}
	s.Clusters = int64(len(n))
	if s.Clusters < minSpreadClusters {
		return s
	}
	var mean, sd float64
	if m.Proportion {
		mean, sd = logitSpread(n, y)
	} else {
		mean, sd = normalSpread(n, y, sums.Events(), sums.YY)
	}
	if !math.IsNaN(sd) && !math.IsInf(sd, 0) {
		s.Mean, s.SD = &mean, &sd
	}
	return s
}

// logitSpread returns the mean rate and the SD of the true rates' logits.
func logitSpread(n, y []float64) (mean, sd float64) {
	hits, trials := make([]int, len(n)), make([]int, len(n))
	for i := range n {
		hits[i], trials[i] = int(math.Round(y[i])), int(n[i])
	}
	b, err := stats.FitBetaBinomial(hits, trials)
	if err != nil {
		return nan, nan
	}
	return b.Mu, b.LogitSD()
}

// normalSpread returns mean and SD of the true rates; each one's own sampling variance
// is the pooled variance of single events within clusters over his events.
func normalSpread(n, y []float64, events, within float64) (mean, sd float64) {
	for i := range n {
		within -= float64(y[i]*y[i]) / n[i]
	}
	within /= events - float64(len(n))
	if events <= float64(len(n)) || !(within > 0) {
		return nan, nan
	}
	rates, variance := make([]float64, len(n)), make([]float64, len(n))
	for i := range n {
		rates[i], variance[i] = y[i]/n[i], within/n[i]
	}
	m, err := stats.FitNormalNormal(rates, variance)
	if err != nil {
		return nan, nan
	}
	return m.Mu, math.Sqrt(m.Tau2)
}
