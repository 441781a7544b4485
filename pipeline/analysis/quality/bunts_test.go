package quality

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sill/pipeline/locate"
	"sill/pipeline/pitch"
)

// TestBunts: of 1000 balls in play 9 that may have been bunts are no matter, 10 are;
// catcher interference counts neither among those nor among the balls in play, and other
// cells are not touched. Any number of workers says the same.
func TestBunts(t *testing.T) {
	var pitches []pitch.Pitch
	add := func(n int, typ pitch.Type, bunt pitch.Flag, result pitch.Result) {
		for range n {
			p := ground(0, 0, 90, -5)
			p.Type, p.Outcome, p.Bunt, p.Result = typ, pitch.InPlay, bunt, result
			pitches = append(pitches, p)
		}
	}
	add(990, pitch.Sinker, pitch.No, pitch.Out)
	add(10, pitch.Sinker, pitch.Unknown, pitch.Out)
	add(500, pitch.Sinker, pitch.No, pitch.CatcherInterference)
	add(991, pitch.Slider, pitch.No, pitch.Out)
	add(9, pitch.Slider, pitch.Unknown, pitch.Out)
	add(500, pitch.Slider, pitch.Unknown, pitch.CatcherInterference)
	add(7, pitch.UnknownType, pitch.Unknown, pitch.Out)
	add(100, pitch.Cutter, pitch.Unknown, pitch.SacrificeBunt)
	for _, workers := range []int{1, 3} {
		parts := make([]bunts, workers)
		for i := range pitches {
			if parts[i%workers] == nil {
				parts[i%workers] = bunts{}
			}
			parts[i%workers].add(pitches[i : i+1])
		}
		want := []locate.Caveat{{Code: locate.WarnBunts, PitchType: "sinker", Hand: "right", Side: "right", Outcome: "whiff_rate"}}
		all := bunts{}
		for i := range parts {
			all.join(parts[i])
		}
		q := Report{bunted: all.caveats()}
		if diff := cmp.Diff(want, q.Caveats(nil)); diff != "" || len(buntWarnings(q.bunted, 10)) != 1 {
			t.Errorf("%d workers: %s", workers, diff)
		}
	}
	if none := (bunts{}).caveats(); none != nil || buntWarnings(none, 0) != nil {
		t.Errorf("%+v", none)
	}
}
