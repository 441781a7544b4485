package pitch

import "strings"

// keySeparator stands between the id and the hand in a pitcher's key.
const keySeparator = "|"

// PitcherKey is the identity of a pitcher in all tables: the canonical id and the
// throwing hand, so that a pitcher who throws with both hands is two. Every key is
// made here, in tests and studies too: what reads a key would take another form for
// something else.
func PitcherKey(id string, h Hand) string { return id + keySeparator + h.String() }

// SplitPitcherKey returns what PitcherKey was given. A text that is no such key is
// an id of unknown hand.
func SplitPitcherKey(key string) (id string, h Hand) {
	if i := strings.LastIndex(key, keySeparator); i >= 0 {
		if h, err := ParseHand(key[i+len(keySeparator):]); err == nil {
			return key[:i], h
		}
	}
	return key, UnknownHand
}
