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
// c = 1.96.
func band(se float64, d ...float64) *stats.Band {
	n := len(d)
	c := &stats.Curve{N: make([]float64, n), X: make([]float64, n), F: d, Geff: 1e6, G: 1e6, Drawn: 1e6}
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
	near(t, "lo", got.Lo, 5-.2*b.Crit, 1e-12) // where |T| = c exactly, as D is linear
	near(t, "hi", got.Hi, 5+.2*b.Crit, 1e-12)
	if !got.Up || got.Widened || got.Weak || got.Power < .999 {
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
	near(t, "certain from", z[1].CertainLo, got.Hi, 0)
	near(t, "certain to", z[1].CertainHi, 10, 0)
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

// TestWeakSides: limits of decisions on weakly supported edges.
func TestWeakSides(t *testing.T) {
	// The right side peaks at T = 3, between t_.99 = 2.326 and t_.9995 = 3.291.
	b := band(1, -8, -4, 0, 1, 2, 3)
	e := b.Edges().Confirmed[0]
	near(t, "lo", e.Lo, 2-b.Crit/4, 1e-9) // the left side peaks at 8: plain
	near(t, "hi", e.Hi, 2+stats.TQuantile(.99, 1e6), 1e-9)
	if !e.Widened || e.Weak {
		t.Errorf("%+v", e)
	}
	// Mirrored, it is the left side.
	left := band(1, -3, -2, -1, 0, 4, 8).Edges().Confirmed[0]
	near(t, "lo of a weak left side", left.Lo, 3-stats.TQuantile(.99, 1e6), 1e-9)
	near(t, "hi of a strong right side", left.Hi, 3+b.Crit/4, 1e-9)
	// The right side peaks at 2.2: confirmed, but t_.99 is never reached.
	b = band(1, -8, -4, 0, 1, 2.2)
	edges := b.Edges()
	e = edges.Confirmed[0]
	if !math.IsInf(e.Hi, 1) || !e.Widened || !e.Weak || e.Power > .15 {
		t.Errorf("%+v", e)
	}
	z := b.Zones(edges)[1]
	if !math.IsNaN(z.CertainLo) || !math.IsNaN(z.CertainHi) {
		t.Errorf("a certain zone past a limit that is open: %+v", z)
	}
	// The plain limits are those at the critical value.
	plain := b.EdgesAt(b.Crit).Confirmed[0]
	near(t, "plain hi", plain.Hi, 3+(b.Crit-1)/1.2, 1e-9)
	// Few clusters make the same T weaker.
	b = band(1, -8, -4, 0, 4, 4.5, 5)
	b.DF, b.Crit = 7, stats.TQuantile(.975, 7)
	if e := b.Edges().Confirmed[0]; !e.Widened {
		t.Error("T = 5 is beyond t_.9995 = 5.41 with 7 degrees of freedom")
	}
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
	// The certain zones end at the last point beyond c, the possible ones where
	// the other sign is certain.
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
	near2(t, "first point beyond c", z[0].CertainLo, 1.5)
	near2(t, "last point beyond c", z[0].CertainHi, 4.5)
	if !math.IsInf(z[0].PossibleLo, -1) || !math.IsInf(z[0].PossibleHi, 1) {
		t.Error("an unresolved zone has a possible end")
	}
	if len(band(1, 0, 1, 0).Zones(band(1, 0, 1, 0).Edges())) != 0 {
		t.Error("a zone without a point beyond c")
	}
}

func TestThroughout(t *testing.T) {
	for _, c := range []struct {
		sign int
		all  bool
		d    []float64
		n    []float64
	}{
		{1, true, []float64{3, 3, 3}, []float64{100, 100, 100}},
		{-1, true, []float64{-3, -3, -3}, []float64{100, 100, 100}},
		{1, false, []float64{3, 3, 3, 1}, []float64{100, 100, 100, 10}},  // mid-mass .98
		{0, false, []float64{3, 3, 3, 1}, []float64{100, 100, 100, 100}}, // mid-mass .875
		{0, false, []float64{3, 1, 3}, []float64{100, 100, 100}},
		{1, false, []float64{-3, 3, 3, 3}, []float64{5, 100, 100, 100}}, // a bad sliver does not hide
	} {
		b := band(1, c.d...)
		b.Curve.N = c.n
		if sign, all := b.Throughout(); sign != c.sign || all != c.all {
			t.Errorf("%v by %v: %d, %v", c.d, c.n, sign, all)
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
			if !(k.Lo < k.X && k.X < k.Hi) {
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
			if z.CertainLo < z.PossibleLo || z.CertainHi > z.PossibleHi || !(z.Mass >= 0 && z.Mass <= 1+1e-12) {
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

func TestSupportAndBeyond(t *testing.T) {
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

	// All replicates are the curve: no spread, so nothing can be told.
	c.RepF = slices.Concat(c.F, c.F, c.F, c.F)
	if got := b.Beyond(z[1], false, .1); got.Course != stats.CannotTell || math.Abs(got.Slope-1) > 1e-12 {
		t.Errorf("%+v", got)
	}
	tilt := func(k ...float64) {
		c.RepF = c.RepF[:0]
		for _, v := range k {
			for i, f := range c.F {
				c.RepF = append(c.RepF, f+v*float64(i))
			}
		}
	}
	tilt(.1, -.1, .1, -.1)
	rise := b.Beyond(z[1], false, .1)
	if rise.Course != stats.KeepsRising {
		t.Errorf("rising: %+v", rise)
	}
	sd := math.Sqrt(.04 / 3)
	near(t, "half width", (rise.Hi-rise.Lo)/2, b.Crit*sd, 1e-5)
	// On the bad side the curve also moves away from the line as x falls.
	if got := b.Beyond(z[0], true, .1); got.Course != stats.KeepsRising || math.Abs(got.Slope-1) > 1e-12 {
		t.Errorf("falling: %+v", got)
	}
	if got := b.Beyond(z[1], true, .1); got.Course != stats.CannotTell || !math.IsNaN(got.Slope) {
		t.Errorf("no edge on that side: %+v", got)
	}
	tilt(3, -3, 3, -3)
	if got := b.Beyond(z[1], false, .1); got.Course != stats.CannotTell {
		t.Errorf("wide: %+v", got)
	}
	for _, x := range []struct {
		want stats.Course
		d    []float64
	}{
		{stats.Holds, []float64{-5, -5, 5, 5, 5, 5}},
		{stats.FallsBack, []float64{-5, -5, 8, 7, 6, 5}},
		{stats.FallsBack, []float64{-5, -5, 8, 8, -5, -5}}, // closes again at an edge
	} {
		b := band(.2, x.d...)
		b.Curve.Replicates = 2
		for _, v := range []float64{.001, -.001} {
			for i, f := range b.Curve.F {
				b.Curve.RepF = append(b.Curve.RepF, f+v*float64(i))
			}
		}
		if got := b.Beyond(b.Zones(b.Edges())[1], false, .1); got.Course != x.want {
			t.Errorf("%v: %+v", x.d, got)
		}
	}
}
