package quality

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// ground is a pitch of one pitcher at a venue.
func ground(pitcher, venue int, mph, angle float64) pitch.Pitch {
	p := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: int32(venue), Level: -1, Batter: -1, Pitcher: int32(pitcher),
		Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.Sinker, Outcome: pitch.Ball}
	for n := range p.Num {
		p.Num[n] = pitch.Missing()
	}
	p.Num[pitch.Velocity], p.Num[pitch.VerticalApproachAngle] = mph, angle
	return p
}

func groundVariables(t *testing.T) []shape.Variable {
	t.Helper()
	vars, err := shape.Only(shape.Variables, []string{"velocity", "vertical_approach_angle", "extension"})
	if err != nil {
		t.Fatal(err)
	}
	return vars
}

// TestVenueWeights: by hand. Differences +1 and +4 at weights 1·1/2 and 3·1/4 make
// (0.5·1 + 0.75·4) ÷ 1.25 = 2.8, an error of √(2·(0.9² + 0.9²)) ÷ 1.25 = 1.44 and
// 1.25² ÷ (0.5² + 0.75²) = 1.923 pitchers.
func TestVenueWeights(t *testing.T) {
	mean, se, effective := weighted([]change{{0, .5, .5}, {1, .75, 3}})
	if math.Abs(mean-2.8) > 1e-12 || math.Abs(se-1.44) > 1e-12 || math.Abs(effective-1.5625/.8125) > 1e-12 {
		t.Errorf("%g, %g, %g", mean, se, effective)
	}
}

// TestVenueOffsets plants 1.6 mph at one of six venues, where an angle of 0.1 deg stays
// below its limit: the venue is named, on any number of workers, and no other is. The
// home club's pitchers throw half of their pitches there and are faster than the others,
// which a comparison of venues alone would take for an offset.
func TestVenueOffsets(t *testing.T) {
	const clubs, staff = 6, 12
	names := []string{"a", "b", "c", "d", "e", "f"}
	rng := rand.New(rand.NewPCG(3, 4))
	var pitches []pitch.Pitch
	for i := range clubs * staff {
		home := i % clubs
		own := 88 + 3*float64(home) + rng.NormFloat64()
		for k := range 100 {
			at := home
			if k%2 == 1 {
				at = rng.IntN(clubs)
			}
			mph, angle := own+rng.NormFloat64(), -5+.5*rng.NormFloat64()
			if at == 2 {
				mph, angle = mph+1.6, angle+.1
			}
			pitches = append(pitches, ground(i, at, mph, angle))
		}
	}
	var want []VenueOffset
	for _, workers := range []int{1, 3} {
		v := newVenues(workers, groundVariables(t))
		for i, batch := range slices.Collect(slices.Chunk(pitches, 97)) {
			v.add(i%workers, batch)
		}
		got, judged := v.offsets(names)
		if len(got) != 1 || judged != 2*clubs || got[0].Venue != "c" || got[0].Variable != "velocity" || got[0].PitchType != "sinker" || math.Abs(got[0].Offset-1.6) > 4*got[0].Error || math.Abs(got[0].Share-1./clubs) > .01 || got[0].Pitchers <= staff {
			t.Fatalf("%d judged, %+v", judged, got)
		}
		if want == nil {
			want = got
		} else if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%d workers: %s", workers, diff)
		}
	}
	if w := venueWarnings(want); len(w) != 1 || w[0].Code != locate.WarnVenueOffset {
		t.Errorf("%+v", w)
	}
}

// TestVenueSideways plants an instrument at one of four venues that reads breaks 1.5 in
// further to the catcher's right. As many left- as right-handers throw, so that hands
// together it would cancel; it is named for both, with opposite signs, and says the way
// the catcher sees it. Nothing else is named.
func TestVenueSideways(t *testing.T) {
	const staff = 80
	names := []string{"a", "b", "c", "d"}
	rng := rand.New(rand.NewPCG(7, 8))
	vars, err := shape.Only(shape.Variables, []string{"velocity", "horizontal_break", "horizontal_approach_angle"})
	if err != nil {
		t.Fatal(err)
	}
	v := newVenues(1, vars)
	for i := range staff {
		hand := pitch.LeftHand + pitch.Hand(i%2)
		own := 14 + 2*rng.NormFloat64()
		for range 120 {
			p := ground(i, rng.IntN(len(names)), 91+rng.NormFloat64(), -5)
			p.Hand = hand
			p.Num[pitch.HorizontalBreak], p.Num[pitch.HorizontalApproachAngle] = own+2*rng.NormFloat64(), 1+.8*rng.NormFloat64()
			if p.Venue == 1 {
				p.Num[pitch.HorizontalBreak] += hand.ArmSide() * 1.5
			}
			v.add(0, []pitch.Pitch{p})
		}
	}
	got, judged := v.offsets(names)
	if judged != (1+2+2)*len(names) || len(got) != 2 {
		t.Fatalf("%d judged, %+v", judged, got)
	}
	for i, o := range got {
		hand := pitch.LeftHand + pitch.Hand(i)
		if o.Venue != "b" || o.Variable != "horizontal_break" || o.Hand != hand.String() || math.Abs(o.Offset-hand.ArmSide()*1.5) > 4*o.Error || o.Pitchers != staff/2 {
			t.Errorf("%+v", o)
		}
		if w := whither(o.Hand, o.Offset); w != " to the catcher's right, "+o.Hand+"-handers' arm side positive," {
			t.Errorf("%q", w)
		}
	}
	if whither("", 1) != "" || whither("right", 1) != " to the catcher's left, right-handers' arm side positive," {
		t.Error("the other way")
	}
}

// TestVenuesAlike: without an offset few seasons in forty name a venue, although 40 × 36
// comparisons are made at errors near half the angle's limit.
func TestVenuesAlike(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var names []string
	for i := range 18 {
		names = append(names, fmt.Sprint(i))
	}
	named := 0
	for range 40 {
		v := newVenues(1, groundVariables(t))
		for i := range 60 {
			own := 90 + 2*rng.NormFloat64()
			for range 60 {
				v.add(0, []pitch.Pitch{ground(i, rng.IntN(len(names)), own+3*rng.NormFloat64(), -5+1.5*rng.NormFloat64())})
			}
		}
		if got, judged := v.offsets(names); len(got) > 0 {
			named++
		} else if judged != 2*len(names) {
			t.Fatalf("%d judged", judged)
		}
	}
	if named > 7 { // P(more than 7 of 40 at .05) = 0.0008
		t.Errorf("%d of 40 seasons name a venue", named)
	}
}
