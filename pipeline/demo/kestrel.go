package demo

// Kestrel is the second, smaller league: slower, with fewer left-handers, and
// with its breakpoints elsewhere.
func Kestrel() Scenario {
	s := Lantern()
	s.Name, s.Title, s.Turn = "kestrel", "Kestrel Circuit", 1
	s.Clubs = []string{"Kitefall", "Harrowfeather", "Tumblewharf", "Oxbellow", "Sablecrick", "Plumhatch",
		"Nettlegrave", "Wrenholt", "Copperfen", "Driftanchor"}
	s.Pitchers, s.LeftShare, s.Pitches, s.FirstYear = 250, .30, 200_000, 2031
	s.FastballSpeed = [2]float64{90.0, 91.2}
	s.Effects = append([]Effect(nil), s.Effects...)
	for i := range s.Effects {
		e := &s.Effects[i]
		switch e.Quality {
		case Velocity:
			e.At -= 1.5 // relative to the league the cutoff is a mile higher
		case InducedVerticalBreak:
			e.At += 1
		case HorizontalBreak:
			e.At -= 1
		}
	}
	return s
}
