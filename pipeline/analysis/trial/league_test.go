package trial

import (
	"fmt"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// swings are swings of one pitcher at one velocity: so many, of which so many
// missed, against one batter (−1: unknown).
type swings struct {
	pitcher, batter int32
	mph             float64
	n, whiffs       int
	ended, walks    int // plate appearances that end with the last of them, and of those walks; the rest are outs
}

// counted tallies left-handed four-seamers against left-handed batters; by
// velocity in bins, or exactly by the bounds of claims.
func counted(t *testing.T, rows []swings, claims ...Claim) *tally.Tally {
	t.Helper()
	names := tally.Names{}
	for i := range 300 {
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%03d", i), Hand: pitch.LeftHand}.String())
		names.Batters = append(names.Batters, fmt.Sprintf("b%03d", i))
	}
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		t.Fatal(err)
	}
	if claims != nil {
		vars = Exactly(claims, vars)
	}
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	var pitches []pitch.Pitch
	for _, r := range rows {
		for i := range r.n {
			p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: r.pitcher, Batter: r.batter,
				Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			if i < r.whiffs {
				p.Outcome = pitch.SwingingStrike
			}
			switch {
			case i >= r.n-r.walks:
				p.Outcome, p.Result = pitch.Ball, pitch.Walk
			case i >= r.n-r.ended:
				p.Outcome, p.Result = pitch.InPlay, pitch.Out
			}
			for k := range p.Num {
				p.Num[k] = pitch.Missing()
			}
			p.Num[pitch.Velocity] = r.mph
			pitches = append(pitches, p)
		}
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

func league(t *tally.Tally) League {
	return League{Name: "harbour", Tally: t, Batters: true, Scoring: outcome.Scoring{Weights: outcome.TheBook()}}
}

// fast claims that left-handed four-seamers do better against left-handed batters
// in a region.
func fast(r Region) Claim {
	return Claim{Type: pitch.FourSeam, Hand: pitch.LeftHand, Side: pitch.LeftSide, Variable: "velocity", Region: r, Smallest: .02}
}

func atLeast(a float64) Region { return Region{Kind: AtLeast, A: a} }
