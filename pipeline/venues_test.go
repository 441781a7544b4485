package pipeline

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
		if len(got) != 1 || judged != 2*clubs || got[0].Venue != "c" || got[0].Variable != "velocity" || got[0].PitchType != "sinker" || math.Abs(got[0].Offset-1.6) > 4*got[0].Error || got[0].Pitchers <= staff {
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
