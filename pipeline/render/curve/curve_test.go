package curve

import (
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/thresholds"
)

func num(x float64) *float64 { return &x }

func TestCentral(t *testing.T) {
	c := Curve{Verdict: &thresholds.Verdict{Verdict: "never_beats"}, Points: []thresholds.CurvePoint{{X: 0}, {X: 9}}}
	for i := range 10 {
		c.Bins = append(c.Bins, &thresholds.Bin{Mean: num(float64(i)), Events: 100})
	}
	c.Bins[0].Events, c.Bins[9].Events = 40, 40 // their middles have 2 % of the events beyond
	if lo, hi := c.Central(); lo != 1 || hi != 8 {
		t.Errorf("central %g to %g, want 1 to 8", lo, hi)
	}
	if got := c.Certain(); len(got) != 1 || got[0] != (Stretch{1, 8, false}) {
		t.Errorf("certain %v", got)
	}
	c.Verdict.Everywhere = true
	if got := c.Certain(); len(got) != 1 || got[0] != (Stretch{0, 9, false}) {
		t.Errorf("certain everywhere %v", got)
	}
	c.Zones = []*thresholds.Zone{{Sign: 1, Certain: []thresholds.Span{{Lo: 2, Hi: 3}}}}
	c.Verdict.Verdict = "inconclusive"
	if got := c.Certain(); got != nil {
		t.Errorf("inconclusive claims %v", got)
	}
}

// A bar's area tells how many pitches it stands for, at an open end too.
func TestOpenBins(t *testing.T) {
	for _, c := range []struct {
		bin          thresholds.Bin
		lo, hi, most float64
	}{
		{thresholds.Bin{Lower: num(90), Upper: num(91), Mean: num(90.4), Pitches: 60}, 90, 91, 60},
		{thresholds.Bin{Upper: num(90), Mean: num(88.5), Pitches: 60}, 87, 90, 20},
		{thresholds.Bin{Lower: num(90), Mean: num(91), Pitches: 60}, 90, 92, 30},
		{thresholds.Bin{Lower: num(90), Mean: num(90.1), Pitches: 60}, 90, 91, 60},
	} {
		if lo, hi, ok := Reach(&c.bin, 1); !ok || lo != c.lo || hi != c.hi || Density(&c.bin, 1) != c.most {
			t.Errorf("%g to %g with %g, want %g to %g with %g", lo, hi, Density(&c.bin, 1), c.lo, c.hi, c.most)
		}
	}
}

// The outcomes are those of the pipeline, told in its words.
func TestOutcomes(t *testing.T) {
	for _, m := range outcome.Metrics {
		if o := OutcomeOf(m.Name); o.Title != m.Title || o.Sign != m.Sign || o.Events != m.Events || o.Per == "" {
			t.Errorf("outcome %+v, want %+v", o, m)
		}
	}
}
