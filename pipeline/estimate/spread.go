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
	t, scoring := e.tally, e.scoring
	var types []pitch.Type
	for i := range t.Cells {
		c := t.Cells[i].Cell
		known := c.Type != pitch.UnknownType && c.Type != pitch.OtherType
		if known && c.Stratum == tally.AllStrata && !slices.Contains(types, c.Type) {
			types = append(types, c.Type)
		}
	}
	slices.Sort(types)
	out := []Spread{}
	for _, typ := range types {
		for metric := range outcome.Metrics {
			batters, pitchers := newTotals(len(t.Batters)), newTotals(len(t.Pitchers))
			for i := range t.Cells {
				c := &t.Cells[i]
				if c.Cell.Type != typ || c.Cell.Stratum != tally.AllStrata {
					continue
				}
				for j := range c.Totals {
					n, y, yy := c.Totals[j].Values(metric, &scoring)
					pitchers.add(c.Totals[j].Cluster, n, y, yy)
				}
				for _, b := range c.BatterTotals {
					if b.Event().Metric() == metric {
						n, w := float64(b.Count()), b.Event().Value(&scoring)
						batters.add(b.Batter, b.Count(), float64(n*w), float64(float64(n*w)*w))
					}
				}
			}
			for _, side := range []struct {
				of string
				*totals
			}{{"batters", batters}, {"pitchers", pitchers}} {
				s := Spread{PitchType: typ.String(), Outcome: outcome.Metrics[metric].Name, Of: side.of}
				side.spread(&s, metric)
				out = append(out, s)
			}
		}
	}
	return out
}

// totals are the events of every batter or pitcher.
type totals struct {
	n  []int64
	y  []float64
	yy float64
}

func newTotals(clusters int) *totals {
	return &totals{n: make([]int64, clusters), y: make([]float64, clusters)}
}

func (t *totals) add(cluster int32, n int64, y, yy float64) {
	t.n[cluster] += n
	t.y[cluster] += y
	t.yy += yy
}

// spread fills counts, mean and SD.
func (t *totals) spread(s *Spread, metric int) {
	for _, n := range t.n {
		if n > 0 {
			s.Clusters++
			s.Events += n
		}
	}
	if s.Clusters < minSpreadClusters {
		return
	}
	mean, sd := t.normal(s.Clusters, s.Events)
	if metric == outcome.Whiff {
		mean, sd = t.logit()
	}
	if !math.IsNaN(sd) && !math.IsInf(sd, 0) {
		s.Mean, s.SD = &mean, &sd
	}
}

// logit returns the mean rate and the SD of the true rates' logits.
func (t *totals) logit() (mean, sd float64) {
	var k, n []int
	for i, events := range t.n {
		if events > 0 {
			k, n = append(k, int(math.Round(t.y[i]))), append(n, int(events))
		}
	}
	b, err := stats.FitBetaBinomial(k, n)
	if err != nil {
		return nan, nan
	}
	return b.Mu, b.LogitSD()
}

// normal returns mean and SD of the true rates; each one's own sampling variance
// is the pooled variance of single events within clusters over his events.
func (t *totals) normal(clusters, events int64) (mean, sd float64) {
	within := t.yy
	for i, n := range t.n {
		if n > 0 {
			within -= float64(t.y[i]*t.y[i]) / float64(n)
		}
	}
	within /= float64(events - clusters)
	if events <= clusters || !(within > 0) {
		return nan, nan
	}
	var y, variance []float64
	for i, n := range t.n {
		if n > 0 {
			y, variance = append(y, t.y[i]/float64(n)), append(variance, within/float64(n))
		}
	}
	m, err := stats.FitNormalNormal(y, variance)
	if err != nil {
		return nan, nan
	}
	return m.Mu, math.Sqrt(m.Tau2)
}
