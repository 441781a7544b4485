package quality

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/analysis/opponents"
	"sill/pipeline/analysis/trend"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// TestCaveats: verdicts on a quality that shifted between two seasons are warned
// of, others are not.
func TestCaveats(t *testing.T) {
	vars, err := shape.Only(shape.Variables, []string{"velocity", "extension"})
	if err != nil {
		t.Fatal(err)
	}
	var names tally.Names
	for i := range 14 {
		names.Pitchers = append(names.Pitchers, pitch.PitcherKey{ID: string(rune('a' + i)), Hand: pitch.RightHand}.String())
	}
	b, err := tally.NewBuilder(vars, nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	var pitches []pitch.Pitch
	for i := range 14 {
		for k := range 80 {
			p := pitch.Pitch{Season: int16(2031 + k%2), Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Batter: -1, Pitcher: int32(i),
				Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.Sinker, Outcome: pitch.Foul}
			for n := range p.Num {
				p.Num[n] = pitch.Missing()
			}
			p.Num[pitch.Velocity], p.Num[pitch.Extension] = 90+.1*float64(i)-1.5*float64(k%2), 6+.01*float64(i+k%3)
			pitches = append(pitches, p)
		}
	}
	if err := b.Add(0, pitches); err != nil {
		t.Fatal(err)
	}
	counts, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	var q Report
	q.Shifts, _ = trend.Seasons(counts)
	q.Offsets = []VenueOffset{ // by .14 + .12 of a limit of 1 on average over all sinkers; by .24 over all sliders
		{Venue: "a", PitchType: "sinker", Variable: "velocity", Offset: 1.4, Limit: 1, Share: .1},
		{Venue: "b", PitchType: "sinker", Variable: "velocity", Offset: -1.2, Limit: 1, Share: .1},
		{Venue: "c", PitchType: "sinker", Variable: "velocity", Offset: 2, Limit: 1, Share: .2},
		{Venue: "a", PitchType: "slider", Variable: "velocity", Offset: 2.4, Limit: 1, Share: .1},
		{Venue: "a", PitchType: "slider", Variable: "horizontal_break", Hand: "left", Offset: 2.4, Limit: 1, Share: .2},
		{Venue: "a", PitchType: "slider", Variable: "horizontal_break", Hand: "right", Offset: -2.4, Limit: 1, Share: .1}}
	faced := []opponents.Faced{{Cell: opponents.Cell{Hand: pitch.LeftHand, Side: pitch.RightSide, Type: pitch.Slider}, Difference: .02, Lo: .01, Hi: .03},
		{Cell: opponents.Cell{Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.Slider}, Difference: .02, Lo: -.01, Hi: .05}}
	want := []locate.Caveat{{Code: locate.WarnOpponents, PitchType: "slider", Hand: "left", Side: "right", Outcome: "whiff_rate"},
		{Code: locate.WarnSeasonShift, PitchType: "sinker", Variable: "velocity"}, {Code: locate.WarnVenueOffset, PitchType: "sinker", Variable: "velocity"},
		{Code: locate.WarnVenueOffset, PitchType: "slider", Variable: "horizontal_break", Hand: "left"}}
	if diff := cmp.Diff(want, q.Caveats(faced)); diff != "" {
		t.Error(diff)
	}
}
