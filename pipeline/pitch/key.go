package pitch

import "strings"

// PitcherKey is the identity of a pitcher in all tables: the canonical id and the
// throwing hand, so that a pitcher who throws with both hands is two. Tables and
// files hold it as text, which String alone writes and ParsePitcherKey alone reads.
type PitcherKey struct {
	ID   string
	Hand Hand
}

// keySeparator stands between the id and the hand in a key's text.
const keySeparator = "|"

// String returns the key as tables hold it; of an unknown hand, the id alone.
func (k PitcherKey) String() string {
	if k.Hand == UnknownHand {
		return k.ID
	}
	return k.ID + keySeparator + k.Hand.String()
}

// ParsePitcherKey reads what String wrote. A text that names no hand is an id of
// unknown hand.
func ParsePitcherKey(text string) PitcherKey {
	if i := strings.LastIndex(text, keySeparator); i >= 0 {
		if h, err := ParseHand(text[i+len(keySeparator):]); err == nil {
			return PitcherKey{text[:i], h}
		}
	}
	return PitcherKey{ID: text}
}
