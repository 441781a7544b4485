package page

import (
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
)

// slopes says how much of a curve is seen in the same pitcher and how much from
// pitcher to pitcher, in straight lines; nil where no slope was taken.
type slopes struct {
	Within, Between string // the change of the outcome with its interval
	Shown           string
}

// step is one bin of the quality, which slopes are told for.
func step(q curve.Quality) string {
	return words.WithUnit(words.Number(q.Width, curve.Decimals(3, q.Width)), q.Unit)
}

// slopes tells the slopes of a panel, for one step more of the quality.
func (p *panel) slopes(q curve.Quality) *slopes {
	s := p.slope
	if s == nil || s.Within == nil || s.Between == nil {
		return nil
	}
	of := func(shown bool, at, lo, hi, by *float64) string {
		scaled := func(x float64) string { return words.SignedRate(x * q.Width) }
		text := scaled(*at) + " " + words.Interval(lo, hi, scaled)
		if apart := words.Apart(lo, hi); apart != shown { // what is shown rests on q
			return text + ", " + words.Told(map[bool]string{true: "shown", false: "not shown"}[shown], false, by, s.Together)
		}
		return text
	}
	within, between := words.SlopesShown(slug(s.Shown))
	return &slopes{
		Within:  of(within, s.Within, s.WithinLo, s.WithinHi, s.WithinQ),
		Between: of(between, s.Between, s.BetweenLo, s.BetweenHi, s.BetweenQ),
		Shown:   words.SlopeShown(slug(s.Shown)),
	}
}
