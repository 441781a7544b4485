package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sill/stats"
)

// crossed draws events that belong to a first and a second cluster each, with
// logit effects of both, and returns the table by either, of the same bins.
func crossed(r *rand.Rand, first, second, events int, sdFirst, sdSecond float64, chance func(x float64) float64) (a, b *stats.Table) {
	const bins = 9
	grid := func(k int) ([][]float64, [][]float64) {
		n, y := make([][]float64, bins), make([][]float64, bins)
		for i := range n {
			n[i], y[i] = make([]float64, k), make([]float64, k)
		}
		return n, y
	}
	n1, y1 := grid(first)
	n2, y2 := grid(second)
	sum, all := make([]float64, bins), make([]float64, bins)
	u, v, centre := make([]float64, first), make([]float64, second), make([]float64, first)
	for g := range u {
		u[g], centre[g] = sdFirst*r.NormFloat64(), 1.5*r.NormFloat64()
	}
	for g := range v {
		v[g] = sdSecond * r.NormFloat64()
	}
	for range events {
		p, q := r.IntN(first), r.IntN(second)
		x := centre[p] + .8*r.NormFloat64()
		k := int(min(bins-1, max(0, math.Floor(x+bins/2.))))
		n1[k][p]++
		n2[k][q]++
		sum[k] += x
		all[k]++
		if r.Float64() < 1/(1+math.Exp(-chance(x)-u[p]-v[q])) {
			y1[k][p]++
			y2[k][q]++
		}
	}
	var x []float64
	keep := func(n, y [][]float64) (m, z [][]float64) {
		for k := range n {
			if all[k] > 0 {
				m, z = append(m, n[k]), append(z, y[k])
			}
		}
		return m, z
	}
	for k := range all {
		if all[k] > 0 {
			x = append(x, sum[k]/all[k])
		}
	}
	n1, y1 = keep(n1, y1)
	n2, y2 = keep(n2, y2)
	return made(x, n1, y1), made(x, n2, y2)
}

// TestSecondWayByHand works V_second − V_event from its definition.
func TestSecondWayByHand(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	a, b := crossed(r, 20, 12, 900, .3, .5, smooth)
	c := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(1), 20, 20), stats.LambdaGrid(2))
	s := stats.NewSecondWay(c, b)
	bins := a.Bins()
	op := stats.NewSmoother(c.X, stats.LambdaGrid(2)).Operator(c.Lambda, c.N)
	_, y := a.Sums()
	raw := func(row []float64) float64 {
		score := make([]float64, 12)
		events := 0.0
		for k := range bins {
			for e := b.Start[k]; e < b.Start[k+1]; e++ {
				score[b.Cluster[e]] += row[k] * (b.Y[e] - c.Rate[k]*b.N[e]) / c.N[k]
			}
			if c.N[k] > 1 {
				events += row[k] * row[k] * (y[k] - c.N[k]*c.Rate[k]*c.Rate[k]) / (c.N[k] * (c.N[k] - 1))
			}
		}
		v := 0.0
		for _, e := range score {
			v += e * e
		}
		return v*12/11 - events
	}
	row := func(x float64) []float64 {
		out := make([]float64, bins)
		k := 0
		for k+2 < bins && c.X[k+1] < x {
			k++
		}
		p := (x - c.X[k]) / (c.X[k+1] - c.X[k])
		for i := range out {
			out[i] = (1-p)*op[k*bins+i] + p*op[(k+1)*bins+i]
		}
		return out
	}
	band := c.Against(stats.Line{Value: .3}, 1, s)
	one := c.Against(stats.Line{Value: .3}, 1, nil)
	some := false
	for g, x := range band.X {
		want := max(0, raw(row(x)))
		some = some || want > 0
		near(t, "at", s.At(x), want, 1e-12)
		near(t, "band", band.SE[g]*band.SE[g]-one.SE[g]*one.SE[g], want, 1e-12)
	}
	if !some {
		t.Error("the second clusters add nothing anywhere: no test")
	}
	slope := make([]float64, bins)
	slope[0], slope[bins-1] = -1, 1
	want := make([]float64, bins)
	for i := range want {
		want[i] = op[(bins-1)*bins+i] - op[i]
	}
	near(t, "along", s.Along(slope), max(0, raw(want)), 1e-12)
	near(t, "degrees of freedom", band.DF, min(a.EffectiveClusters(), b.EffectiveClusters())-1, 1e-12)

	n2, y2 := b.ByCluster()
	var all, square float64
	for g := range n2 {
		all += n2[g]
		square += math.Pow(y2[g]-c.Pooled*n2[g], 2)
	}
	near(t, "pooled", s.Pooled(), max(0, (square*12/11-all*c.Pooled*(1-c.Pooled)*all/(all-1))/all/all), 1e-15)

	// A curve less itself has no variance; the events are then shared, so only
	// the second clusters' part cancels.
	near(t, "difference", s.Difference(s, c.X[1]), 0, 0)
	_, other := crossed(r, 20, 12, 500, .3, .5, smooth)
	panics(t, "other events", func() { stats.NewSecondWay(c, other) })
	if !math.IsNaN(s.At(c.X[0] - 1)) {
		t.Error("known outside the nodes")
	}
}

// TestBinSecond works what second clusters add to a bin's interval.
func TestBinSecond(t *testing.T) {
	first := made([]float64{0}, [][]float64{{20, 20, 20}}, [][]float64{{10, 9, 11}})
	second := made([]float64{0}, [][]float64{{30, 30}}, [][]float64{{25, 5}})
	v := 2 * math.Pow(10./30, 2) // both second clusters lie 10 successes off, 30 events left
	e := 15. / (59 * 59)         // Σ(y − ½)² = 15
	got := first.Bin(0, stats.Proportion, second)
	near(t, "extra", got.Extra, v-e, 1e-15)
	near(t, "design effect", got.DEff, (got.VJ+v-e)/(.25/60), 1e-12)
	relative(t, "t", got.T, stats.TQuantile(.975, 1), 1e-12) // the fewer clusters: 2
	mean := first.Bin(0, stats.Mean, second)
	near(t, "extra of a mean", mean.Extra, v/2-e*59/60, 1e-15)
	near(t, "half width", (mean.Hi-mean.Lo)/2/mean.T, math.Sqrt(mean.VJ*2/3+mean.Extra), 1e-12)
	// Of 60 events the second cluster of 40 is known, 20 each: 15 and 5 successes of
	// them about their own rate ½, ±5 and 20 events left; 39 left of single events.
	known := made([]float64{0}, [][]float64{{20, 20}}, [][]float64{{15, 5}})
	some := first.Bin(0, stats.Proportion, known)
	near(t, "extra of the known", some.Extra, 2*math.Pow(5./20, 2)-10./(39*39), 1e-15)
	near(t, "rate of all", some.Rate, .5, 0)
	if one := first.Bin(0, stats.Proportion, nil); one.Extra != 0 || one.DEff != 1 {
		t.Errorf("one kind of cluster: %+v", one)
	}
}

// TestTwoWayWidths: where the second clusters do not differ the two-way width is
// within 5 % of the one-way one; where they do it is larger.
func TestTwoWayWidths(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, c := range []struct{ sd, lo, hi float64 }{{0, 1, 1.05}, {.35, 1.05, 2}} {
		ratio, n := 0.0, 0.0
		for range 8 {
			a, b := crossed(r, 150, 250, 12_000, .25, c.sd, smooth)
			curve := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(r.Uint64()), 150, 200), stats.LambdaGrid(2))
			two := curve.Against(stats.Line{Value: .25}, 1, stats.NewSecondWay(curve, b))
			one := curve.Against(stats.Line{Value: .25}, 1, nil)
			for g := 2 * stats.Substeps; g < len(one.SE)-2*stats.Substeps; g++ {
				ratio += two.SE[g] / one.SE[g]
				n++
			}
		}
		if ratio /= n; ratio < c.lo || ratio > c.hi {
			t.Errorf("at a second SD of %g the widths are %.3f times as wide, want %g to %g", c.sd, ratio, c.lo, c.hi)
		}
	}
}

// part is a table of what keep leaves of every entry's events and values.
func part(t *stats.Table, keep func(n, y float64) (float64, float64)) *stats.Table {
	out := &stats.Table{Start: []int32{0}, Clusters: t.Clusters}
	for b := range t.X {
		for e := t.Start[b]; e < t.Start[b+1]; e++ {
			if n, y := keep(t.N[e], t.Y[e]); n > 0 {
				out.Cluster, out.N, out.Y = append(out.Cluster, t.Cluster[e]), append(out.N, n), append(out.Y, y)
			}
		}
		if len(out.Cluster) > int(out.Start[len(out.Start)-1]) {
			out.X = append(out.X, t.X[b])
			out.Start = append(out.Start, int32(len(out.Cluster)))
		}
	}
	return out
}

// TestSecondWayPartlyKnown hides the second cluster of some events. Of one in
// twenty at random the widths stay within 3 % of those of complete data; a node
// without any adds nothing; the numbers are those of the known events alone.
func TestSecondWayPartlyKnown(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 3))
	ratio, points := 0.0, 0.0
	for range 8 {
		a, b := crossed(r, 150, 250, 12_000, .25, .35, smooth)
		curve := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(r.Uint64()), 150, 200), stats.LambdaGrid(2))
		whole := curve.Against(stats.Line{Value: .25}, 1, stats.NewSecondWay(curve, b))
		some := part(b, func(n, y float64) (float64, float64) {
			var m, z float64
			for i := range int(n) {
				if r.Float64() < .95 {
					m++
					if i < int(y) {
						z++
					}
				}
			}
			return m, z
		})
		partly := stats.NewSecondWay(curve, some)
		if n, _ := some.ByCluster(); math.Abs(partly.Geff-stats.EffectiveNumber(n)) > 1e-9 {
			t.Errorf("%g effective second clusters", partly.Geff)
		}
		band := curve.Against(stats.Line{Value: .25}, 1, partly)
		for g := 2 * stats.Substeps; g < len(band.SE)-2*stats.Substeps; g++ {
			ratio += band.SE[g] / whole.SE[g]
			points++
		}
		for i := range a.X {
			full, known := a.Bin(i, stats.Proportion, b), a.Bin(i, stats.Proportion, some)
			if full.N > 200 && math.Abs((known.Hi-known.Lo)/(full.Hi-full.Lo)-1) > .2 {
				t.Errorf("bin %d: %g wide, %g where all are known", i, known.Hi-known.Lo, full.Hi-full.Lo)
			}
		}
	}
	if ratio /= points; math.Abs(ratio-1) > .03 {
		t.Errorf("widths are %.3f of those of complete data", ratio)
	}

	// By hand: half of every entry is known, of one node nothing.
	a, b := crossed(r, 20, 12, 900, .3, .5, smooth)
	c := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(1), 20, 20), stats.LambdaGrid(2))
	const hidden = 4
	some := part(b, func(n, y float64) (float64, float64) { return math.Ceil(n / 2), math.Min(y, math.Ceil(n/2)) })
	lo, hi := some.Start[hidden], some.Start[hidden+1]
	for e := lo; e < hi; e++ {
		some.N[e] = 0
	}
	some = part(some, func(n, y float64) (float64, float64) { return n, y })
	if some.Bins() != a.Bins()-1 {
		t.Fatalf("%d nodes are known of %d", some.Bins(), a.Bins())
	}
	s := stats.NewSecondWay(c, some)
	op := stats.NewSmoother(c.X, stats.LambdaGrid(2)).Operator(c.Lambda, c.N)
	n, y := some.Sums()
	own := false
	for at := range c.X {
		score, events := make([]float64, 12), 0.0
		for k := range n {
			i := k
			if k >= hidden {
				i++
			}
			l := op[at*len(c.X)+i]
			for e := some.Start[k]; e < some.Start[k+1]; e++ {
				score[some.Cluster[e]] += l * (some.Y[e] - y[k]/n[k]*some.N[e]) / n[k]
			}
			if n[k] > 1 {
				events += l * l * y[k] * (1 - y[k]/n[k]) / (n[k] * (n[k] - 1))
			}
		}
		v := 0.0
		for _, e := range score {
			v += e * e
		}
		want := max(0, v*float64(some.Active())/float64(some.Active()-1)-events)
		own = own || want > 0
		near(t, "at a node", s.At(c.X[at]), want, 1e-12)
	}
	if !own {
		t.Error("the second clusters add nothing anywhere: no test")
	}
	near(t, "hidden bin", a.Bin(hidden, stats.Proportion, some).Extra, 0, 0)
	if v := a.Bin(hidden, stats.Proportion, some); v.Lo != a.Bin(hidden, stats.Proportion, nil).Lo {
		t.Error("a bin whose second clusters are unknown is not one-way")
	}
}

// TestLevelCoverage: with a second kind of cluster of logit SD .35 the level's
// interval by the first alone covers too little, the two-way one enough. Bar:
// coverage .93–.98.
func TestLevelCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("a simulation")
	}
	r := rand.New(rand.NewPCG(6, 1))
	flat := func(float64) float64 { return -1.1 }
	truth := 0.0 // E of the logistic-normal rate, by midpoints
	sd := math.Hypot(.25, .35)
	for k := range 4000 {
		z := -6 + 12*(float64(k)+.5)/4000
		truth += math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * 12 / 4000 / (1 + math.Exp(1.1-sd*z))
	}
	const sets = 400
	one, two := 0, 0
	for range sets {
		a, b := crossed(r, 120, 90, 9000, .25, .35, flat)
		c := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(r.Uint64()), 120, 150), stats.LambdaGrid(1))
		line := stats.Line{Value: truth}
		if c.Level(line, 1, nil).Verdict == 0 {
			one++
		}
		if c.Level(line, 1, stats.NewSecondWay(c, b)).Verdict == 0 {
			two++
		}
	}
	cover, bare := float64(two)/sets, float64(one)/sets
	slack := 3 * math.Sqrt(.95*.05/sets)
	if cover < .93-slack || cover > .98+slack || bare > .92 {
		t.Errorf("two-way covers %.3f, one-way %.3f", cover, bare)
	}
}

// TestSecondWayBesideLine works V_second − V_event of f − m from the scores of the
// difference, event by event, for a line over the curve's events and others.
func TestSecondWayBesideLine(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	a, b := crossed(r, 20, 12, 900, .3, .5, smooth)
	_, rest := crossed(r, 20, 12, 700, .3, .5, smooth)
	c := stats.FitCurve(a, 1, stats.DrawMultinomial(seed(1), 20, 20), stats.LambdaGrid(2))
	s := stats.NewSecondWay(c, b)
	op := stats.NewSmoother(c.X, stats.LambdaGrid(2)).Operator(c.Lambda, c.N)
	n, y := b.ByCluster()
	n2, y2 := rest.ByCluster()
	var all, hits float64
	for g := range n {
		n[g] += n2[g]
		y[g] += y2[g]
		all += n[g]
		hits += y[g]
	}
	l := stats.NewLineSecond(n, y, hits) // values are 0 or 1: squares are values
	m := hits / all
	line := stats.Line{Value: m, Second: l}
	band, one := c.Against(line, 1, s), c.Against(line, 1, nil)
	plain := c.Against(stats.Line{Value: m}, 1, s)
	bins, less := a.Bins(), 0
	for j := range bins {
		score := make([]float64, 12)
		var own, cross float64
		for k := range bins {
			for e := b.Start[k]; e < b.Start[k+1]; e++ {
				score[b.Cluster[e]] += op[j*bins+k] * (b.Y[e] - c.Rate[k]*b.N[e]) / c.N[k]
			}
			squares := c.N[k] * c.Rate[k] * (1 - c.Rate[k])
			if c.N[k] > 1 {
				own += op[j*bins+k] * op[j*bins+k] * squares / (c.N[k] * (c.N[k] - 1))
			}
			cross += op[j*bins+k] * squares / (c.N[k] * all)
		}
		v := 0.0
		for g, e := range score {
			e -= (y[g] - m*n[g]) / all
			v += e * e
		}
		want := max(0, v*12/11-(own-2*cross+m*(1-m)/(all-1)))
		at := j * stats.Substeps
		near(t, "beside a line", band.SE[at]*band.SE[at]-one.SE[at]*one.SE[at], want, 1e-12)
		if band.SE[at] < plain.SE[at] {
			less++
		}
	}
	if less < bins/2 {
		t.Errorf("a line with the same second clusters narrows the advantage at %d of %d nodes", less, bins)
	}
	sum := 0.0
	for g := range n {
		sum += math.Pow((y[g]-m*n[g])/all, 2)
	}
	near(t, "own", l.Own(), max(0, sum*12/11-m*(1-m)/(all-1)), 1e-15)

	// A line over the curve's own events is its pooled rate: their difference has no
	// variance but that of the events' correction.
	n, y = b.ByCluster()
	hits = 0
	for _, v := range y {
		hits += v
	}
	self := c.Level(stats.Line{Value: c.Pooled, Rep: c.RepPooled, Second: stats.NewLineSecond(n, y, hits)}, 1, s)
	near(t, "a level against itself", self.SE, 0, 1e-3*c.Level(stats.Line{}, 1, s).SE)
	if stats.NewLineSecond([]float64{5, 0}, []float64{1, 0}, 1) != nil || (*stats.LineSecond)(nil).Own() != 0 {
		t.Error("one second cluster tells nothing")
	}
	panics(t, "another numbering", func() {
		c.Against(stats.Line{Second: stats.NewLineSecond([]float64{5, 5}, []float64{1, 2}, 3)}, 1, s)
	})
}
