package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// crowd throws pitches of one cell: whiffs rise with velocity, and pitcher 0
// throws ten times as many as any other, at 93 to 96 mph, whiffing at star.
func crowd(t *testing.T, star float64, without int32) *tally.Tally {
	t.Helper()
	r := rand.New(rand.NewPCG(5, 5))
	var pitches []pitch.Pitch
	var names tally.Names
	for i := range int32(40) {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%02d", i))
		n := 120
		if i == 0 {
			n = 1200
		}
		for range n {
			x := 90 + 8*r.Float64()
			chance := .1 + .03*(x-90)
			if i == 0 {
				x, chance = 93+3*r.Float64(), star
			}
			p := blank(i)
			p.Num[pitch.Velocity], p.Outcome = math.Round(10*x)/10, pitch.Foul
			if r.Float64() < chance {
				p.Outcome = pitch.SwingingStrike
			}
			if i != without {
				pitches = append(pitches, p)
			}
		}
	}
	return count(t, pitches, names)
}

func fitted(t *testing.T, of *tally.Tally) (*Estimate, *Curve) {
	t.Helper()
	o := DefaultOptions()
	o.Replicates = 200
	e, err := New(t.Context(), of, o)
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Group(t.Context(), tally.AllStrata, 0, outcome.Whiff)
	if err != nil || len(curves) != 1 || curves[0].Fit == nil {
		t.Fatal(len(curves), err)
	}
	return e, curves[0]
}

// TestDepend leaves the pitcher out who throws a quarter of the pitches, and
// compares with the league in which he never threw: edge against the median, the
// pooled rate and a line of all pitch types. Nodes are means of the variable over
// all events there, which he moves by little: .15 mph here.
func TestDepend(t *testing.T) {
	e, c := fitted(t, crowd(t, .5, -1))
	other, rest := fitted(t, crowd(t, .5, 0))
	compared := 0
	for i, l := range c.Lines {
		for _, edge := range c.Against(l).Edges().Confirmed {
			d := e.Depend(c, l, edge)
			if d.LargestShare < .4 || d.LargestShare > 1 {
				if edge.X > 93.5 && edge.X < 95.5 {
					t.Errorf("%s: largest share %.2f at %.1f", l.Name, d.LargestShare, edge.X)
				}
			}
			want := math.NaN()
			for _, x := range other.curveCrossings(rest, rest.Lines[i]) {
				if !(math.Abs(x-edge.X) >= math.Abs(want-edge.X)) {
					want = x
				}
			}
			if math.IsNaN(d.Without) != math.IsNaN(want) || math.Abs(d.Without-want) > .15 {
				t.Errorf("%s: %.3f without the pitcher, want %.3f (with him %.3f)", l.Name, d.Without, want, edge.X)
			}
			if math.Abs(d.Without-edge.X) < .2 {
				t.Errorf("%s: the pitcher moves the edge by %.3f only: no test", l.Name, d.Without-edge.X)
			}
			compared++
		}
	}
	if compared < 2 {
		t.Errorf("%d edges compared", compared)
	}
	// a line that the curve reaches through him alone
	line := &Line{Name: Fixed, Value: c.Fit.At(94.5) - .02}
	if up := c.Fit.Crossing(line.Value, 1, true, 94.5); math.IsNaN(up) || rest.Fit.At(rest.Fit.X[len(rest.Fit.X)-1]) > line.Value {
		t.Fatal("the curve does not cross the line, or the others do")
	}
	if d := e.Depend(c, line, stats.Edge{X: 94, Up: true}); !math.IsNaN(d.Without) || d.LargestShare < .35 {
		t.Errorf("an edge that only he makes: %+v", d)
	}
}

// curveCrossings lists the rising crossings of a line.
func (e *Estimate) curveCrossings(c *Curve, l *Line) []float64 {
	var out []float64
	b := c.Against(l)
	for g := range len(b.X) - 1 {
		if b.D[g] <= 0 && b.D[g+1] > 0 {
			out = append(out, b.X[g]+(b.X[g+1]-b.X[g])*(-b.D[g])/(b.D[g+1]-b.D[g]))
		}
	}
	return out
}

// TestLineWithout takes lines without one pitcher and compares them with those of
// the league in which he never threw.
func TestLineWithout(t *testing.T) {
	for _, who := range []int32{0, 7, 39} {
		_, c := fitted(t, crowd(t, .5, -1))
		_, rest := fitted(t, crowd(t, .5, who))
		for i, l := range c.Lines {
			if got, want := l.without(pitch.LeftHand, int(who)), rest.Lines[i].Value; math.Abs(got-want) > 1e-12 {
				t.Errorf("%s without %d: %g, want %g", l.Name, who, got, want)
			}
			if who == 0 && l.Name == TypeRate {
				// the delta method to first order, N/(N−n) times smaller than the difference
				n := float64(l.pool.n[pitch.LeftHand][0])
				exact := (l.Value - rest.Lines[i].Value) * (float64(l.Events) - n) / float64(l.Events)
				if got := l.score(pitch.LeftHand, 0); math.Abs(got-exact) > 1e-12 {
					t.Errorf("score %g, want %g", got, exact)
				}
			}
		}
	}
	given := &Line{Name: Fixed, Value: .2}
	if given.without(pitch.LeftHand, 3) != .2 || given.score(pitch.LeftHand, 3) != 0 {
		t.Error("a given line moves")
	}
}

// TestBattersKnownInPart: from nine tenths on the known batters stand for all,
// below that the curve is one-way.
func TestBattersKnownInPart(t *testing.T) {
	league := func(unknown float64) *Curve {
		r := rand.New(rand.NewPCG(9, 9))
		var names tally.Names
		var pitches []pitch.Pitch
		effect := make([]float64, 60)
		for i := range effect {
			names.Batters = append(names.Batters, fmt.Sprintf("b%02d", i))
			effect[i] = .08 * r.NormFloat64()
		}
		for i := range int32(40) {
			names.Pitchers = append(names.Pitchers, fmt.Sprintf("%02d", i))
			for range 150 {
				p := blank(i)
				p.Batter = int32(r.IntN(60))
				x := 90 + 8*r.Float64()
				p.Num[pitch.Velocity], p.Outcome = math.Round(10*x)/10, pitch.Foul
				if r.Float64() < .1+.03*(x-90)+effect[p.Batter] {
					p.Outcome = pitch.SwingingStrike
				}
				if r.Float64() < unknown {
					p.Batter = -1
				}
				pitches = append(pitches, p)
			}
		}
		_, c := fitted(t, count(t, pitches, names))
		return c
	}
	se := func(c *Curve) float64 {
		sum := 0.0
		for _, v := range c.Fit.Against(stats.Line{}, 1, c.Second).SE { // the curve itself: beside a line batters cancel in part
			sum += v
		}
		return sum
	}
	whole, some, few := league(0), league(.05), league(.15)
	if whole.Second == nil || some.Second == nil || few.Second != nil || few.Batters != 0 {
		t.Fatalf("second ways %v, %v, %v", whole.Second != nil, some.Second != nil, few.Second != nil)
	}
	if r := se(some) / se(whole); math.Abs(r-1) > .04 {
		t.Errorf("with 5 %% unknown the widths are %.3f of those of complete data", r)
	}
	if r := se(few) / se(whole); r > .95 {
		t.Errorf("one-way widths are %.3f of the two-way ones: no test", r)
	}
}
