package answer_test

import (
	"math"
	"slices"
	"testing"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// TestNull: what is no number is null, and so is a limit that is open.
func TestNull(t *testing.T) {
	x, lo, hi := answer.Estimate{X: 1, Lo: math.Inf(-1), Hi: math.NaN()}.Columns()
	if x == nil || *x != 1 || lo != nil || hi != nil {
		t.Errorf("%v %v %v", x, lo, hi)
	}
	if answer.Or(nil, 2) != 2 || answer.Or(x, 2) != 1 {
		t.Error("Or takes the wrong one")
	}
}

// TestStudent: with very many degrees of freedom the limits are the normal ones.
func TestStudent(t *testing.T) {
	s, n := answer.Student(3, 2, 1e9), answer.Normal(stats.Normal{Mean: 3, SD: 2})
	if s.X != 3 || math.Abs(s.Lo-n.Lo) > 1e-6 || math.Abs(s.Hi-n.Hi) > 1e-6 || math.Abs(s.Hi+s.Lo-6) > 1e-12 {
		t.Errorf("%v, normal %v", s, n)
	}
	if (answer.Estimate{X: 1, Lo: -1, Hi: 3}).Apart() || !(answer.Estimate{X: -2, Lo: -3, Hi: -1}).Apart() || answer.Unknown.Apart() {
		t.Error("Apart is not whether the limits leave out 0")
	}
}

// TestFamily: p of .01, .02 and .9 in a family of three come to .03, .03 and .9,
// wherever their q are kept.
func TestFamily(t *testing.T) {
	var q [3]float64
	var f answer.Family
	f.Add(.9, &q[0])
	f.Add(.01, &q[1])
	f.Add(.02, &q[2])
	f.Control()
	for i, want := range []float64{.9, .03, .03} {
		if math.Abs(q[i]-want) > 1e-12 {
			t.Errorf("q %v, want %v", q[i], want)
		}
	}
}

// TestEdges: the zones on both sides of a breakpoint tell it once, better above it; a
// limit that is not given is open, and what is no breakpoint is none. Zones of another
// line are left out.
func TestEdges(t *testing.T) {
	p := func(x float64) *float64 { return &x }
	cell := answer.Cell{Hand: pitch.RightHand, Side: pitch.LeftSide, Type: pitch.FourSeam}
	k := cell.Key("velocity", outcome.Whiff)
	zones := []thresholds.Zone{
		{Key: k, Reference: "a", Sign: -1, LowerKind: "open", Lower: p(80), UpperKind: "edge", Upper: p(93), UpperLo: p(92)},
		{Key: k, Reference: "a", Sign: 1, LowerKind: "edge", Lower: p(93), LowerLo: p(92), UpperKind: "unresolved", Upper: p(99)},
		{Key: k, Reference: "b", Sign: 1, LowerKind: "edge", Lower: p(90)},
	}
	want := []stats.Edge{{X: 93, Lo: 92, Hi: math.Inf(1), Up: true}}
	if got := answer.Edges(zones, k, "a"); !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestCell: a cell is read back from its words; an unknown word is an error.
func TestCell(t *testing.T) {
	want := answer.Cell{Hand: pitch.RightHand, Side: pitch.LeftSide, Type: pitch.FourSeam}
	k := want.Key("velocity", outcome.Whiff)
	if got, err := answer.ParseCell(k.PitchType, k.Hand, k.Side); err != nil || got != want || got.Title() != "four-seam R-v-L" {
		t.Errorf("%v %v", got, err)
	}
	if got, err := answer.ParseCell("forkball", k.Hand, k.Side); err != nil || got.Title() != "forkball R-v-L" {
		t.Errorf("a type that a source declares is read as %v, %v", got, err)
	}
	if _, err := answer.ParseCell("Fork?", k.Hand, k.Side); err == nil {
		t.Error("what names no pitch type is read")
	}
}

func TestRuns(t *testing.T) {
	var got [][]int
	for run := range answer.Runs([]int{1, 1, 2, 3, 3, 1}, func(a, b *int) bool { return *a == *b }) {
		got = append(got, run)
	}
	if want := [][]int{{1, 1}, {2}, {3, 3}, {1}}; !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestWords: one and several are told apart, and none is not told.
func TestWords(t *testing.T) {
	list := []answer.Verdict{{Word: "a", Name: "A", One: "holds", Several: "hold"}, {Word: "b", One: "fails", Several: "fail"}, {Word: "c"}}
	n := map[string]int{"a": 2, "b": 1}
	for got, want := range map[string]string{
		answer.Counted("in ", list, func(word string) int { return n[word] }): "in 2 hold, in 1 fails",
		answer.Named(list, "a"):                         "A",
		answer.Named(list, "d"):                         "",
		answer.Estimate{X: .08, Lo: .06, Hi: .1}.Gain(): "+.080 (+.060 to +.100)",
		answer.Unknown.Gain():                           "",
		answer.Variable("of_later").Title:               "of later",
		answer.Unit("mph"):                              " mph",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
