package estimate

import (
	"errors"
	"math"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// swings are n swings of one pitcher at a velocity, the first k of them misses.
func swings(pitcher int32, velocity float64, n, k int) []pitch.Pitch {
	var out []pitch.Pitch
	for i := range n {
		p := blank(pitcher)
		p.Num[pitch.Velocity] = velocity
		p.Outcome = pitch.Foul
		if i < k {
			p.Outcome = pitch.SwingingStrike
		}
		out = append(out, p)
	}
	return out
}

// TestSlopesByHand: three pitchers whose own slope is +.1 a mph each, while the
// harder thrower gets fewer whiffs. The means are 91.5, 93.5 and 95.5 mph with .45,
// .35 and .25 whiffs: −.05 a mph. Of the sum of squares of x, 10 events a place,
// 60·.25 = 15 lies inside pitchers and 20·(4+0+4) = 160 between them. A value of
// unknown velocity and a taken pitch say nothing.
func TestSlopesByHand(t *testing.T) {
	var pitches []pitch.Pitch
	for p, low := range []float64{91, 93, 95} {
		pitches = append(pitches, swings(int32(p), low, 10, 4-p)...)
		pitches = append(pitches, swings(int32(p), low+1, 10, 5-p)...)
	}
	unknown := blank(0)
	unknown.Outcome = pitch.SwingingStrike
	taken := blank(1)
	taken.Num[pitch.Velocity] = 99
	counts := count(t, append(pitches, unknown, taken), tally.Names{Pitchers: []string{"a", "b", "c"}})
	s := slopesOf(t, counts)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"within", s.Within.Value, .1}, {"between", s.Between.Value, -.05}, {"difference", s.Difference.Value, .15},
		{"share between", s.Share, 160. / 175},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
	if s.Within.P > 1e-6 || s.Within.SE > 1e-12 {
		t.Errorf("pitchers of one slope: %+v", s.Within)
	}
}

// TestSlopesWeigh: a pitcher's events in a bin weigh as many as they are, as if each
// were told of alone.
func TestSlopesWeigh(t *testing.T) {
	var pitches []pitch.Pitch
	for p := range 5 {
		for k := range 3 {
			pitches = append(pitches, swings(int32(p), float64(90+p+k*(1+p%2)), 3+7*p+k*k, p+k)...)
		}
	}
	counts := count(t, pitches, tally.Names{Pitchers: []string{"a", "b", "c", "d", "e"}})
	var x, y []float64
	var who []int
	for _, p := range pitches {
		x, who = append(x, p.Num[pitch.Velocity]), append(who, int(p.Pitcher))
		y = append(y, map[pitch.Outcome]float64{pitch.SwingingStrike: 1}[p.Outcome])
	}
	want, err := stats.WithinBetween(x, y, nil, who)
	if err != nil {
		t.Fatal(err)
	}
	got := slopesOf(t, counts)
	for _, c := range []struct {
		what      string
		got, want stats.Slope
	}{{"within", got.Within, want.Within}, {"between", got.Between, want.Between}, {"difference", got.Difference, want.Difference}} {
		if math.Abs(c.got.Value-c.want.Value) > 1e-12 || math.Abs(c.got.SE-c.want.SE) > 1e-12 || math.Abs(c.got.P-c.want.P) > 1e-9 {
			t.Errorf("%s: %+v, want %+v", c.what, c.got, c.want)
		}
	}
}

// TestSlopesWithoutSpread: pitchers who each throw at one speed have no slope.
func TestSlopesWithoutSpread(t *testing.T) {
	var pitches []pitch.Pitch
	for p := range 4 {
		pitches = append(pitches, swings(int32(p), 90+float64(p), 10, p)...)
	}
	counts := count(t, pitches, tally.Names{Pitchers: []string{"a", "b", "c", "d"}})
	e, err := New(t.Context(), counts, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Sample("", 0, 0)
	if err != nil || len(curves) != 1 {
		t.Fatal(len(curves), err)
	}
	if _, err := e.Slopes(curves[0]); !errors.Is(err, stats.ErrNoSpread) {
		t.Errorf("error %v", err)
	}
}

func slopesOf(t *testing.T, counts *tally.Tally) stats.Slopes {
	t.Helper()
	e, err := New(t.Context(), counts, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	curves, err := e.Sample("", 0, 0)
	if err != nil || len(curves) != 1 {
		t.Fatal(len(curves), err)
	}
	s, err := e.Slopes(curves[0])
	if err != nil {
		t.Fatal(err)
	}
	return s
}
