package pitch

import "slices"

// Number indexes Pitch.Num.
type Number uint8

// The measured numbers of a pitch, in the dictionary's units.
const (
	Velocity                Number = iota // mph, out of the hand unless the profile says where
	InducedVerticalBreak                  // in, gravity removed, up positive
	HorizontalBreak                       // in, arm side positive
	VerticalApproachAngle                 // deg at the front of the plate, downward negative
	HorizontalApproachAngle               // deg at the front of the plate, arm side positive
	ReleaseHeight                         // ft
	ReleaseSide                           // ft, arm side positive
	Extension                             // ft in front of the rubber
	SpinRate                              // rpm
	SpinAxis                              // deg, 180 = pure backspin
	ArmAngle                              // deg above horizontal
	PlateHeight                           // ft at the front of the plate
	PlateSide                             // ft at the front of the plate, arm side positive
	ZoneTop                               // ft
	ZoneBottom                            // ft
	PitcherHeight                         // ft
	PositionX                             // ft at the stated y, catcher's right positive
	PositionY                             // ft, the stated y
	PositionZ                             // ft
	VelocityX                             // ft/s
	VelocityY                             // ft/s, negative toward the plate
	VelocityZ                             // ft/s
	AccelerationX                         // ft/s²
	AccelerationY                         // ft/s²
	AccelerationZ                         // ft/s², gravity included
	Inning
	Half // 1 = top, 2 = bottom
	PlateAppearance
	PitchNumber
	OutsBefore
	BallsBefore
	StrikesBefore
	Bases // bit 0 first, bit 1 second, bit 2 third
	ScoreDifference
	NeutralApproachAngle     // deg, the vertical approach angle re-aimed to a stated height; no column, always derived
	Numbers              int = iota
)

// NoNumber is the Number of a column that Pitch.Num does not hold.
const NoNumber Number = 0xFF

// Kind is the kind of value a canonical column holds.
type Kind uint8

// The kinds of columns.
const (
	Text     Kind = iota // an identity, compared as canonical text
	Real                 // a measured number with a unit
	Whole                // a counting number
	Day                  // a calendar date
	Category             // one of Words(name)
	YesNo                // a flag
)

// Number tells whether columns of the kind hold numbers.
func (k Kind) Number() bool { return k == Real || k == Whole }

// Dimension is the physical dimension of a number; units convert within one.
type Dimension uint8

// The dimensions.
const (
	Dimensionless Dimension = iota
	Speed                   // mph, km/h, m/s, ft/s
	SmallLength             // in: movement
	Length                  // ft: positions
	Angle                   // deg
	Rotation                // rpm
	Acceleration            // ft/s²
	SpeedFeet               // ft/s: trajectory velocities
)

// Lateral says which way a column's positive values point in the canonical
// frame, for columns whose sign is a convention.
type Lateral uint8

// The lateral frames.
const (
	NotLateral   Lateral = iota
	ArmSideAxis          // canonical: arm side positive
	CatcherXAxis         // canonical: catcher's right positive
)

// Column is one entry of the dictionary.
type Column struct {
	Name      string
	Kind      Kind
	Number    Number // for Real and Whole columns: where Pitch.Num holds it, or NoNumber
	Dimension Dimension
	Unit      string  // canonical unit, "" for none
	Min, Max  float64 // physical range in the canonical unit, inclusive
	Required  bool
	Lateral   Lateral
	Derived   string // how sill derives it where the source leaves it out, "" if it cannot
	Meaning   string
}

// Dictionary lists every canonical column in its documented order.
var Dictionary = []Column{
	{Name: "pitcher", Kind: Text, Required: true, Meaning: "identity of the pitcher"},
	{Name: "hand", Kind: Category, Required: true, Meaning: "hand the pitch was thrown with"},
	{Name: "side", Kind: Category, Required: true, Meaning: "side of the plate the batter stood on for this pitch"},
	{Name: "pitch_type", Kind: Category, Required: true, Meaning: "pitch type: one of these, or one that the profile declares (pitch_types)"},
	{Name: "outcome", Kind: Category, Required: true, Meaning: "what happened on the pitch"},
	{Name: "result", Kind: Category, Meaning: "how the plate appearance ended, with flags where it has some ([strikeout, double_play]); a force out is a fielder's choice; without it there is no wOBA-against"},
	{Name: "batter", Kind: Text, Meaning: "identity of the batter; without it intervals treat pitchers as the only clusters"},
	{Name: "game", Kind: Text, Meaning: "identity of the game; without it duplicates cannot be found and shards cannot be made"},
	{Name: "season", Kind: Whole, Number: NoNumber, Min: 1900, Max: 2200, Derived: "year of the game's first date, else the profile's constant", Meaning: "season the game counts for"},
	{Name: "date", Kind: Day, Meaning: "date of the game"},
	{Name: "game_type", Kind: Text, Meaning: "kind of game (regular season and others); the regular season is used by default where it is mapped"},
	{Name: "level", Kind: Text, Meaning: "level of play"},
	{Name: "venue", Kind: Text, Meaning: "ballpark"},
	{Name: "home_club", Kind: Text, Meaning: "home club"},
	{Name: "away_club", Kind: Text, Meaning: "visiting club"},
	{Name: "inning", Kind: Whole, Number: Inning, Min: 1, Max: 60, Meaning: "inning"},
	{Name: "half", Kind: Whole, Number: Half, Min: 1, Max: 2, Meaning: "half of the inning: 1 top, 2 bottom"},
	{Name: "plate_appearance", Kind: Whole, Number: PlateAppearance, Min: 0, Max: 1e9, Meaning: "number of the plate appearance within the game"},
	{Name: "pitch_number", Kind: Whole, Number: PitchNumber, Min: 0, Max: 1e4, Meaning: "number of the pitch within the plate appearance"},
	{Name: "outs", Kind: Whole, Number: OutsBefore, Min: 0, Max: 2, Meaning: "outs before the pitch"},
	{Name: "balls", Kind: Whole, Number: BallsBefore, Min: 0, Max: 4, Meaning: "balls before the pitch"},
	{Name: "strikes", Kind: Whole, Number: StrikesBefore, Min: 0, Max: 3, Meaning: "strikes before the pitch"},
	{Name: "bases", Kind: Whole, Number: Bases, Min: 0, Max: 7, Meaning: "occupied bases before the pitch: 1 first + 2 second + 4 third"},
	{Name: "score_difference", Kind: Whole, Number: ScoreDifference, Min: -100, Max: 100, Meaning: "batting side's lead in runs before the pitch"},
	{Name: "bunt", Kind: YesNo, Meaning: "whether a ball in play was bunted"},
	{Name: "position_player", Kind: YesNo, Meaning: "whether the pitcher is a position player"},
	{Name: "batter_is_pitcher", Kind: YesNo, Meaning: "whether the batter's own position is pitcher; a designated hitter is none"},
	{Name: "velocity", Kind: Real, Number: Velocity, Dimension: Speed, Unit: "mph", Min: 30, Max: 110, Derived: "speed at release, from the trajectory", Meaning: "pitch speed"},
	{Name: "induced_vertical_break", Kind: Real, Number: InducedVerticalBreak, Dimension: SmallLength, Unit: "in", Min: -40, Max: 40, Derived: "from the trajectory, gravity removed, release to the front of the plate", Meaning: "vertical break with gravity removed, up positive"},
	{Name: "horizontal_break", Kind: Real, Number: HorizontalBreak, Dimension: SmallLength, Unit: "in", Min: -40, Max: 40, Lateral: ArmSideAxis, Derived: "from the trajectory, release to the front of the plate", Meaning: "horizontal break, arm side positive"},
	{Name: "vertical_approach_angle", Kind: Real, Number: VerticalApproachAngle, Dimension: Angle, Unit: "deg", Min: -45, Max: 10, Derived: "from the trajectory at the front of the plate", Meaning: "vertical approach angle, downward negative"},
	{Name: "horizontal_approach_angle", Kind: Real, Number: HorizontalApproachAngle, Dimension: Angle, Unit: "deg", Min: -20, Max: 20, Lateral: ArmSideAxis, Derived: "from the trajectory at the front of the plate", Meaning: "horizontal approach angle, moving toward arm side positive"},
	{Name: "release_height", Kind: Real, Number: ReleaseHeight, Dimension: Length, Unit: "ft", Min: 0, Max: 9, Derived: "from the trajectory at release", Meaning: "height of the release point"},
	{Name: "release_side", Kind: Real, Number: ReleaseSide, Dimension: Length, Unit: "ft", Min: -6, Max: 6, Lateral: ArmSideAxis, Derived: "from the trajectory at release", Meaning: "side of the release point, arm side positive"},
	{Name: "extension", Kind: Real, Number: Extension, Dimension: Length, Unit: "ft", Min: 2, Max: 10, Meaning: "distance of the release point in front of the rubber"},
	{Name: "spin_rate", Kind: Real, Number: SpinRate, Dimension: Rotation, Unit: "rpm", Min: 0, Max: 4500, Meaning: "spin rate"},
	{Name: "spin_axis", Kind: Real, Number: SpinAxis, Dimension: Angle, Unit: "deg", Min: 0, Max: 360, Meaning: "spin axis: 180 is pure backspin, a larger angle turns the break clockwise as the pitcher sees it"},
	{Name: "arm_angle", Kind: Real, Number: ArmAngle, Dimension: Angle, Unit: "deg", Min: -90, Max: 90, Meaning: "angle of the arm above horizontal at release"},
	{Name: "plate_height", Kind: Real, Number: PlateHeight, Dimension: Length, Unit: "ft", Min: -5, Max: 12, Derived: "from the trajectory at the front of the plate", Meaning: "height at the front of the plate"},
	{Name: "plate_side", Kind: Real, Number: PlateSide, Dimension: Length, Unit: "ft", Min: -10, Max: 10, Lateral: ArmSideAxis, Derived: "from the trajectory at the front of the plate", Meaning: "side at the front of the plate, arm side positive"},
	{Name: "zone_top", Kind: Real, Number: ZoneTop, Dimension: Length, Unit: "ft", Min: 2, Max: 5.5, Derived: "3.4 ft, warned", Meaning: "top of the batter's strike zone"},
	{Name: "zone_bottom", Kind: Real, Number: ZoneBottom, Dimension: Length, Unit: "ft", Min: 0.5, Max: 3, Derived: "1.6 ft, warned", Meaning: "bottom of the batter's strike zone"},
	{Name: "pitcher_height", Kind: Real, Number: PitcherHeight, Dimension: Length, Unit: "ft", Min: 4, Max: 8, Meaning: "the pitcher's height"},
	{Name: "position_x", Kind: Real, Number: PositionX, Dimension: Length, Unit: "ft", Min: -10, Max: 10, Lateral: CatcherXAxis, Meaning: "trajectory: x at the stated y"},
	{Name: "position_y", Kind: Real, Number: PositionY, Dimension: Length, Unit: "ft", Min: 1, Max: 61, Meaning: "trajectory: the stated y, often a constant"},
	{Name: "position_z", Kind: Real, Number: PositionZ, Dimension: Length, Unit: "ft", Min: -2, Max: 12, Meaning: "trajectory: z at the stated y"},
	{Name: "velocity_x", Kind: Real, Number: VelocityX, Dimension: SpeedFeet, Unit: "ft/s", Min: -60, Max: 60, Lateral: CatcherXAxis, Meaning: "trajectory: x velocity at the stated y"},
	{Name: "velocity_y", Kind: Real, Number: VelocityY, Dimension: SpeedFeet, Unit: "ft/s", Min: -165, Max: -30, Meaning: "trajectory: y velocity at the stated y, toward the plate negative"},
	{Name: "velocity_z", Kind: Real, Number: VelocityZ, Dimension: SpeedFeet, Unit: "ft/s", Min: -60, Max: 60, Meaning: "trajectory: z velocity at the stated y"},
	{Name: "acceleration_x", Kind: Real, Number: AccelerationX, Dimension: Acceleration, Unit: "ft/s²", Min: -60, Max: 60, Lateral: CatcherXAxis, Meaning: "trajectory: x acceleration"},
	{Name: "acceleration_y", Kind: Real, Number: AccelerationY, Dimension: Acceleration, Unit: "ft/s²", Min: -10, Max: 80, Meaning: "trajectory: y acceleration"},
	{Name: "acceleration_z", Kind: Real, Number: AccelerationZ, Dimension: Acceleration, Unit: "ft/s²", Min: -90, Max: 30, Meaning: "trajectory: z acceleration, gravity included"},
}

// Lookup returns the dictionary's entry of a column name.
func Lookup(name string) (Column, bool) {
	if i := index(name); i >= 0 {
		return Dictionary[i], true
	}
	return Column{}, false
}

// Place returns where a column stands in the dictionary. It panics for a name that
// the dictionary lacks: a column that code names must be an entry there.
func Place(name string) int {
	i := index(name)
	if i < 0 {
		panic("pitch: no column " + name + " in the dictionary")
	}
	return i
}

func index(name string) int {
	return slices.IndexFunc(Dictionary, func(c Column) bool { return c.Name == name })
}

// Names returns the names of all canonical columns in order.
func Names() []string {
	out := make([]string, len(Dictionary))
	for i, c := range Dictionary {
		out[i] = c.Name
	}
	return out
}
