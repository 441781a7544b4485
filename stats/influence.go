package stats

import "math"

// Influence says how far each cluster draws a curve, by the delta method through
// the fitted linear smoother: with L = S(2I − S) at the point λ, r_b the raw rates
// and row x of L interpolated,
//
//	score of cluster p at x: Σ_b L_xb·(Y_pb − r_b·N_pb)/N_b
//
// which the curve at x would fall by, about, if p were as all others are.
//
// Source: the infinitesimal jackknife, Efron 1982, The Jackknife, the Bootstrap
// and Other Resampling Plans, chapter 6 (from memory).
type Influence struct {
	curve *Curve
	table *Table
	l     []float64 // the operator, by rows
}

// NewInfluence takes a curve and the table that it was fitted to.
func NewInfluence(c *Curve, t *Table) *Influence {
	if len(t.X) != len(c.X) {
		panic("stats: an influence needs the curve's own table")
	}
	return &Influence{curve: c, table: t, l: c.smoother().Operator(c.Lambda, c.N)}
}

// Scores returns the score of every cluster at x, 0 for one without an event; nil
// outside the nodes.
func (f *Influence) Scores(x float64) []float64 {
	c, t := f.curve, f.table
	at, share, ok := place(c.X, x)
	if !ok {
		return nil
	}
	b := len(c.X)
	scores := make([]float64, t.Clusters)
	for i := range b {
		l := f.l[at*b+i]
		if share > 0 {
			l = float64((1-share)*l) + float64(share*f.l[(at+1)*b+i])
		}
		l /= c.N[i]
		for e := t.Start[i]; e < t.Start[i+1]; e++ {
			scores[t.Cluster[e]] += float64(l * (t.Y[e] - float64(c.Rate[i]*t.N[e])))
		}
	}
	return scores
}

// LargestShare returns the largest share of one cluster in the events of the two
// nodes between which x lies; NaN outside the nodes.
func (f *Influence) LargestShare(x float64) float64 {
	at, _, ok := place(f.curve.X, x)
	if !ok {
		return math.NaN()
	}
	t := f.table
	n := make([]float64, t.Clusters)
	var sum, most float64
	for e := t.Start[at]; e < t.Start[min(at+2, len(t.X))]; e++ {
		n[t.Cluster[e]] += t.N[e]
		sum += t.N[e]
		most = max(most, n[t.Cluster[e]])
	}
	return most / sum
}

// Without returns the table without a cluster's events; nodes stay where they
// are, as in a replicate, and one that has no other event is gone. The gap across
// it then counts it too. YY and Parts are not kept.
func (t *Table) Without(cluster int) *Table {
	out := &Table{Start: []int32{0}, Clusters: t.Clusters}
	gap := int32(0)
	for b := range t.X {
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			if int(t.Cluster[e]) != cluster {
				out.Cluster, out.N, out.Y = append(out.Cluster, t.Cluster[e]), append(out.N, t.N[e]), append(out.Y, t.Y[e])
			}
		}
		if end := int32(len(out.Cluster)); end > out.Start[len(out.X)] {
			if len(out.X) > 0 && t.Gap != nil {
				out.Gap = append(out.Gap, gap)
			}
			out.X, out.Start, gap = append(out.X, t.X[b]), append(out.Start, end), 0
		} else {
			gap++
		}
		if t.Gap != nil && b < len(t.Gap) {
			gap += t.Gap[b]
		}
	}
	return out
}

// FitPoint fits the table as FitCurve does, without a replicate.
func FitPoint(t *Table, width float64, grid []float64) *Curve {
	return FitCurve(t, width, &Weights{Clusters: t.Clusters}, grid)
}

// Crossing returns where the advantage sign·(F − line) passes 0 in the direction
// given, the nearest to x; NaN where it nowhere does.
func (c *Curve) Crossing(line, sign float64, up bool, x float64) float64 {
	advantage := func(i int) float64 { return sign * (c.F[i] - line) }
	return nearestCrossing(c.X, advantage, up, x, math.Inf(-1), math.Inf(1))
}
