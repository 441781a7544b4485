package demo

import "sill/pipeline/pitch"

// kinds are the pitch types as every invented league throws them, before a
// league's own changes. The averages are near the usual professional ones
// (common practice, no source). The first two are the fastballs a repertoire
// may be built on.
func kinds() []Kind {
	return []Kind{
		{Type: pitch.FourSeam, Popularity: .85, Usage: .40, SameSide: .95, OppositeSide: 1.05,
			SpeedGap: 0, Rise: 15.6, Run: 7.5, Between: [3]float64{.4, 1.9, 2.6}, Within: [3]float64{1.0, 1.5, 1.9},
			Spin: 2290, AimSide: 0, AimHeight: 2.75, Miss: [4]float64{-1.40, -1.45, -1.45, -1.40}, Lift: .42},
		{Type: pitch.Sinker, Popularity: .50, Usage: .32, SameSide: 1.25, OppositeSide: .75,
			SpeedGap: -.8, Rise: 8.2, Run: 14.8, Between: [3]float64{.5, 2.4, 2.0}, Within: [3]float64{1.0, 1.7, 1.6},
			Spin: 2150, AimSide: .15, AimHeight: 2.25, Miss: [4]float64{-1.85, -2.00, -1.95, -1.85}, Lift: .12},
		{Type: pitch.Cutter, Popularity: .38, Usage: .20, SameSide: .9, OppositeSide: 1.1,
			SpeedGap: -4.6, Rise: 7.6, Run: -2.2, Between: [3]float64{1.3, 2.4, 2.4}, Within: [3]float64{1.1, 1.8, 1.9},
			Spin: 2380, AimSide: -.3, AimHeight: 2.35, Miss: [4]float64{-1.15, -1.25, -1.2, -1.15}, Lift: -.05},
		{Type: pitch.Slider, Popularity: .62, Usage: .24, SameSide: 1.15, OppositeSide: .85,
			SpeedGap: -8.2, Rise: 2.2, Run: -4.8, Between: [3]float64{1.4, 2.3, 2.5}, Within: [3]float64{1.2, 2.0, 2.0},
			Spin: 2420, AimSide: -.45, AimHeight: 2.0, Miss: [4]float64{-.75, -.9, -.85, -.75}, Lift: -.25},
		{Type: pitch.Sweeper, Popularity: .36, Usage: .22, SameSide: 1.4, OppositeSide: .6,
			SpeedGap: -11.6, Rise: 1.6, Run: -14.2, Between: [3]float64{1.4, 2.2, 2.4}, Within: [3]float64{1.2, 1.9, 2.1},
			Spin: 2560, AimSide: -.5, AimHeight: 2.1, Miss: [4]float64{-.60, -1.50, -1.45, -.60}, Lift: -.2},
		{Type: pitch.Curveball, Popularity: .42, Usage: .18, SameSide: .9, OppositeSide: 1.1,
			SpeedGap: -14.2, Rise: -9.4, Run: -8.6, Between: [3]float64{1.7, 2.8, 2.8}, Within: [3]float64{1.3, 2.1, 2.2},
			Spin: 2520, AimSide: -.2, AimHeight: 1.95, Miss: [4]float64{-.85, -.9, -.9, -.85}, Lift: -.3},
		{Type: pitch.Changeup, Popularity: .60, Usage: .20, SameSide: .5, OppositeSide: 1.5,
			SpeedGap: -8.4, Rise: 6.4, Run: 14.0, Between: [3]float64{1.5, 2.8, 2.3}, Within: [3]float64{1.2, 2.0, 1.9},
			Spin: 1780, AimSide: .35, AimHeight: 1.9, Miss: [4]float64{-1.45, -.80, -.80, -1.50}, Lift: -.3},
		{Type: pitch.Splitter, Popularity: .22, Usage: .22, SameSide: .75, OppositeSide: 1.25,
			SpeedGap: -7.4, Rise: 3.6, Run: 10.6, Between: [3]float64{1.4, 2.4, 2.4}, Within: [3]float64{1.2, 2.2, 2.0},
			Spin: 1420, AimSide: .1, AimHeight: 1.75, Miss: [4]float64{-.65, -.65, -.65, -.65}, Lift: -.35},
	}
}

// Lantern is the first league.
func Lantern() Scenario {
	return Scenario{
		Name: "lantern", Title: "Lantern League",
		Clubs: []string{"Brambleferry", "Quillhaven", "Ottermoor", "Saltlantern", "Thistlewick", "Moonhollow",
			"Gullspire", "Ashwhistle", "Fenwhisper", "Cindermarsh", "Pebblegate", "Hollowtide",
			"Wickerdale", "Mistletarn", "Larkenfold", "Dapplemere"},
		Pitchers: 420, LeftShare: .35, Pitches: 500_000, FirstYear: 2031,
		FastballSpeed: [2]float64{92.6, 93.8},
		PitcherSpread: .22, RepertoireSpread: .10, BatterSpread: .28,
		Kinds: kinds(), Effects: lanternEffects,
	}
}

// lanternEffects are the planted breakpoints of the Lantern League. Release
// side, horizontal approach and spin rate bear none: they are there to be
// found empty, save for what they owe to the others.
var lanternEffects = []Effect{
	// Four-seamers: speed, ride and a flat approach; run only against one's own side.
	{pitch.FourSeam, LvL, Velocity, Whiff, Climb, 92.5, 1.1, 1.30},
	{pitch.FourSeam, LvR, Velocity, Whiff, Climb, 94.0, 1.1, 1.30},
	{pitch.FourSeam, RvL, Velocity, Whiff, Climb, 95.0, 1.2, 1.20},
	{pitch.FourSeam, RvR, Velocity, Whiff, Climb, 94.0, 1.2, 1.20},
	{pitch.FourSeam, Left, InducedVerticalBreak, Whiff, Climb, 16.5, 1.4, 1.10},
	{pitch.FourSeam, Right, InducedVerticalBreak, Whiff, Climb, 17.0, 1.4, 1.00},
	{pitch.FourSeam, All, NeutralApproachAngle, Whiff, Climb, -4.7, .25, .70},
	{pitch.FourSeam, LvL, HorizontalBreak, Whiff, Climb, 9.5, 1.5, .90},
	{pitch.FourSeam, LvR, HorizontalBreak, Whiff, Band, 7.5, 3.2, -.90},
	{pitch.FourSeam, RvL, HorizontalBreak, Whiff, Band, 7.5, 3.2, -.80},
	{pitch.FourSeam, All, Velocity, Contact, Climb, 94.0, 1.2, -.70},
	{pitch.FourSeam, Left, InducedVerticalBreak, Contact, Band, 14.5, 2.2, .55},
	{pitch.FourSeam, RvR, InducedVerticalBreak, Contact, Climb, 16.0, 1.5, -.45},
	// Sinkers.
	{pitch.Sinker, LvL, Velocity, Whiff, Climb, 90.5, 1.1, 1.10},
	{pitch.Sinker, LvR, Velocity, Whiff, Climb, 92.5, 1.0, 1.10},
	{pitch.Sinker, Right, Velocity, Whiff, Climb, 93.5, 1.2, .90},
	{pitch.Sinker, Same, HorizontalBreak, Whiff, Climb, 15.5, 1.2, .90},
	{pitch.Sinker, All, InducedVerticalBreak, Contact, Climb, 8.0, 1.6, .80},
	{pitch.Sinker, Same, HorizontalBreak, Contact, Climb, 14.5, 1.4, -.60},
	// Cutters.
	{pitch.Cutter, LvR, HorizontalBreak, Whiff, Climb, -1.5, 1.4, -1.10},
	{pitch.Cutter, RvL, HorizontalBreak, Whiff, Climb, -2.5, 1.4, -1.10},
	{pitch.Cutter, LvL, InducedVerticalBreak, Whiff, Climb, 8.0, 1.5, -.90},
	{pitch.Cutter, All, Velocity, Whiff, Climb, 89.0, 1.1, .90},
	{pitch.Cutter, Oppose, InducedVerticalBreak, Contact, Climb, 7.0, 1.5, .60},
	// Sliders: hard, or slow enough; the middle is hit.
	{pitch.Slider, Same, Velocity, Whiff, Climb, 85.5, 1.2, 1.00},
	{pitch.Slider, Oppose, Velocity, Whiff, Band, 85.0, 1.9, -.90},
	{pitch.Slider, All, InducedVerticalBreak, Whiff, Climb, 1.5, 1.6, -.90},
	{pitch.Slider, Right, HorizontalBreak, Contact, Climb, -5.0, 1.6, .60},
	// Sweepers.
	{pitch.Sweeper, Same, HorizontalBreak, Whiff, Hinge, -15.0, .8, -.14},
	{pitch.Sweeper, Oppose, HorizontalBreak, Whiff, Climb, -14.0, 1.3, .70},
	{pitch.Sweeper, Right, Velocity, Contact, Climb, 82.0, 1.2, -.55},
	// Curveballs.
	{pitch.Curveball, All, InducedVerticalBreak, Whiff, Climb, -10.5, 1.6, -1.00},
	{pitch.Curveball, Right, Velocity, Whiff, Climb, 80.0, 1.3, .80},
	{pitch.Curveball, Oppose, InducedVerticalBreak, Contact, Climb, -10.0, 1.8, .55},
	// Changeups: a dead zone of drop.
	{pitch.Changeup, RvL, InducedVerticalBreak, Whiff, Climb, 5.5, 1.4, -1.00},
	{pitch.Changeup, LvR, InducedVerticalBreak, Whiff, Climb, 6.5, 1.4, -1.10},
	{pitch.Changeup, Oppose, HorizontalBreak, Whiff, Band, 13.5, 2.0, -.60},
	{pitch.Changeup, Oppose, Velocity, Contact, Climb, 85.0, 1.2, .60},
	// Splitters.
	{pitch.Splitter, Oppose, InducedVerticalBreak, Whiff, Climb, 3.5, 1.5, -1.00},
	{pitch.Splitter, Right, Velocity, Whiff, Climb, 86.5, 1.2, .70},
}
