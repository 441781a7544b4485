package compare

import (
	"fmt"
	"math"
	"testing"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Ten patients' additional hours of sleep by two drugs (Student 1908, Biometrika
// 6:1, Table I), the same patients in the same order, in tenths of an hour and two
// hours more each, so that none is negative. R's paired t test of them, t.test of
// its data set sleep, prints t = 4.0621 on 9 degrees of freedom, p = .002833 and a
// 95 % interval of the difference from .7001142 to 2.4598858 hours (from memory);
// the correlation is .7951702.
var firstDrug, secondDrug = []int{27, 4, 18, 8, 19, 54, 57, 28, 20, 40}, []int{39, 28, 31, 21, 19, 64, 75, 36, 66, 54}

// sleepers gives ten pitchers as many whiffs of a hundred swings each.
func sleepers(t *testing.T, prefix string, whiffs []int) *tally.Tally {
	t.Helper()
	var names tally.Names
	var pitches []pitch.Pitch
	for i, w := range whiffs {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%s%02d", prefix, i))
		for k := range 100 {
			p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Pitcher: int32(i), Batter: -1, Venue: -1, Level: -1,
				Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul, Bunt: pitch.No}
			if k < w {
				p.Outcome = pitch.SwingingStrike
			}
			for n := range p.Num {
				p.Num[n] = pitch.Missing()
			}
			p.Num[pitch.Velocity] = 93
			pitches = append(pitches, p)
		}
	}
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		t.Fatal(err)
	}
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	out, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestLinesOfSleepers: where the same pitchers throw in both versions, the lines are
// compared as a paired t test does it; where others do, as if they were independent,
// and the same difference is within error. 4,000 draws tell a width to about 3 %.
func TestLinesOfSleepers(t *testing.T) {
	many := func(o *estimate.Options) { o.Replicates = 4000 }
	side := func(prefix, input string, whiffs []int) Side {
		return estimated(t, sleepers(t, prefix, whiffs), input, many)
	}
	rate := func(from, to Side) Row {
		d, err := Compare(t.Context(), from, to, Options{Discovery: .10, Replicates: 4000})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range d.Rows {
			if r.Kind == KindLine && r.Reference == estimate.TypeRate {
				return r
			}
		}
		t.Fatal("no line")
		return Row{}
	}
	one := side("p", "one", firstDrug)
	near := func(what string, got *float64, want, tolerance float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > tolerance {
			t.Errorf("%s is %v, want %.5f", what, answer.Or(got, math.NaN()), want)
		}
	}
	r := rate(one, side("p", "two", secondDrug))
	near("difference", r.Difference, .158, 1e-12)
	near("lower limit", r.DifferenceLo, .07001142, .05*.088)
	near("upper limit", r.DifferenceHi, .24598858, .05*.088)
	near("correlation", r.Rho, .7951702, .03)
	near("p", r.P, .002833, .0008)
	if r.Change != Moved {
		t.Errorf("the line is %s", r.Change)
	}
	// Independent: √(s₁² + s₂²) in place of the standard deviation of the differences.
	r = rate(one, side("q", "two", secondDrug))
	half := stats.TQuantile(.975, 9) * math.Sqrt(variance(firstDrug)/10+variance(secondDrug)/10)
	near("difference of others", r.Difference, .158, 1e-12)
	near("its lower limit", r.DifferenceLo, .158-half, .05*half)
	near("its upper limit", r.DifferenceHi, .158+half, .05*half)
	near("its correlation", r.Rho, 0, 0)
	if r.Change != WithinError {
		t.Errorf("the line of others is %s", r.Change)
	}
}

// variance is the sample variance of shares in hundredths.
func variance(hundredths []int) float64 {
	n, sum, squares := float64(len(hundredths)), 0.0, 0.0
	for _, k := range hundredths {
		x := float64(k) / 100
		sum += x
		squares += x * x
	}
	return (squares - sum*sum/n) / (n - 1)
}

// TestLinesApart: the q of what is compared against one line are the same where
// nothing is compared against the other.
func TestLinesApart(t *testing.T) {
	pairsAgainst := func(reference string, places ...float64) (out []*pair) {
		for _, x := range places {
			out = append(out, &pair{from: stats.Interval{Estimate: 93, Lo: 92.5, Hi: 93.5}, to: stats.Interval{Estimate: x, Lo: x - .5, Hi: x + .5}, df: 60,
				Row: Row{Kind: KindThreshold, Key: thresholds.Key{PitchType: "sinker"}, Reference: reference}})
		}
		return out
	}
	alone := pairsAgainst(estimate.TypeMedian, 93.72, 93.1, 93.8)
	beside := pairsAgainst(estimate.TypeMedian, 93.72, 93.1, 93.8)
	d := &Diff{Basis: BasisIndependent}
	d.judge(alone, DefaultOptions())
	d.judge(append(pairsAgainst(estimate.TypeRate, 93.1, 93.05, 93.2, 93.15, 93), beside...), DefaultOptions())
	for i := range alone {
		if a, b := alone[i], beside[i]; *a.P != *b.P || *a.Q != *b.Q || a.Change != b.Change {
			t.Errorf("p %.3f, q %.3f, %s alone; p %.3f, q %.3f, %s beside another line", *a.P, *a.Q, a.Change, *b.P, *b.Q, b.Change)
		}
	}
	if alone[0].Change != Moved {
		t.Errorf("q %.3f of p %.3f: no test", *alone[0].Q, *alone[0].P)
	}
}
