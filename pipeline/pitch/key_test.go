package pitch

import "testing"

// TestPitcherKey: a key gives back what it was made of, whatever the id holds; a
// text that was made elsewhere is an id without a hand, and prints as it stood.
func TestPitcherKey(t *testing.T) {
	for _, id := range []string{"7", "007", "", "a b", "x|left", "x|"} {
		for _, hand := range []Hand{LeftHand, RightHand} {
			key := PitcherKey{ID: id, Hand: hand}
			if got := ParsePitcherKey(key.String()); got != key {
				t.Errorf("%+v is read as %+v", key, got)
			}
		}
	}
	for _, text := range []string{"", "7", "7 left", "7|", "7|both", "7|Left"} {
		if key := ParsePitcherKey(text); key.ID != text || key.Hand != UnknownHand || key.String() != text {
			t.Errorf("%q is taken for %+v", text, key)
		}
	}
	if got := (PitcherKey{ID: "7", Hand: LeftHand}).String(); got != "7|left" {
		t.Errorf("published files hold 7|left, not %s", got)
	}
}
