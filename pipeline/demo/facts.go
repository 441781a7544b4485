package demo

import "sill/pipeline/pitch"

// Fact is a cutoff of the trade that the Almanac League is made to show (common
// practice, no source): where, in the estimand against the pitch type's median
// line, a left-hander's whiff rate crosses.
type Fact struct {
	Type     pitch.Type
	Matchup  Matchups
	Quality  Quality
	Edges    []float64 // in order
	Sign     int       // of the stretch below the first edge: +1 good, −1 bad
	Sentence string
}

// Facts lists the cutoffs of [TradeFacts].
func Facts() []Fact {
	return []Fact{
		{pitch.FourSeam, LvL, Velocity, []float64{93}, -1, "four-seam 93 mph and more"},
		{pitch.FourSeam, LvR, Velocity, []float64{93}, -1, "four-seam 93 mph and more"},
		{pitch.FourSeam, LvL, InducedVerticalBreak, []float64{16.5}, -1, "four-seam induced vertical break above 16 to 17 in"},
		{pitch.FourSeam, LvR, InducedVerticalBreak, []float64{16.5}, -1, "four-seam induced vertical break above 16 to 17 in"},
		{pitch.FourSeam, LvL, VerticalApproachAngle, []float64{-4.5}, -1, "four-seam approach shallower, toward -4 deg"},
		{pitch.FourSeam, LvR, VerticalApproachAngle, []float64{-4.5}, -1, "four-seam approach shallower, toward -4 deg"},
		{pitch.FourSeam, LvL, HorizontalBreak, []float64{2, 15}, +1, "four-seam run of 15 to 20 in helps against left-handed batters, and so does cut"},
		{pitch.FourSeam, LvR, HorizontalBreak, []float64{2}, +1, "four-seam cut works against right-handed batters, run does not"},
		{pitch.Sinker, LvL, Velocity, []float64{87}, -1, "sinker 87 mph against left-handed batters"},
		{pitch.Sinker, LvR, Velocity, []float64{92}, -1, "sinker 92 mph against right-handed batters"},
		{pitch.Sinker, LvL, HorizontalBreak, []float64{8}, -1, "sinker run of 8 in and more"},
		{pitch.Sinker, LvR, HorizontalBreak, []float64{8}, -1, "sinker run of 8 in and more"},
		{pitch.Sinker, LvL, VerticalApproachAngle, []float64{-6.4, -5.4}, +1, "only a narrow band of a sinker's approach angle falls below the line"},
		{pitch.Cutter, LvL, Velocity, []float64{84}, -1, "cutter 84 mph against left-handed batters"},
		{pitch.Cutter, LvR, Velocity, []float64{88}, -1, "cutter 88 mph against right-handed batters"},
		{pitch.Cutter, LvL, InducedVerticalBreak, []float64{8}, +1, "cutter induced vertical break below 8 in against left-handed batters"},
		{pitch.Cutter, LvR, InducedVerticalBreak, []float64{5}, +1, "cutter induced vertical break below 5 in against right-handed batters"},
		{pitch.Cutter, LvR, HorizontalBreak, []float64{0}, +1, "cutter break past zero to the glove side against right-handed batters"},
	}
}

// TradeFacts is the Almanac League, in which the cutoffs of [Facts] hold. Most
// of its pitchers are left-handed, and their shapes spread over the cutoffs.
// The planted breakpoints were set so that the estimand crosses at the facts:
// with qualities that travel together the two are not the same.
func TradeFacts() Scenario {
	s := Lantern()
	s.Name, s.Title, s.Turn = "facts", "Almanac League", 2
	s.Pitchers, s.LeftShare, s.Pitches = 840, .65, 1_400_000
	s.FastballSpeed = [2]float64{91.8, 93.2}
	s.PitcherSpread, s.RepertoireSpread, s.BatterSpread = .18, .05, .20
	for i := range s.Kinds {
		k := &s.Kinds[i]
		k.SameSide, k.OppositeSide = 1, 1
		switch k.Type {
		case pitch.FourSeam:
			k.Lift, k.Rise, k.Run, k.Between[2], k.Within[2] = 0, 14.8, 9.6, 6.0, 2.2
			k.Miss = [4]float64{-.90, -.45, -1.15, -1.15}
		case pitch.Sinker:
			k.Lift, k.SpeedGap, k.Between[0], k.Run, k.Between[2], k.Popularity = 0, -2.1, 1.2, 8.8, 3.2, .75
			k.Miss = [4]float64{-2.40, -1.45, -1.60, -1.60}
		case pitch.Cutter:
			k.Lift, k.SpeedGap, k.Between[0], k.Popularity, k.Usage = 0, -5.4, 1.4, .75, .30
			k.Run, k.Rise, k.Between[1], k.Between[2] = .5, 6.5, 2.6, 2.6
			k.Miss = [4]float64{-1.9, -.85, -1.2, -1.2}
		default: // the facts are about the three fastballs
			k.Usage *= .4
		}
	}
	s.Effects = factEffects
	return s
}

var factEffects = []Effect{
	{pitch.FourSeam, LvL, Velocity, Whiff, Climb, 92.38, 1, 1.7},
	{pitch.FourSeam, LvR, Velocity, Whiff, Climb, 91.64, 1, 1.7},
	{pitch.FourSeam, LvL, InducedVerticalBreak, Whiff, Climb, 17.16, 1.2, 1.6},
	{pitch.FourSeam, LvR, InducedVerticalBreak, Whiff, Climb, 16.92, 1.2, 1.6},
	{pitch.FourSeam, LvL, VerticalApproachAngle, Whiff, Climb, -4.33, 0.3, 1.6},
	{pitch.FourSeam, LvR, VerticalApproachAngle, Whiff, Climb, -4.42, 0.3, 1.6},
	{pitch.FourSeam, LvL, HorizontalBreak, Whiff, Band, 8.63, 5.48, -2.8},
	{pitch.FourSeam, LvR, HorizontalBreak, Whiff, Climb, 0.18, 1.5, -2.4},
	{pitch.Sinker, LvL, Velocity, Whiff, Climb, 86.24, 1, 2},
	{pitch.Sinker, LvR, Velocity, Whiff, Climb, 93.88, 1, 2},
	{pitch.Sinker, LvL, HorizontalBreak, Whiff, Climb, 8.72, 1.3, 1.9},
	{pitch.Sinker, LvR, HorizontalBreak, Whiff, Climb, 6.06, 1.3, 1.9},
	{pitch.Sinker, LvL, VerticalApproachAngle, Whiff, Band, -5.87, 0.49, -1.9},
	{pitch.Cutter, LvL, Velocity, Whiff, Climb, 83.63, 1, 2},
	{pitch.Cutter, LvR, Velocity, Whiff, Climb, 88.36, 1, 2.3},
	{pitch.Cutter, LvL, InducedVerticalBreak, Whiff, Climb, 7.71, 1.3, -2.3},
	{pitch.Cutter, LvR, InducedVerticalBreak, Whiff, Climb, 4.49, 1.2, -2.3},
	{pitch.Cutter, LvR, HorizontalBreak, Whiff, Climb, 0.77, 1.2, -2.4},
}
