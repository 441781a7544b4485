package trend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sill/pipeline/pitch"
	"sill/stats"
)

// TestPersist plants how far pitchers differ, and holds what is told of it against
// what two halves of one season say of each other.
func TestPersist(t *testing.T) {
	// Speeds differ by 2 mph between pitchers of a hand and by .8 mph in one: 1/6.25 of
	// a swing is half. Whiffs differ by .06 about .25: .1875/.0036 − 1 = 51 swings. The
	// platoon gap differs by .08: 4·.1875/.0064 = 117 swings.
	const pitchers, swings = 200, 120
	rng := rand.New(rand.NewPCG(8, 1))
	var halves [2][]pitch.Pitch
	for i := range pitchers {
		hand := handOf(i, pitchers)
		mean, skill, gap := 93+2*rng.NormFloat64(), .25+.06*rng.NormFloat64(), .08*rng.NormFloat64()
		if hand == pitch.LeftHand {
			mean -= 3 // hands differ: no part of what tells pitchers apart
		}
		for k := range 2 * swings {
			side := sides[k/2%2]
			p := thrown(int32(i), hand, side, pitch.FourSeam, mean+.8*rng.NormFloat64(), pitch.Foul)
			own := -gap / 2
			if side == pitch.LeftSide == (hand == pitch.LeftHand) {
				own = gap / 2
			}
			if rng.Float64() < skill+own {
				p.Outcome = pitch.SwingingStrike
			}
			halves[k%2] = append(halves[k%2], p)
		}
	}
	rows := Persist(Window{Tally: count(t, pitchers, halves[0], "velocity")}, scoring)
	find := func(kind, name string) Persistence {
		return rows[slices.IndexFunc(rows, func(p Persistence) bool { return p.Kind == kind && p.Name == name })]
	}
	for _, c := range []struct {
		p           Persistence
		half, slack float64
	}{
		{find(OfQuality, "velocity"), .16, .15}, {find(OfOutcome, "whiff_rate"), 51, .4}, {find(OfGap, "whiff_rate"), 117, .6},
	} {
		if got := *c.p.Half; math.Abs(got/c.half-1) > c.slack || *c.p.HalfLo > c.half || *c.p.HalfHi < c.half || c.p.Pitchers != pitchers || c.p.Typical != swings {
			t.Errorf("%s %s: %.2f (%.2f to %.2f) of %d pitchers with %v, want %.2f", c.p.Kind, c.p.Name, got, *c.p.HalfLo, *c.p.HalfHi, c.p.Pitchers, c.p.Typical, c.half)
		}
	}
	if p := find(OfOutcome, "woba_against"); p.Half != nil || p.Pitchers != 0 {
		t.Errorf("without results: %+v", p)
	}
	// The correlation of two halves is the reliability of either.
	var rates [2][]float64
	for h := range halves {
		w := Window{Tally: count(t, pitchers, halves[h], "velocity")}
		vars, _ := shared(&w, &w)
		records := gather(&w, 0, vars, &scoring)
		for i := range pitchers {
			hand := handOf(i, pitchers)
			r := records[thrower{w.Tally.Pitchers[i], hand, pitch.FourSeam}]
			a, b := r.outcomes[pitch.LeftSide][0], r.outcomes[pitch.RightSide][0]
			rates[h] = append(rates[h], (a.x+b.x)/(a.n+b.n))
		}
	}
	told := find(OfOutcome, "whiff_rate")
	if r := stats.Correlation(rates[0], rates[1]); math.Abs(r-*told.Reliability) > .1 {
		t.Errorf("two halves correlate by %.3f, told is %.3f", r, *told.Reliability)
	}
}

// TestPersistNothing: pitchers who do not differ have no half, and too few none either.
func TestPersistNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	play := func(pitchers int) []Persistence {
		var pitches []pitch.Pitch
		for i := range pitchers {
			for k := range 40 {
				o := pitch.Foul
				if rng.IntN(4) == 0 {
					o = pitch.SwingingStrike
				}
				pitches = append(pitches, thrown(int32(i), handOf(i, pitchers), sides[k%2], pitch.Slider, 84+.8*rng.NormFloat64(), o))
			}
		}
		return Persist(Window{Tally: count(t, pitchers, pitches, "velocity")}, scoring)
	}
	for _, p := range play(60) {
		if p.Name == "woba_against" {
			continue
		}
		if p.Half != nil && *p.Half < 40 || p.HalfLo == nil || *p.HalfLo < 10 || p.HalfHi != nil && *p.HalfHi < 100 {
			t.Errorf("%s %s: %+v", p.Kind, p.Name, p)
		}
	}
	for _, p := range play(8) {
		if p.Half != nil || p.Spread != nil {
			t.Errorf("eight pitchers: %+v", p)
		}
	}
}
