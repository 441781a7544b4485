package calibrate

import (
	"math"
	"testing"

	"sill/stats"
)

// nodes is a curve of which only nodes and events matter.
func nodes() *stats.Curve {
	return &stats.Curve{X: []float64{0, 1, 2, 3, 4}, N: []float64{100, 100, 100, 100, 100}, Width: 1}
}

// A stretch is wrong where a place of it lies on the other side, by as many events
// as lie there.
func TestHold(t *testing.T) {
	from := func(x float64) func(float64) float64 {
		return func(z float64) float64 { return z - x }
	}
	for _, c := range []struct {
		lo, hi       float64
		sign         int
		zero         float64
		wrong        bool
		share, total float64
	}{
		{1, 3, +1, .5, false, 0, 200},
		{1, 3, +1, 1, false, 0, 200}, // on the line is not on the other side
		{1, 3, +1, 1.5, true, .25, 200},
		{1, 3, -1, 3.5, false, 0, 200},
		{1, 3, -1, 1.5, true, .75, 200},
		{2, 2, +1, 3, true, 0, 0},
	} {
		wrong, events, amiss := hold(nodes(), c.lo, c.hi, c.sign, from(c.zero))
		if wrong != c.wrong || math.Abs(events-c.total) > 1e-9 || math.Abs(amiss-c.share*c.total) > .01*c.total {
			t.Errorf("%+v: wrong %v, %v of %v events", c, wrong, amiss, events)
		}
	}
}

func TestSlopeOver(t *testing.T) {
	c := nodes()
	if got := slopeOver(c, 1, 4, func(x float64) float64 { return 3 - .2*x }); math.Abs(got+.2) > 1e-12 {
		t.Errorf("slope of a line: %v", got)
	}
	if got := slopeOver(c, 4, 1, func(x float64) float64 { return .2 * x }); math.Abs(got-.2) > 1e-12 {
		t.Errorf("slope from right to left: %v", got)
	}
	if got := slopeOver(c, 2, 4, func(float64) float64 { return .25 }); got != 0 && math.Abs(got) > 1e-12 {
		t.Errorf("slope of a level curve: %v", got)
	}
	if got := slopeOver(c, 2, 2, func(x float64) float64 { return x }); got != 0 {
		t.Errorf("slope over a point: %v", got)
	}
}

// What is said past an edge is held against the curve past the true edge, away from
// the line on either side of it.
func TestBeside(t *testing.T) {
	d := Default(Jump)
	d.Clusters = 800
	crowd := NewLeague(d)
	g := &dataset{law: crowd, seed: 5, crews: crowd.Draw(5, 0), draws: crowd.Resample(5, 0, 200)}
	truth := crowd.Truth(0, PooledLine, 5)[0]
	b := g.fit(at{0, 0, 0}, g.draws).against(g.line(0, PooledLine, g.draws))
	e := b.Edges()
	if len(e.Confirmed) != 1 {
		t.Fatalf("%d edges", len(e.Confirmed))
	}
	for _, c := range []struct {
		name  string
		slope float64
		rises bool
	}{{"level on both sides", 0, false}, {"rises throughout", .01, true}, {"falls throughout", -.01, false}} {
		s := NewScores()
		s.beside(b, e, truth.Edges[0], func(x float64) float64 {
			return truth.At(0, x) - truth.Line + c.slope*(x-truth.Edges[0][0].X)
		})
		want := map[string]int{stretchWrong: 2, keepsSaid: 2, keepsTrue: 0, keepsFalse: 2}
		if c.rises {
			want[keepsTrue], want[keepsFalse] = 2, 0
		}
		for measure, n := range want {
			if got := s.Share(measure).Of; got != n {
				t.Errorf("%s: %q was counted %d times, want %d", c.name, measure, got, n)
			}
		}
	}
}
