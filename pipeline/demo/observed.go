package demo

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// Observer turns the rows of a scenario's first season into pitches as a reader
// of its files gets them: rounded and spoiled as the provider does, without the
// rows that a reader sets aside or refuses. It saves studies of many seasons the
// way through Parquet.
type Observer struct {
	// Pitchers, Batters and Games are the names that pitches index, sorted. They
	// may hold more than a season shows.
	Pitchers, Batters, Games []string

	pitchers, batters []int32 // places of the slots' players in these
}

// fewestPitches is below the mean number of pitches of any season's games.
const fewestPitches = 150

// NewObserver names all who can appear in a first season of so many pitches, 0
// for the scenario's own number.
func NewObserver(s *Scenario, pitches int) *Observer {
	if pitches == 0 {
		pitches = s.Pitches
	}
	o := &Observer{}
	o.Pitchers, o.pitchers = sorted(s.Pitchers, func(slot int) string {
		return pitch.PitcherKey{ID: ID(s.number(slot, 0)), Hand: handOf(s, slot)}.String()
	})
	o.Batters, o.batters = sorted(len(s.Clubs)*battersPerClub, func(slot int) string { return ID(firstBatter + s.number(slot, 0)) })
	for game := range springGames + block + pitches/fewestPitches {
		o.Games = append(o.Games, gameCode(s, s.FirstYear, int32(game)))
	}
	return o
}

// sorted lists the names of so many slots' players, and where each slot's stands.
func sorted(slots int, name func(slot int) string) (names []string, at []int32) {
	for slot := range slots {
		names = append(names, name(slot))
	}
	slices.Sort(names)
	for slot := range slots {
		i, _ := slices.BinarySearch(names, name(slot))
		at = append(at, int32(i))
	}
	return names, at
}

// steps are how many steps of the provider's rounding make one of its units, of
// which scale canonical ones make one.
var steps = [...]struct {
	number         pitch.Number
	scale, perUnit float64
}{
	{pitch.Velocity, 3600. / 5280, 100},
	{pitch.InducedVerticalBreak, 12, 1000}, {pitch.HorizontalBreak, 12, 1000},
	{pitch.VerticalApproachAngle, 1, 100}, {pitch.HorizontalApproachAngle, 1, 100},
	{pitch.ReleaseHeight, 1, 100}, {pitch.ReleaseSide, 1, 100}, {pitch.Extension, 1, 100},
	{pitch.SpinRate, 1, 1}, {pitch.SpinAxis, 1, 1}, {pitch.ArmAngle, 1, 10},
	{pitch.PlateHeight, 1, 100}, {pitch.PlateSide, 1, 100},
	{pitch.ZoneTop, 1, 100}, {pitch.ZoneBottom, 1, 100}, {pitch.PitcherHeight, 1, 100},
}

// Observe writes a row to p; false where a reader gets no pitch of it.
func (o *Observer) Observe(t *Thrown, p *pitch.Pitch) bool {
	if t.Kind != Regular || t.Fielder {
		return false
	}
	switch t.Outcome {
	case pitch.NoPitch, pitch.AutomaticBall, pitch.AutomaticStrike:
		return false
	}
	switch t.Blemish {
	case Conflicting, TooFast, Endless, Handless:
		return false
	}
	*p = pitch.Pitch{Season: int16(t.Season), Date: t.Day, Game: t.Game, Venue: -1, Level: -1,
		Pitcher: o.pitchers[slotOf(t.Pitcher)], Batter: o.batters[slotOf(t.Batter)],
		Hand: t.Hand, Side: t.Side, Type: t.Type, Outcome: t.Outcome, Result: t.Result,
		Bunt: pitch.No, Fielder: pitch.No, Num: t.Num}
	if t.Bunt {
		p.Bunt = pitch.Yes
	}
	for _, s := range steps {
		x := math.Round(p.Num[s.number]/s.scale*s.perUnit) / s.perUnit
		p.Num[s.number] = x * s.scale
	}
	missing := func(from, to pitch.Number) {
		for n := from; n <= to; n++ {
			p.Num[n] = pitch.Missing()
		}
	}
	if date(t.Day).Month() >= changeMonth {
		missing(pitch.ArmAngle, pitch.ArmAngle)
	}
	switch t.Blemish {
	case Untyped:
		p.Type = pitch.UnknownType
	case NotANumber:
		missing(pitch.Velocity, pitch.Velocity)
	case Untracked:
		missing(pitch.Velocity, pitch.PlateSide)
		missing(pitch.PositionX, pitch.AccelerationZ)
	}
	return true
}
