// Package pitch is the vocabulary of sill: what a pitch is, which hands,
// sides, pitch types, outcomes and results there are, and the dictionary of
// canonical columns with their units and physical ranges.
//
// It knows nothing of files, of providers or of statistics. Every word is the
// trade's own, spelled out; a provider's codes are mapped to these words by a
// source profile (package ingest).
//
// # Frame
//
// Positions are in feet: x to the catcher's right, y from the rear tip of home
// plate toward the mound, z up. Arm side is −x for a right-handed pitcher and
// +x for a left-handed one; lateral quantities (break, release side, plate
// side, horizontal approach) are arm-side positive for both hands.
package pitch

import "math"

// PlateFront is the y of the front edge of home plate in feet: the plate is
// 17 inches deep and y counts from its rear tip (Official Baseball Rules 2.02).
const PlateFront = 17.0 / 12

// RubberY is the y of the front of the pitcher's plate in feet
// (60 ft 6 in; Official Baseball Rules 2.01).
const RubberY = 60.5

// Gravity is the acceleration of free fall in ft/s².
const Gravity = 32.174

// Missing marks a number that the source did not give.
func Missing() float64 { return math.NaN() }

// IsMissing tells whether v is the mark of a missing number.
func IsMissing(v float64) bool { return v != v }

// NoDate marks a pitch without a date. Dates count days since 1970-01-01.
const NoDate int32 = math.MinInt32

// Pitch is one pitch in canonical words and units.
//
// Text identities (pitcher, batter, game) are dense indices into the sorted
// name lists that come with the pitches (see ingest.Names), so that a pitch
// holds no pointer and an index depends on the data alone, never on the order
// of files.
type Pitch struct {
	Season  int16
	Date    int32 // days since 1970-01-01, or NoDate
	Game    int32 // index into the sorted game ids, −1 if unknown
	Pitcher int32 // index into the sorted pitcher keys
	Batter  int32 // index into the sorted batter keys, −1 if unknown
	Venue   int32 // index into the sorted venues, −1 if unknown
	Level   int32 // index into the sorted levels, −1 if unknown
	Hand    Hand
	Side    Side
	Type    Type
	Outcome Outcome
	Result  Result // of the plate appearance this pitch ended, else NoResult
	Bunt    Flag   // whether a ball in play was bunted
	// Fielder says that the source marks the pitcher as a position player.
	Fielder Flag
	// Num holds the measured numbers in the dictionary's units, NaN where
	// missing; index it with the Number constants.
	Num [Numbers]float64
}

// Flag is a yes/no answer that may be unknown.
type Flag uint8

// The answers of a Flag.
const (
	Unknown Flag = iota
	No
	Yes
)

// ArmSide returns +1 if arm side is +x (left-handed pitchers) and −1 if it is
// −x (right-handed pitchers); 0 for an unknown hand.
func (h Hand) ArmSide() float64 {
	switch h {
	case LeftHand:
		return 1
	case RightHand:
		return -1
	}
	return 0
}

// Matchup is a pitcher's hand against a batter's side.
type Matchup struct {
	Hand Hand
	Side Side
}

// Matchups lists the four matchups in the order every table uses.
var Matchups = [4]Matchup{
	{LeftHand, LeftSide}, {LeftHand, RightSide}, {RightHand, LeftSide}, {RightHand, RightSide},
}

// MatchupNames returns the names of the matchups in order.
func MatchupNames() []string {
	var out []string
	for _, m := range Matchups {
		out = append(out, m.String())
	}
	return out
}

// String returns "L-v-L", "L-v-R", "R-v-L" or "R-v-R".
func (m Matchup) String() string { return m.Hand.Initial() + "-v-" + m.Side.Initial() }

// Same tells whether the batter stands on the pitcher's own hand.
func (m Matchup) Same() bool { return uint8(m.Hand) == uint8(m.Side) }
