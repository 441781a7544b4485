package pitch

import "testing"

// TestPitcherKey: a key gives back what it was made of, whatever the id holds, and a
// text that was made elsewhere is an id without a hand.
func TestPitcherKey(t *testing.T) {
	for _, id := range []string{"7", "007", "", "a b", "x|left", "x|"} {
		for _, hand := range []Hand{LeftHand, RightHand} {
			if got, h := SplitPitcherKey(PitcherKey(id, hand)); got != id || h != hand {
				t.Errorf("%q, %s: %q, %s", id, hand, got, h)
			}
		}
	}
	for _, text := range []string{"", "7", "7 left", "7|", "7|both", "7|Left"} {
		if id, h := SplitPitcherKey(text); id != text || h != UnknownHand {
			t.Errorf("%q is taken for %q, %s", text, id, h)
		}
	}
}
