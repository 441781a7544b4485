package demo

import "sill/pipeline/pitch"

// GameKind is the kind of a game.
type GameKind uint8

// The kinds of games: only regular games count.
const (
	Regular GameKind = iota
	Spring
	Exhibition
)

// Blemish is what a provider gets wrong about a pitch. The season decides it,
// not the file, so that two providers of the same season agree.
type Blemish uint8

// The blemishes. Each pitch has at most one.
const (
	Clean        Blemish = iota
	Untracked            // no measurement at all; the outcome is known
	Repeated             // the row stands twice, byte for byte
	Conflicting          // a second row with the same key says something else
	TooFast              // a speed no arm can reach
	NotANumber           // a measurement that is NaN
	Endless              // a measurement that is infinite
	Handless             // the throwing hand is missing
	Untyped              // the pitch type is missing
	StanceUnread         // a switch hitter's side of this pitch is missing
)

// Blemishes is the number of kinds of blemishes, Clean included.
const Blemishes = 10

var blemishNames = [Blemishes]string{"clean", "untracked", "repeated", "conflicting", "too_fast",
	"not_a_number", "endless", "handless", "untyped", "stance_unread"}

// String returns the name of the blemish.
func (b Blemish) String() string { return blemishNames[b] }

// Thrown is one row of the season's record: a pitch, or a plate appearance
// that ended without one (Outcome NoPitch).
type Thrown struct {
	Season     int
	Day        int32 // days since 1970-01-01
	Game       int32 // number of the game within the season, spring games first
	Kind       GameKind
	Home, Away int // indices into Scenario.Clubs
	// Pitcher and Batter are the players' numbers (see ID).
	Pitcher, Batter int64
	Fielder         bool // a position player pitches
	Hand            pitch.Hand
	Side            pitch.Side // of this pitch, resolved
	Switch          bool       // the batter is a switch hitter
	Type            pitch.Type
	Outcome         pitch.Outcome
	Result          pitch.Result // on the plate appearance's last row, else NoResult
	Bunt            bool         // a ball in play that was bunted
	Blemish         Blemish
	Out             int // outs made on this row
	Runs            int // runs scored on this row
	// Num holds the measured numbers as package pitch defines them, unrounded:
	// the trajectory in the catcher's frame at y = 50 ft, breaks and other
	// lateral numbers arm-side positive, and the state before the pitch. All
	// but the state is NaN where no pitch was thrown.
	Num     [pitch.Numbers]float64
	Neutral float64 // height-neutral vertical approach angle, deg

	// The truth. SwingChance is the probability of a swing (bunt attempts are
	// none) and WhiffChance that of a whiff given a swing. EndChance is the
	// probability that the pitch ends a plate appearance that wOBA counts and
	// EndValue the expected linear weight if it does.
	SwingChance, WhiffChance, EndChance, EndValue float64
}

// Value returns a quality of the pitch.
func (t *Thrown) Value(q Quality) float64 {
	switch q {
	case NeutralApproachAngle:
		return t.Neutral
	case PlateShare:
		return (t.Num[pitch.PlateHeight] - t.Num[pitch.ZoneBottom]) / (t.Num[pitch.ZoneTop] - t.Num[pitch.ZoneBottom])
	}
	return t.Num[qualityInfo[q].Number]
}

// Matchup returns the matchup of the pitch.
func (t *Thrown) Matchup() pitch.Matchup { return pitch.Matchup{Hand: t.Hand, Side: t.Side} }
