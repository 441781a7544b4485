package demo

import (
	"fmt"
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// Scenario is the structure of an invented league: what its pitchers throw and
// which breakpoints are planted. It is data; the seed that draws the people
// and the games is in [Options].
type Scenario struct {
	Name  string // short, as in Options.League
	Title string
	Clubs []string
	// Turn is the league's place, from 0, where numbers are dealt to its players: no part
	// of its structure.
	Turn int `json:"-"`
	// Pitchers is the number of pitchers in a season, position players aside;
	// LeftShare is the share of them who throw with the left hand.
	Pitchers  int
	LeftShare float64
	Pitches   int // default number of regular-season pitches
	FirstYear int
	// FastballSpeed is the mean four-seam velocity by hand (left, right), mph.
	FastballSpeed [2]float64
	// PitcherSpread, RepertoireSpread and BatterSpread are the standard
	// deviations of the random effects on the logit of a whiff: of a pitcher,
	// of one pitcher's pitch type, and of a batter.
	PitcherSpread, RepertoireSpread, BatterSpread float64
	Kinds                                         []Kind
	Effects                                       []Effect
}

// Kind describes how a league throws one pitch type.
type Kind struct {
	Type pitch.Type
	// Popularity orders the types in a repertoire; Usage is the share of
	// pitches; SameSide and OppositeSide multiply it by matchup.
	Popularity, Usage, SameSide, OppositeSide float64
	// SpeedGap is velocity minus four-seam velocity, mph; Rise and Run are the
	// mean induced vertical and arm-side horizontal break, in.
	SpeedGap, Rise, Run float64
	// Between and Within are standard deviations between pitchers and within
	// one pitcher of velocity (mph), rise and run (in).
	Between, Within [3]float64
	Spin            float64 // mean spin rate, rpm
	// AimSide (arm side positive) and AimHeight are where it is aimed, ft.
	AimSide, AimHeight float64
	// Miss is the logit of a whiff by matchup (pitch.Matchups order) on an
	// average pitch; Lift is the change of that logit per foot of height.
	Miss [4]float64
	Lift float64
	// Hit shifts how hard it is hit, by matchup.
	Hit [4]float64
}

// Quality is a quality of a pitch that effects may be planted on.
type Quality uint8

// The qualities, named as the shape variables are.
const (
	Velocity Quality = iota
	InducedVerticalBreak
	HorizontalBreak
	VerticalApproachAngle
	NeutralApproachAngle
	HorizontalApproachAngle
	ReleaseHeight
	ReleaseSide
	Extension
	SpinRate
	PlateShare // height at the plate as a share of the batter's zone: 0 bottom, 1 top
	PlateSide
	ArmSlot
	Qualities int = iota
)

// qualityInfo gives each quality its name, unit, the width of the bins it is
// usually counted in, the range in which the estimand is measured, and the number
// that it is, where it is one.
var qualityInfo = [Qualities]struct {
	Name, Unit    string
	Width, Lo, Hi float64
	Number        pitch.Number
}{
	{"velocity", "mph", 1, 60, 106, pitch.Velocity},
	{"induced_vertical_break", "in", 1, -28, 32, pitch.InducedVerticalBreak},
	{"horizontal_break", "in", 1, -32, 32, pitch.HorizontalBreak},
	{"vertical_approach_angle", "deg", .25, -18, 2, pitch.VerticalApproachAngle},
	{"neutral_approach_angle", "deg", .25, -16, 0, pitch.NoNumber},
	{"horizontal_approach_angle", "deg", .5, -12, 12, pitch.HorizontalApproachAngle},
	{"release_height", "ft", .2, 3, 9, pitch.ReleaseHeight},
	{"release_side", "ft", .2, -2, 6, pitch.ReleaseSide},
	{"extension", "ft", .2, 4, 9, pitch.Extension},
	{"spin_rate", "rpm", 100, 300, 3700, pitch.SpinRate},
	{"plate_height", "", .1, -3, 4, pitch.NoNumber},
	{"plate_side", "ft", .2, -5, 5, pitch.PlateSide},
	{"arm_slot", "deg", 5, -15, 90, pitch.ArmAngle},
}

// String returns the name of the quality.
func (q Quality) String() string { return qualityInfo[q].Name }

// Unit returns the unit of the quality.
func (q Quality) Unit() string { return qualityInfo[q].Unit }

// Outcome tells which response an effect acts on.
type Outcome uint8

// The responses.
const (
	Whiff   Outcome = iota // logit of a whiff, given a swing
	Contact                // how hard a ball in play is hit
)

// Form is the shape of a planted effect.
type Form uint8

// The forms, all smooth and all 0 at the planted breakpoint.
const (
	// Climb is Amount·(logistic((x−At)/Spread) − ½): it changes by Amount in
	// all, mostly within two Spreads of At.
	Climb Form = iota
	// Hinge is flat below At and then changes by Amount per unit:
	// Amount·Spread·(log(1+exp((x−At)/Spread)) − log 2).
	Hinge
	// Band is Amount·(exp(−½((x−At)/Spread)²) − ½): a bump, or with a negative
	// Amount a dead zone, with breakpoints at At ± 1.177·Spread.
	Band
)

var formNames = [...]string{"climb", "hinge", "band"}

// Matchups is a set of matchups, one bit each in pitch.Matchups order.
type Matchups uint8

// The single matchups and the usual unions.
const (
	LvL Matchups = 1 << iota
	LvR
	RvL
	RvR
	Left   = LvL | LvR
	Right  = RvL | RvR
	Same   = LvL | RvR
	Oppose = LvR | RvL
	All    = Left | Right
)

// Effect is one planted dependence of an outcome on a quality.
type Effect struct {
	Type     pitch.Type
	Matchups Matchups
	Quality  Quality
	Outcome  Outcome
	Form     Form
	At       float64 // the planted breakpoint, in the quality's unit
	Spread   float64 // how gradual it is, in the quality's unit
	Amount   float64
}

// Value returns the effect at x.
func (e Effect) Value(x float64) float64 {
	u := (x - e.At) / e.Spread
	switch e.Form {
	case Climb:
		return e.Amount * (logistic(u) - .5)
	case Hinge:
		return e.Amount * e.Spread * (math.Log1p(math.Exp(-math.Abs(u))) + max(u, 0) - math.Ln2)
	default:
		return e.Amount * (math.Exp(-u*u/2) - .5)
	}
}

// Breakpoints returns where the effect is 0: what was planted, which is not
// where E[outcome | quality] crosses a line (see [Truth]).
func (e Effect) Breakpoints() []float64 {
	if e.Form != Band {
		return []float64{e.At}
	}
	half := e.Spread * math.Sqrt(2*math.Ln2)
	return []float64{e.At - half, e.At + half}
}

// Shifted returns the scenario with every effect on a quality of one pitch type
// in the given matchups moved by so many units.
func (s Scenario) Shifted(t pitch.Type, m Matchups, q Quality, by float64) Scenario {
	s.Effects = slices.Clone(s.Effects)
	for i := range s.Effects {
		if e := &s.Effects[i]; e.Type == t && e.Quality == q && e.Matchups&m == e.Matchups {
			e.At += by
		}
	}
	return s
}

// Find returns the scenario of a league's name: "lantern" (the default, also
// ""), "kestrel" (also "second") or "facts".
func Find(league string) (Scenario, error) {
	switch league {
	case "", "lantern":
		return Lantern(), nil
	case "kestrel", "second":
		return Kestrel(), nil
	case "facts":
		return TradeFacts(), nil
	}
	return Scenario{}, fmt.Errorf("find demo league %q: the leagues are lantern, kestrel and facts", league)
}

func logistic(u float64) float64 { return 1 / (1 + math.Exp(-u)) }
