package stats_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

// band makes a band on nodes 0, 1, … with the advantage given at the nodes,
// linear between, and one standard error everywhere; df is so large that
// c = 1.96. Its table has 100 clusters with one event of each bin, of variance
// 100·se², so that the raw rate of a bin has that standard error.
func band(se float64, d ...float64) *stats.Band {
	n := len(d)
	c := &stats.Curve{N: make([]float64, n), X: make([]float64, n), F: d, Rate: d, Width: 1, Geff: 1e6, G: 1e6, Drawn: 1e6}
	t := &stats.Table{Clusters: 100 * n, Start: []int32{0}}
	for i := range n {
		t.X = append(t.X, float64(i))
		for k := range 100 {
			t.Cluster = append(t.Cluster, int32(100*i+k))
			t.N = append(t.N, 1)
			t.Y = append(t.Y, d[i]+float64(2*(k%2)-1)*10*se)
		}
		t.Start = append(t.Start, int32(len(t.N)))
		t.YY = append(t.YY, 100*(d[i]*d[i]+100*se*se))
	}
	c.SetTable(t)
	b := &stats.Band{DF: 1e6, Crit: stats.TQuantile(.975, 1e6), Sign: 1, Curve: c}
	for i := range n {
		c.X[i], c.N[i] = float64(i), 100
		for k := range stats.Substeps {
			if i == n-1 && k > 0 {
				break
			}
			t := float64(k) / stats.Substeps
			v := d[i]
			if k > 0 {
				v = (1-t)*d[i] + t*d[i+1]
			}
			b.X = append(b.X, float64(i)+t)
			b.D = append(b.D, v)
			b.SE = append(b.SE, se)
			b.T = append(b.T, v/se)
		}
	}
	return b
}

func TestEdgeLimits(t *testing.T) {
	// D rises by 1 a unit through 0 at x = 5; T = D/.2 reaches 25: strong sides.
	b := band(.2, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5)
	e := b.Edges()
	if len(e.Confirmed) != 1 {
		t.Fatalf("%d edges", len(e.Confirmed))
	}
	got := e.Confirmed[0]
	near(t, "edge", got.X, 5, 1e-12)
	// To put the crossing past the bin at 6 costs Σw·y² = 100·1, far beyond
	// 2.28·σ² = 2.28·4: the limits are the bins beside the one at the line.
	near(t, "lo", got.Lo, 4, 0)
	near(t, "hi", got.Hi, 6, 0)
	plain := b.EdgesAt(b.Crit).Confirmed[0]
	near(t, "plain lo", plain.Lo, 5-.2*b.Crit, 1e-12) // where |T| = c exactly, as D is linear
	near(t, "plain hi", plain.Hi, 5+.2*b.Crit, 1e-12)
	if !got.Up || got.Weak || got.Power < .999 {
		t.Errorf("a strong edge: %+v", got)
	}
	near(t, "edge against a raised line", b.EdgeShifted(e, 0, .3), 5.3, 1e-12)
	near(t, "edge against a lowered line", b.EdgeShifted(e, 0, -.3), 4.7, 1e-12)
	if !math.IsNaN(b.EdgeShifted(e, 0, 7)) {
		t.Error("an edge against a line above the whole curve")
	}
	z := b.Zones(e)
	if len(z) != 2 || z[0].Sign != -1 || z[1].Sign != 1 || z[0].Lower.End != stats.Open ||
		z[0].Upper.End != stats.Edged || z[1].Lower.Edge != 0 || z[1].Upper.End != stats.Open {
		t.Fatalf("zones: %+v", z)
	}
	if want := []stats.Stretch{{Lo: 6, Hi: 10}}; !slices.Equal(z[1].Certain, want) {
		t.Errorf("certain: %v, want %v", z[1].Certain, want)
	}
	// Nor is a place between wide limits certain, however large T: with σ² = 1,000 a
	// crossing past the bin at 8 costs 100·(1+4+9) = 1,400 < 2,280, past that at 9 3,000.
	noisy := band(.2, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5)
	for i, v := range noisy.Curve.F {
		noisy.Curve.Table().YY[i] = 100 * (v*v + 1000)
	}
	if got, want := noisy.Zones(noisy.Edges())[1].Certain, []stats.Stretch{{Lo: 9, Hi: 10}}; !slices.Equal(got, want) {
		t.Errorf("certain beside wide limits: %v, want %v", got, want)
	}
	near(t, "possible from", z[1].PossibleLo, got.Lo, 0)
	near(t, "mass", z[0].Mass, .5, 1e-12)
	near(t, "mass", z[1].Mass, .5, 1e-12)
	if !math.IsInf(z[1].PossibleHi, 1) {
		t.Error("an open zone has a possible end")
	}
	// Every limit mirrors: reversing x and sign gives the mirrored edge.
	m := band(.2, 5, 4, 3, 2, 1, 0, -1, -2, -3, -4, -5).Edges().Confirmed[0]
	near(t, "mirrored lo", m.Lo, 10-got.Hi, 1e-12)
	near(t, "mirrored hi", m.Hi, 10-got.Lo, 1e-12)
	if m.Up {
		t.Error("a falling edge rises")
	}
}

// TestMonotoneRatio: the ratio is the rise of the weighted squares by its own
// definition, with fits by isotonic.
func TestMonotoneRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.IntRange(1, 15).Draw(t, "m")
		y := rapid.SliceOfN(rapid.Float64Range(-2, 2), m, m).Draw(t, "y")
		w := rapid.SliceOfN(rapid.Float64Range(.1, 9), m, m).Draw(t, "w")
		squares := func(f []float64) (sum float64) {
			for i := range f {
				sum += w[i] * (y[i] - f[i]) * (y[i] - f[i])
			}
			return sum
		}
		free := squares(isotonic(y, w))
		for j, got := range stats.MonotoneRatio(y, w) {
			var f []float64
			for _, v := range isotonic(y[:j], w[:j]) {
				f = append(f, min(v, 0))
			}
			for _, v := range isotonic(y[j:], w[j:]) {
				f = append(f, max(v, 0))
			}
			if want := squares(f) - free; math.Abs(got-want) > 1e-9 {
				t.Fatalf("split %d: %g, want %g", j, got, want)
			}
		}
	})
}

// TestLimitsUseParts: limits come from the parts where they are known, are open
// where no split is rejected, and widen with σ², clusters and few degrees of freedom.
func TestLimitsUseParts(t *testing.T) {
	b := band(.2, -3, -2, -1, 0, 1, 2, 3)
	table := &stats.Table{}
	*table = *b.Curve.Table()
	parts := &stats.Parts{}
	for x := -.4; x < 6.5; x += .25 { // so much finer, with a quarter of the events each
		parts.X, parts.N, parts.Y = append(parts.X, x), append(parts.N, 25), append(parts.Y, 25*(x-3))
	}
	table.Parts = parts
	b.Curve.SetTable(table)
	e := b.Edges().Confirmed[0]
	// One part on the wrong side by .1 costs 25·.01, two 25·(.01 + .1225), three
	// 25·(.01 + .1225 + .36) = 12.3 > 2.28·4 = 9.12.
	near(t, "hi", e.Hi, 3.6, 1e-12)
	near(t, "lo", e.Lo, 2.35, 1e-12)
	// With limits at the ends nothing is rejected.
	wide := band(3, -8, -4, 1, 8, 9).Edges().Confirmed
	if len(wide) != 1 {
		t.Fatal("no edge")
	}
	// Few degrees of freedom widen.
	b.DF, b.Crit = 3, stats.TQuantile(.975, 3)
	few := b.Edges().Confirmed[0]
	if !(few.Lo < e.Lo && few.Hi > e.Hi) {
		t.Errorf("3 degrees of freedom give %+v, a million %+v", few, e)
	}
	// A curve with two bins a side that nothing tells from the line on the right.
	b = band(1, -8, -4, 0, 1, 2.2)
	table = &stats.Table{}
	*table = *b.Curve.Table()
	table.YY = []float64{1e6, 1e6, 1e6, 1e6, 1e6}
	b.Curve.SetTable(table)
	if e := b.Edges().Confirmed[0]; !math.IsInf(e.Hi, 1) || !e.Weak || e.Power > .15 {
		t.Errorf("an edge with a weak side: %+v", e)
	} else if z := b.Zones(b.Edges())[1]; z.Certain != nil {
		t.Errorf("a certain stretch past a limit that is open: %+v", z)
	}
}

// TestLimitsKnowTheLine: a line that is itself an estimate widens the limits, by the
// variance of the advantage over that of the curve, and few events do by the root of
// their number.
func TestLimitsKnowTheLine(t *testing.T) {
	const clusters = 60
	table := &stats.Table{Start: []int32{0}, Clusters: clusters, Parts: &stats.Parts{}}
	for i := range 40 {
		rate := .2 + .004*float64(i)
		for g := range clusters {
			table.Cluster = append(table.Cluster, int32(g))
			table.N, table.Y = append(table.N, 10), append(table.Y, 10*(rate+.02*float64(g%3-1)))
		}
		table.X, table.Start = append(table.X, float64(i)), append(table.Start, int32(len(table.N)))
		table.Parts.X, table.Parts.N, table.Parts.Y = append(table.Parts.X, float64(i)), append(table.Parts.N, 600), append(table.Parts.Y, 600*rate)
	}
	c := stats.FitCurve(table, 1, stats.DrawMultinomial(seed(1), clusters, 200), stats.LambdaGrid(2))
	drawn := make([]float64, 200)
	for i := range drawn {
		drawn[i] = .28 + .01*float64(i%2)
	}
	known, estimated := c.Against(stats.Line{Value: .28}, 1, nil), c.Against(stats.Line{Value: .28, Rep: drawn}, 1, nil)
	near(t, "share of a known line", known.LineShare(20), 1, 0)
	alone, _ := c.Spread(stats.Line{Value: .28})
	both, _ := c.Spread(stats.Line{Value: .28, Rep: drawn})
	near(t, "share of an estimated line", estimated.LineShare(20), both[20]/alone[20], 1e-9)
	a, b := known.Edges().Confirmed[0], estimated.Edges().Confirmed[0]
	if !(b.Lo < a.Lo && b.Hi > a.Hi) {
		t.Errorf("limits of a line with an error %v to %v, of a known one %v to %v", b.Lo, b.Hi, a.Lo, a.Hi)
	}

	// 64 events in all: a crossing past the bin at 1 costs 16·1, past both 16·(1 + 9);
	// the limit without .9/∛64 is 2.28·σ² = 15.0 and with it 18.4.
	few := band(.01, -3, -1, 1, 3)
	table = &stats.Table{}
	*table = *few.Curve.Table()
	table.Parts = &stats.Parts{X: []float64{0, 1, 2, 3}, N: []float64{16, 16, 16, 16}, Y: []float64{-48, -16, 16, 48}}
	for i, v := range []float64{-3, -1, 1, 3} {
		table.YY[i] = 100 * (v*v + 5.6)
	}
	few.Curve.SetTable(table)
	e := few.Edges().Confirmed[0]
	near(t, "lo of few events", e.Lo, 0, 0)
	near(t, "hi of few events", e.Hi, 3, 0)
}

// TestEffect: the variance of an event with its design effect, by hand.
func TestEffect(t *testing.T) {
	// Three bins, two clusters. About x = 1 within reach 1: half of the outer bins.
	table := &stats.Table{X: []float64{0, 1, 2}, Start: []int32{0, 2, 4, 6}, Cluster: []int32{0, 1, 0, 1, 0, 1},
		N: []float64{10, 10, 20, 20, 10, 10}, Y: []float64{2, 6, 6, 10, 3, 7}, Clusters: 2}
	c := stats.FitCurve(table, 1, stats.DrawMultinomial(seed(1), 2, 10), stats.LambdaGrid(2))
	b := c.Against(stats.Line{Value: .4}, 1, nil)
	r := (4. + 16 + 5) / 60
	e0, e1 := .5*2+6+.5*3-r*30, .5*6+10+.5*7-r*30
	squares := (e0*e0 + e1*e1) * 2
	once := .25*20*(8./20*(1-2*r)+r*r) + 40*(16./40*(1-2*r)+r*r) + .25*20*(10./20*(1-2*r)+r*r)
	half := .5*20*(8./20*(1-2*r)+r*r) + 40*(16./40*(1-2*r)+r*r) + .5*20*(10./20*(1-2*r)+r*r)
	near(t, "effect", b.Effect(1, 1), (half+max(0, squares-once))/60, 1e-12)
	// Not less than half a bin: the middle bin alone.
	near(t, "least reach", b.Effect(1, 0), b.Effect(1, .5), 0)
	// Clusters that agree leave the variance of events.
	table.Y = []float64{4, 4, 8, 8, 4, 4}
	c = stats.FitCurve(table, 1, stats.DrawMultinomial(seed(1), 2, 10), stats.LambdaGrid(2))
	near(t, "no clustering", c.Against(stats.Line{Value: .4}, 1, nil).Effect(1, 1), .24, 1e-12)
}

func TestMiddleCrossing(t *testing.T) {
	// D crosses at 1.5, 2.5 and 3.5 without any of the inner points confirmed.
	b := band(1, -5, -1, 1, -1, 1, 5)
	e := b.Edges()
	if len(e.Confirmed) != 1 {
		t.Fatalf("%d edges", len(e.Confirmed))
	}
	near(t, "middle crossing", e.Confirmed[0].X, 2.5, 1e-12)
	// Two zones of one sign with a bad sliver between.
	b = band(1, 9, 5, -5, 5, 9)
	e = b.Edges()
	z := b.Zones(e)
	if len(e.Confirmed) != 2 || len(z) != 3 || z[1].Sign != -1 || z[1].Lower.Edge != 0 || z[1].Upper.Edge != 1 {
		t.Fatalf("sliver: %+v %+v", e, z)
	}
	if e.Confirmed[0].Up || !e.Confirmed[1].Up {
		t.Error("directions")
	}
	near2(t, "no crossing between its neighbours", b.EdgeShifted(e, 1, -6), math.NaN())
}

func near2(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.IsNaN(want) != math.IsNaN(got) || !math.IsNaN(want) && math.Abs(got-want) > 1e-12 {
		t.Errorf("%s: got %g, want %g", what, got, want)
	}
}

func TestGaps(t *testing.T) {
	b := band(1, -9, -8, 8, 9)
	b.Curve.Gap = []int32{0, 1, 0}
	if e := b.Edges(); len(e.Confirmed) != 1 || len(e.InGap) != 0 {
		t.Errorf("one empty bin: %+v", e)
	}
	b.Curve.Gap[1] = 2
	e := b.Edges()
	if len(e.Confirmed) != 0 || len(e.InGap) != 1 || e.InGap[0] != 1.5 {
		t.Fatalf("two empty bins: %+v", e)
	}
	z := b.Zones(e)
	if len(z) != 2 || !z[0].Upper.Gap || z[0].Upper.End != stats.Unresolved || !z[1].Lower.Gap {
		t.Fatalf("zones at a gap: %+v", z)
	}
	// A zone ends at the last point beyond c, possibly where the other sign begins.
	near2(t, "upper", z[0].Upper.X, 1.375)
	near2(t, "possible", z[0].PossibleHi, 1.625)
}

func TestUnresolvedEnds(t *testing.T) {
	b := band(1, 0, 1, 3, 5, 3, 1, 0)
	e := b.Edges()
	z := b.Zones(e)
	if len(e.Confirmed) != 0 || len(z) != 1 || z[0].Lower.End != stats.Unresolved || z[0].Upper.End != stats.Unresolved {
		t.Fatalf("%+v %+v", e, z)
	}
	near2(t, "first point beyond c", z[0].Lower.X, 1.5)
	near2(t, "last point beyond c", z[0].Upper.X, 4.5)
	// Certain is where neighbouring nodes pass t_.995 = 2.576, and nothing is joined.
	if want := []stats.Stretch{{Lo: 2, Hi: 4}}; !slices.Equal(z[0].Certain, want) {
		t.Errorf("certain: %v, want %v", z[0].Certain, want)
	}
	b = band(1, 3, 3, 2.3, 3, 3, 2.3, 4, 2.3, 3, 3, 3)
	if got, want := b.Zones(b.Edges())[0].Certain, []stats.Stretch{{Lo: 0, Hi: 1}, {Lo: 3, Hi: 4}, {Lo: 8, Hi: 10}}; !slices.Equal(got, want) {
		t.Errorf("certain: %v, want %v", got, want)
	}
	if !math.IsInf(z[0].PossibleLo, -1) || !math.IsInf(z[0].PossibleHi, 1) {
		t.Error("an unresolved zone has a possible end")
	}
	if len(band(1, 0, 1, 0).Zones(band(1, 0, 1, 0).Edges())) != 0 {
		t.Error("a zone without a point beyond c")
	}
}

// TestThroughout: 40 clusters alike, each with so many events in each part; .30 lies
// clearly above a line of .25 and .20 below. Whatever holds a tenth of the events on the
// other side hides from no look at stretches of a tenth; a narrower one may.
func TestThroughout(t *testing.T) {
	const clusters = 40
	throughout := func(sign float64, events, rates []float64) (int, bool) {
		t.Helper()
		table := &stats.Table{Start: []int32{0}, Clusters: clusters, Parts: &stats.Parts{}}
		for i, n := range events {
			for g := range clusters {
				table.Cluster = append(table.Cluster, int32(g))
				table.N, table.Y = append(table.N, n), append(table.Y, n*rates[i])
			}
			table.X = append(table.X, float64(i))
			table.Start = append(table.Start, int32(len(table.N)))
			table.Parts.X = append(table.Parts.X, float64(i))
			table.Parts.N = append(table.Parts.N, clusters*n)
			table.Parts.Y = append(table.Parts.Y, clusters*n*rates[i])
		}
		c := stats.FitCurve(table, 1, stats.DrawMultinomial(seed(1), clusters, 50), stats.LambdaGrid(2))
		return c.Against(stats.Line{Value: .25}, sign, nil).Throughout()
	}
	flat := func(n int, of float64) []float64 { return slices.Repeat([]float64{of}, n) }
	spoilt := func(i int, of float64, rates []float64) []float64 {
		rates = slices.Clone(rates)
		rates[i] = of
		return rates
	}
	tenths, twentieths := flat(10, 100), flat(20, 50)
	thin := spoilt(0, 5, tenths) // half a percent at the lower end
	for _, c := range []struct {
		name          string
		line          float64
		events, rates []float64
		sign          int
		all           bool
	}{
		{"above", 1, tenths, flat(10, .30), 1, true},
		{"below", 1, tenths, flat(10, .20), -1, true},
		{"turned", -1, tenths, flat(10, .20), 1, true},
		{"a tenth within", 1, tenths, spoilt(5, .20, flat(10, .30)), 0, false},
		{"the first tenth", 1, tenths, spoilt(0, .20, flat(10, .30)), 0, false},
		{"a twentieth made up for beside it", 1, twentieths, spoilt(9, .24, flat(20, .32)), 1, false},
		{"a fortieth at the end, too few for a stretch of their own", 1, thin, spoilt(0, 0, flat(10, .30)), 1, false},
		{"all but an end", 1, append([]float64{20}, tenths...), append([]float64{0}, flat(10, .29)...), 1, false},
		{"nothing shown", 1, flat(10, 2), flat(10, .26), 0, false},
	} {
		if sign, all := throughout(c.line, c.events, c.rates); sign != c.sign || all != c.all {
			t.Errorf("%s: %d, %v", c.name, sign, all)
		}
	}
}

// TestEdgesAreConsistent: whatever T does, confirmed edges alternate, lie inside
// their limits, and their zones cover every labelled point once.
func TestEdgesAreConsistent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SliceOfN(rapid.Float64Range(-6, 6), 2, 20).Draw(t, "d")
		b := band(1, d...)
		if rapid.Bool().Draw(t, "gaps") {
			b.Curve.Gap = rapid.SliceOfN(rapid.Int32Range(0, 3), len(d)-1, len(d)-1).Draw(t, "gap")
		}
		e := b.Edges()
		for i, k := range e.Confirmed {
			if !(k.Lo <= k.X && k.X <= k.Hi) {
				t.Fatalf("edge %+v", k)
			}
			if i > 0 && len(e.InGap) == 0 && k.Up == e.Confirmed[i-1].Up {
				t.Fatalf("two edges of one direction in a row")
			}
			if k.Power < 0 || k.Power > 1 || k.Weak != (k.Power < .15) {
				t.Fatalf("power: %+v", k)
			}
			if math.IsNaN(b.EdgeShifted(e, i, 0)) {
				t.Fatal("an edge is lost against its own line")
			}
		}
		zones := b.Zones(e)
		if len(zones) > 0 && len(zones) != len(e.Confirmed)+len(e.InGap)+1 {
			t.Fatalf("%d zones, %d edges, %d in gaps", len(zones), len(e.Confirmed), len(e.InGap))
		}
		for i, z := range zones {
			if i > 0 && z.Sign == zones[i-1].Sign {
				t.Fatal("two zones of one sign in a row")
			}
			for _, c := range z.Certain {
				if !(c.Lo < c.Hi) || c.Lo < z.PossibleLo || c.Hi > z.PossibleHi || c.Lo < z.Lower.X || c.Hi > z.Upper.X {
					t.Fatalf("certain %+v of zone %+v", c, z)
				}
			}
			if !(z.Mass >= 0 && z.Mass <= 1+1e-12) {
				t.Fatalf("zone %+v", z)
			}
		}
		for g, v := range b.T {
			if math.Abs(v) <= b.Crit {
				continue
			}
			in := 0
			for _, z := range zones {
				if z.Lower.X <= b.X[g] && b.X[g] <= z.Upper.X {
					in++
					if float64(z.Sign)*v < 0 {
						t.Fatalf("a point with T = %g lies in a zone of sign %d", v, z.Sign)
					}
				}
			}
			if in != 1 {
				t.Fatalf("point %g lies in %d zones", b.X[g], in)
			}
		}
	})
}

func TestPowerGiven(t *testing.T) {
	phi := func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 }
	for _, theta := range []float64{-1, 0, 1, 3, 8} {
		a := 1.96 - theta
		mean := theta + math.Exp(-a*a/2)/math.Sqrt(2*math.Pi)/phi(-a) // E of a normal beyond 1.96
		near(t, "power", stats.PowerGiven(mean, 1.96), phi(-a), 1e-9)
	}
	if p := stats.PowerGiven(1.9601, 1.96); !(p >= 0 && p < 1e-6) {
		t.Errorf("power at the critical value is %g", p)
	}
}

func TestSupport(t *testing.T) {
	b := band(.2, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5)
	c := b.Curve
	c.Replicates = 4
	for _, shift := range []float64{0, .5, -.5, 100} { // the last has one zone, of everything
		for _, f := range c.F {
			c.RepF = append(c.RepF, f+shift)
		}
	}
	e := b.Edges()
	z := b.Zones(e)
	near(t, "support", b.Support(z[1]), 1, 0)   // half of everything is in it: exactly .5
	near(t, "support", b.Support(z[0]), .75, 0) // and no bad zone in the last
	b.Line = stats.Line{Value: 0, Rep: []float64{0, 0, 0, 100}}
	near(t, "support with the line's own replicates", b.Support(z[0]), 1, 0)
}

// TestBeyond: the course past an edge from its limit on, by the slope of the raw
// events with the sandwich for clusters worked out event by event.
func TestBeyond(t *testing.T) {
	course := func(d []float64, spread float64) (stats.Beyond, stats.Edges) {
		b := band(.02, d...)
		table := *b.Curve.Table()
		table.Y = slices.Clone(table.Y)
		for i, g := range table.Cluster {
			table.Cluster[i] = g % 100 // each cluster has an event of every bin
			table.Y[i] = d[i/100] + spread*float64(int(g)%100-50)/50*float64(i/100-len(d)/2)
		}
		table.Clusters = 100
		b.Curve.SetTable(&table)
		e := b.Edges()
		for k := range e.Confirmed { // the limits are another test's
			e.Confirmed[k].Lo, e.Confirmed[k].Hi = e.Confirmed[k].X-.5, e.Confirmed[k].X+.5
		}
		return b.Beyond(b.Zones(e)[1], e, false, .1), e
	}
	rising := []float64{-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5}
	got, _ := course(rising, .5)
	if got.Course != stats.KeepsRising || math.Abs(got.Slope-1) > 1e-12 {
		t.Errorf("rising: %+v", got)
	}
	// Each cluster's own slope is 1 + .5·(g−50)/50; the slope of all is their mean,
	// and ψ_g = (its own slope − 1)/100 where every cluster weighs the same.
	v := 0.0
	for g := range 100 {
		v += math.Pow(.5*float64(g-50)/50/100, 2)
	}
	near(t, "half width", (got.Hi-got.Lo)/2, stats.TQuantile(.975, 99)*math.Sqrt(v*100/99), 2e-4) // the mean of g is 49.5
	if got, _ := course(rising, 20); got.Course != stats.CannotTell {
		t.Errorf("wide: %+v", got)
	}
	if got, _ := course([]float64{-5, -5, 5, 5, 5, 5}, .01); got.Course != stats.Holds {
		t.Errorf("flat: %+v", got)
	}
	if got, _ := course([]float64{-5, -5, 8, 7, 6, 5}, .01); got.Course != stats.FallsBack {
		t.Errorf("falling: %+v", got)
	}
	if got, _ := course([]float64{-5, -5, 8, 8, -5, -5}, .01); got.Course != stats.FallsBack || !math.IsNaN(got.Slope) {
		t.Errorf("closes again: %+v", got)
	}
	if got, _ := course([]float64{-5, -5, 5, 7}, .01); got.Course != stats.CannotTell || !math.IsNaN(got.Slope) {
		t.Errorf("two bins: %+v", got)
	}
	// A jump is no rise: the bins before the limit are not looked at.
	if got, _ := course([]float64{-5, -5, -5, 5, 5, 5, 5}, .01); got.Course == stats.KeepsRising {
		t.Errorf("jump: %+v", got)
	}
	b := band(.02, rising...)
	e := b.Edges()
	z := b.Zones(e)
	// On the bad side the curve also moves away from the line as x falls.
	if got := b.Beyond(z[0], e, true, .1); math.Abs(got.Slope-1) > 1e-12 {
		t.Errorf("falling: %+v", got)
	}
	if got := b.Beyond(z[1], e, true, .1); got.Course != stats.CannotTell || !math.IsNaN(got.Slope) {
		t.Errorf("no edge on that side: %+v", got)
	}
	e.Confirmed[0].Hi = math.Inf(1)
	if got := b.Beyond(z[1], e, false, .1); got.Course != stats.CannotTell || !math.IsNaN(got.Slope) {
		t.Errorf("an open limit: %+v", got)
	}
}
