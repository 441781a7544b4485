package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// TestSpreads plants how far batters and pitchers differ and finds it again.
func TestSpreads(t *testing.T) {
	for _, planted := range []struct{ batters, pitchers float64 }{{0, .3}, {.35, 0}, {.35, .3}} {
		r := rand.New(rand.NewPCG(3, 3))
		const each = 250
		var names tally.Names
		var effect, talent, hit, allow [each]float64
		for i := range each {
			names.Batters, names.Pitchers = append(names.Batters, fmt.Sprintf("b%03d", i)), append(names.Pitchers, fmt.Sprintf("p%03d", i))
			effect[i], talent[i] = planted.batters*r.NormFloat64(), planted.pitchers*r.NormFloat64()
			hit[i], allow[i] = planted.batters*.1*r.NormFloat64(), planted.pitchers*.1*r.NormFloat64()
		}
		b, err := tally.NewBuilder(shape.Variables[:1], nil, names, 1)
		if err != nil {
			t.Fatal(err)
		}
		var pitches []pitch.Pitch
		for range 60_000 {
			p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Pitcher: int32(r.IntN(each)), Batter: int32(r.IntN(each)), Venue: -1, Level: -1,
				Hand: pitch.RightHand, Side: pitch.LeftSide, Type: pitch.Slider, Outcome: pitch.Foul, Bunt: pitch.No}
			for i := range p.Num {
				p.Num[i] = pitch.Missing()
			}
			if r.Float64() < 1/(1+math.Exp(1-effect[p.Batter]-talent[p.Pitcher])) {
				p.Outcome = pitch.SwingingStrike
			} else if p.Outcome, p.Result = pitch.InPlay, pitch.Out; r.Float64() < .35+hit[p.Batter]+allow[p.Pitcher] {
				p.Result = pitch.Single
			}
			if pitches = append(pitches, p); len(pitches) == 8192 {
				if err := b.Add(0, pitches); err != nil {
					t.Fatal(err)
				}
				pitches = pitches[:0]
			}
		}
		counts, err := b.Tally()
		if err != nil {
			t.Fatal(err)
		}
		o := DefaultOptions()
		o.Replicates = 100
		e, err := New(t.Context(), counts, o)
		if err != nil {
			t.Fatal(err)
		}
		got := e.Spreads()
		if len(got) != 4 {
			t.Fatalf("%d spreads, want one for each outcome, of batters and of pitchers", len(got))
		}
		for _, s := range got {
			want := planted.batters
			if s.Of == "pitchers" {
				want = planted.pitchers
			}
			slack := .06
			if s.Outcome == "woba_against" {
				want, slack = want*.1*o.Scoring().Weights.Value[outcome.Single], .015
			}
			if s.SD == nil || math.Abs(*s.SD-want) > slack || s.Clusters != each || s.Events == 0 || s.PitchType != "slider" {
				t.Errorf("planted %+v: %+v, want an SD of %.3f", planted, s, want)
			} else {
				t.Logf("%s %s: SD %.3f, planted %.3f", s.Outcome, s.Of, *s.SD, want)
			}
		}
	}
}

// TestSpreadUnknown: no batters, and too few, give no number.
func TestSpreadUnknown(t *testing.T) {
	few, none := stats.NewSums(minSpreadClusters-1), stats.NewSums(0)
	for i := range few.N {
		few.Add(int32(i), 10, float64(i%3), float64(i%3))
	}
	for name, x := range map[string]*stats.Sums{"none": &none, "few": &few} {
		for i := range outcome.Metrics {
			if s := spreadOf(x, &outcome.Metrics[i], Spread{}); s.SD != nil || s.Mean != nil {
				t.Errorf("%s: %+v", name, s)
			}
		}
	}
}
