package quality

import (
	"strings"
	"testing"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// tracked is a pitch from 55 ft at 130 ft/s that nothing slows or lifts: from release
// its flight takes (55 − 17/12) ÷ 130 = .41218 s and from y = 50 it takes .37372 s. An
// acceleration of 12 ft/s² to the arm side makes 12.232 in and 10.056 in of that.
func tracked(hand pitch.Hand, kind pitch.Type) pitch.Pitch {
	p := ground(0, 0, 0, pitch.Missing())
	p.Hand, p.Type = hand, kind
	copy(p.Num[pitch.PositionX:], []float64{0, 55, 6, 0, -130, 0, hand.ArmSide() * 12, 0, -pitch.Gravity})
	p.Num[pitch.Extension] = pitch.RubberY - 55
	return p
}

// TestSourceWarnings: breaks that begin at y = 50, said to begin at release, are told by
// pitch type and hand, with unit, direction and what to set; so are a sign that is wrong
// and a speed in another unit. One faulty reading in 400 is no matter.
func TestSourceWarnings(t *testing.T) {
	const fromRelease, from50 = 12.232, 10.056
	base := 130 * 3600. / 5280
	for name, c := range map[string]struct {
		said   shape.Place
		speed  func(i int) float64 // mph
		across func(hand pitch.Hand) float64
		want   []string // of the one warning; nil for none
	}{
		"in order": {shape.AtRelease, nil, func(pitch.Hand) float64 { return fromRelease }, nil},
		"from 50": {shape.AtRelease, nil, func(pitch.Hand) float64 { return from50 },
			[]string{"horizontal_break: 400 of 400 pitches", "by more than 1 in", "sinker left-handed 2.18 in further to the glove side on average (200 of 200)",
				"slider right-handed 2.18 in further to the glove side", "movement_from: 50 fits best (0.00 in off on average) and the profile says release: set it there"}},
		"from 40": {50, nil, func(pitch.Hand) float64 { return 6.343 }, // 72·((40 − 17/12) ÷ 130)²
			[]string{"movement_from: 40 fits best", "the profile says 50"}},
		"mirrored for one hand": {shape.AtRelease, nil, func(h pitch.Hand) float64 { return h.ArmSide() * fromRelease },
			[]string{"200 of 400 pitches", "slider right-handed 24.46 in further to the glove side on average (200 of 200)", "look at the column's unit and at what counts as positive, or leave horizontal_break out of the profile"}},
		"slow": {shape.AtRelease, func(int) float64 { return base / 1.609344 }, nil,
			[]string{"velocity: 400 of 400", "33.56 mph slower", "Look at its unit and at speed_at"}},
		"one reading": {shape.AtRelease, func(i int) float64 {
			if i == 7 {
				return 30
			}
			return base
		}, nil, nil},
	} {
		s := shape.DefaultSource()
		s.MovementFrom, s.MovementTo = c.said, shape.AtPlateFront
		r, err := shape.NewResolver(func(column string) bool {
			return column == "extension" || strings.HasPrefix(column, "position_") || strings.HasPrefix(column, "velocity_") || strings.HasPrefix(column, "acceleration_") ||
				column == "velocity" && c.speed != nil || column == "horizontal_break" && c.across != nil
		}, s)
		if err != nil {
			t.Fatal(err)
		}
		var q shape.Quality
		for i := range 400 {
			p := tracked([]pitch.Hand{pitch.LeftHand, pitch.RightHand}[i%2], []pitch.Type{pitch.Sinker, pitch.Slider}[i%2])
			if c.speed != nil {
				p.Num[pitch.Velocity] = c.speed(i)
			}
			if c.across != nil {
				p.Num[pitch.HorizontalBreak] = c.across(p.Hand)
			}
			if rule := r.Complete(&p, &q); rule != "" {
				t.Fatal(rule)
			}
		}
		got := sourceWarnings(q.Columns(), q.Disagreements(), r)
		if len(got) != min(1, len(c.want)) {
			t.Errorf("%s: %+v", name, got)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(got[0].Detail, w) {
				t.Errorf("%s: %q lacks %q", name, got[0].Detail, w)
			}
		}
	}
}
