package trend

import (
	"math"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
)

// TestSeasons: three seasons, of which the last reads 1.2 mph more of everyone; half of
// the pitchers' sliders are called sweepers from the second on.
func TestSeasons(t *testing.T) {
	const pitchers = 30
	var pitches []pitch.Pitch
	for i := range pitchers {
		for s := range 3 {
			for k := range 100 {
				p := thrown(int32(i), handOf(i, pitchers), sides[k%2], pitch.FourSeam, 93+float64(i%5)+.1*float64(k%9)+.01*float64(i*s%7), pitch.Foul)
				if k%3 == 0 {
					p.Type = pitch.Slider
					if i%2 == 0 && s > 0 {
						p.Type = pitch.Sweeper
					}
				}
				if s == 2 {
					p.Num[pitch.Velocity] += 1.2
				}
				p.Season = int16(2031 + s)
				pitches = append(pitches, p)
			}
		}
	}
	all := count(t, pitchers, pitches, "velocity")
	shifts, relabels := Seasons(all)
	if len(shifts) != 5 { // the sweeper is only in the last two
		t.Fatalf("%d shifts: %+v", len(shifts), shifts)
	}
	for _, s := range shifts {
		want := 0.0
		if s.To == 2033 {
			want = 1.2
		}
		if s.To != s.From+1 || math.Abs(*s.Shift.Shift-want) > .1 || s.Suspect != (want > 0) || s.Moved != 0 {
			t.Errorf("%+v: %.3f", s, *s.Shift.Shift)
		}
	}
	if len(relabels) != 1 || relabels[0] != (Relabel{2031, 2032, "slider", "sweeper", pitchers / 2}) {
		t.Errorf("%+v", relabels)
	}
	one := *all
	one.Cells = nil
	for _, c := range all.Cells {
		if c.Cell.Season == 2032 {
			one.Cells = append(one.Cells, c)
		}
	}
	if shifts, relabels := Seasons(&one); shifts != nil || relabels != nil {
		t.Errorf("one season: %v, %v", shifts, relabels)
	}
	if shifts, _ := Seasons(&tally.Tally{}); shifts != nil {
		t.Errorf("nothing: %v", shifts)
	}
}
