package stats_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sill/stats"
)

// sleepers are the extra hours of ten sleepers under two drugs (Student 1908),
// as printed with R's t.test: unpaired t = -1.8608, df = 17.776, interval
// -3.3654832 to 0.2054832; paired t = -4.0621. Values and results from memory.
var sleepers = [2][]float64{
	{.7, -1.6, -.2, -1.2, -.1, 3.4, 3.7, .8, 0, 2},
	{1.9, .8, 1.1, .1, -.1, 4.4, 5.5, 1.6, 4.6, 3.4},
}

func anySize() stats.CutoffOptions {
	o := stats.DefaultCutoffOptions()
	o.MinEvents = 1
	return o
}

// With clusters of equal size that are on one side only, df must be Welch's.
func TestCutoffIsWelchForSeparateClusters(t *testing.T) {
	zeros, ones := make([]float64, 10), []float64{1, 1, 1, 1, 1, 1, 1, 1, 1, 1}
	c := stats.CompareCutoff(append(sleepers[0][:10:10], zeros...), append(ones[:10:10], zeros...),
		append(zeros[:10:10], sleepers[1]...), append(zeros[:10:10], ones...), anySize())
	near(t, "difference", c.D, -1.58, 1e-12)
	near(t, "df", c.DF, 17.776, 5e-4/17.776)
	// Ours takes (G−1)/G over 20 clusters where Welch has it over 10 and 10.
	wider := math.Sqrt((19. / 20) / (9. / 10))
	near(t, "t", c.D/(c.SE/wider), -1.8608, 5e-5)
	near(t, "lo", c.D+(c.Lo-c.D)/wider, -3.3654832, 1e-7)
	near(t, "hi", c.D+(c.Hi-c.D)/wider, .2054832, 1e-7)
}

// With the same clusters on both sides it must be the paired t.
func TestCutoffIsPairedForSharedClusters(t *testing.T) {
	n := []float64{7, 7, 7, 7, 7, 7, 7, 7, 7, 7}
	scaled := func(v []float64) []float64 {
		out := make([]float64, len(v))
		for i := range v {
			out[i] = 7 * v[i]
		}
		return out
	}
	o := anySize()
	o.Sign = -1
	c := stats.CompareCutoff(scaled(sleepers[0]), n, scaled(sleepers[1]), n, o)
	near(t, "t", c.D/c.SE, 4.0621, 5e-5)
	if !(c.P > 0 && c.P < .01) {
		t.Errorf("p %v", c.P)
	}
}

// spreadCutoff has g clusters with rates r ± spread inside and outside at n
// events each.
func spreadCutoff(g int, n, in, out, spread float64, o stats.CutoffOptions) stats.Cutoff {
	var yIn, yOut, ns []float64
	for p := range g {
		wobble := spread * float64(p%3-1)
		yIn = append(yIn, n*(in+wobble))
		yOut = append(yOut, n*(out-wobble))
		ns = append(ns, n)
	}
	return stats.CompareCutoff(yIn, ns, yOut, ns, o)
}

func TestCutoffVerdicts(t *testing.T) {
	o := stats.DefaultCutoffOptions()
	for _, c := range []struct {
		in, out, spread, q float64
		want               stats.CutoffVerdict
		words              string
	}{
		{.30, .25, .01, .01, stats.CutoffHoldsClearly, "holds clearly"},
		{.30, .25, .01, .11, stats.CutoffUnderpowered, "underpowered"},
		{.28, .25, .02, .01, stats.CutoffHolds, "holds"},
		{.28, .25, .02, .11, stats.CutoffUnderpowered, "underpowered"},
		{.26, .25, .01, .01, stats.CutoffSmall, "real but small"},
		{.25, .25, .01, .80, stats.CutoffFails, "does not hold"},
		{.20, .25, .01, 1, stats.CutoffFails, "does not hold"},
		{.26, .25, .09, .60, stats.CutoffUnderpowered, "underpowered"},
	} {
		got := spreadCutoff(30, 100, c.in, c.out, c.spread, o)
		if v := got.Verdict(c.q); v != c.want || v.String() != c.words {
			t.Errorf("%v against %v ± %v, q %v: %v, want %v (%.4f to %.4f)", c.in, c.out, c.spread, c.q, v, c.want, got.Lo, got.Hi)
		}
	}
	o.Sign = -1
	if v := spreadCutoff(30, 100, .25, .30, .01, o).Verdict(.01); v != stats.CutoffHoldsClearly {
		t.Errorf("less is better: %v", v)
	}
}

func TestCutoffShortages(t *testing.T) {
	o := stats.DefaultCutoffOptions()
	dominated := func() stats.Cutoff {
		y, n := []float64{300, 2, 1, 2, 1, 2}, []float64{1000, 10, 5, 9, 8, 10}
		return stats.CompareCutoff(y, n, []float64{20, 21, 19, 20, 25, 26}, []float64{100, 100, 100, 100, 100, 100}, o)
	}
	nothing := make([]float64, 6)
	for _, c := range []struct {
		what string
		got  stats.Cutoff
		want stats.CutoffShortage
	}{
		{"enough", spreadCutoff(30, 100, .3, .2, .01, o), stats.CutoffEnough},
		{"few events", spreadCutoff(6, 8, .3, .2, .01, o), stats.CutoffFewEvents},
		{"few clusters", spreadCutoff(4, 100, .3, .2, .01, o), stats.CutoffFewClusters},
		{"one cluster decides", dominated(), stats.CutoffDominated},
		{"no variation", spreadCutoff(30, 100, .25, .25, 0, o), stats.CutoffNoVariation},
		{"an empty side", stats.CompareCutoff([]float64{20, 21, 19, 20, 25, 26}, []float64{100, 100, 100, 100, 100, 100}, nothing, nothing, o), stats.CutoffFewEvents},
	} {
		if c.got.Shortage != c.want {
			t.Errorf("%s: shortage %v, want %v", c.what, c.got.Shortage, c.want)
		}
		if c.want != stats.CutoffEnough && (c.got.Verdict(0) != stats.CutoffUnderpowered || c.got.P != 1) {
			t.Errorf("%s: %v with p %v", c.what, c.got.Verdict(0), c.got.P)
		}
	}
	if need := dominated().Settle(); need.Clusters < 6*3/1.1 {
		t.Errorf("dominated: need %+v, but the effective number has to triple", need)
	}
	empty := stats.CompareCutoff([]float64{20, 21}, []float64{100, 100}, []float64{0, 0}, []float64{0, 0}, o)
	if need := empty.Settle(); need != (stats.CutoffNeed{Clusters: 5, EventsInside: 200, EventsOutside: 50}) {
		t.Errorf("an empty side: need %+v", need)
	}
	if c := stats.CompareCutoff(nil, nil, nil, nil, o); c.Verdict(0) != stats.CutoffUnderpowered || c.P != 1 {
		t.Errorf("nothing at all: %+v", c)
	}
}

// A sample of the size asked for must settle the question about as often as it
// says; without the chance element, doubling up to it must settle it.
func TestCutoffSettle(t *testing.T) {
	o := stats.DefaultCutoffOptions()
	c := spreadCutoff(30, 100, .262, .25, .06, o)
	if c.Verdict(c.P) != stats.CutoffUnderpowered {
		t.Fatalf("%v needs no more", c.Verdict(c.P))
	}
	need := c.Settle()
	if !(need.Factor > 1) || need.Clusters != math.Ceil(30*need.Factor) || need.EventsInside != math.Ceil(3000*need.Factor) {
		t.Fatalf("%+v", need)
	}
	bigger := spreadCutoff(int(need.Clusters), 100, .262, .25, .06, o)
	if bigger.Verdict(bigger.P) == stats.CutoffUnderpowered {
		t.Errorf("%v clusters: still %v (%.4f to %.4f)", need.Clusters, bigger.Verdict(bigger.P), bigger.Lo, bigger.Hi)
	}
	if settled := spreadCutoff(300, 100, .30, .25, .01, o).Settle(); settled.Factor != 1 {
		t.Errorf("a settled cutoff needs %v of its sample", settled.Factor)
	}
}

func TestCutoffProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		g := rapid.IntRange(2, 20).Draw(rt, "clusters")
		var v [4][]float64
		for range g {
			for side := range 2 {
				n := rapid.IntRange(0, 80).Draw(rt, "n")
				v[2*side] = append(v[2*side], float64(rapid.IntRange(0, n).Draw(rt, "y")))
				v[2*side+1] = append(v[2*side+1], float64(n))
			}
		}
		o := anySize()
		c := stats.CompareCutoff(v[0], v[1], v[2], v[3], o)
		o.Sign = -1
		turned := stats.CompareCutoff(v[2], v[3], v[0], v[1], o)
		same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
		if !same(c.D, turned.D) || !same(c.Lo, turned.Lo) || !same(c.Hi, turned.Hi) || c.P != turned.P {
			rt.Fatalf("exchanging sides and sign: %+v became %+v", c, turned)
		}
		if !math.IsNaN(c.Lo) {
			top := max(1, c.Inside.Effective-1) + max(1, c.Outside.Effective-1)
			if !(c.DF >= 1-1e-12 && c.DF <= top+1e-9 && c.Lo <= c.D && c.D <= c.Hi) {
				rt.Fatalf("%+v", c)
			}
		}
		if c.Shortage == stats.CutoffEnough && (c.P < .0249999) != (c.Lo > 0) && math.Abs(c.P-.025) > 1e-6 {
			rt.Fatalf("p %v but lo %v", c.P, c.Lo)
		}
		if n := c.Settle(); n.Factor < 0 || n.EventsInside < c.Inside.Events || n.EventsOutside < c.Outside.Events {
			rt.Fatalf("%+v", n)
		}
	})
}

func TestCutoffOptions(t *testing.T) {
	if err := stats.DefaultCutoffOptions().Validate(); err != nil {
		t.Error(err)
	}
	err := stats.CutoffOptions{MinEvents: -1}.Validate()
	if err == nil || len(strings.Split(err.Error(), "\n")) != 6 {
		t.Errorf("all faults: %v", err)
	}
	panics(t, "no options", func() { stats.CompareCutoff(nil, nil, nil, nil, stats.CutoffOptions{}) })
}
