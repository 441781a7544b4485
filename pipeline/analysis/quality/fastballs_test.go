package quality

import (
	"math"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// TestSlowFastballs: of 31 pitchers at 80, 81 … 110 mph the median is 95 and the
// median distance from it 8, so four SD are 4 × 8 ÷ 0.6745 = 47.4 mph: 47 mph is far
// below and 48 is not. Bins' middles add half a mph everywhere.
func TestSlowFastballs(t *testing.T) {
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		t.Fatal(err)
	}
	var names tally.Names
	var pitches []pitch.Pitch
	throw := func(name string, n int, mph float64, typ pitch.Type) {
		for k := range n {
			p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Batter: -1, Pitcher: int32(len(names.Pitchers)),
				Hand: pitch.RightHand, Side: []pitch.Side{pitch.LeftSide, pitch.RightSide}[k%2], Type: typ, Outcome: pitch.Ball}
			for n := range p.Num {
				p.Num[n] = pitch.Missing()
			}
			p.Num[pitch.Velocity] = mph
			pitches = append(pitches, p)
		}
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: name, Hand: pitch.RightHand}.String())
	}
	for i := range 31 {
		throw(string(rune('A'+i)), 50, 80+float64(i), pitch.FourSeam)
	}
	throw("few", 4, 40, pitch.FourSeam)
	throw("fielder", 5, 47, pitch.FourSeam)
	throw("gentle", 49, 48, pitch.FourSeam)
	throw("slow", 49, 40, pitch.Slider)
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	counts, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	got := slowFastballs(counts)
	if len(got) != 1 {
		t.Fatalf("found %+v", got)
	}
	s, sd := got[0], 8/.6745
	if s.Pitcher != "fielder|right" || s.PitchType != "four_seam" || s.Pitches != 5 || s.Mean != 47.5 || s.League != 95.5 ||
		math.Abs(s.SD-sd) > 1e-12 || math.Abs(s.Below-48/sd) > 1e-12 {
		t.Errorf("found %+v", s)
	}
	if w := slowWarning(got); len(w) != 1 || w[0].Code != slowFastballCode || slowWarning(nil) != nil {
		t.Errorf("warned %+v", w)
	}
}
