package locate

import (
	"math"

	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// KindPlatoon compares a pitch against same-handed with the same pitch against
// opposite-handed batters by thirds of the variable: does the gap stay or change?
const KindPlatoon = "platoon"

// The verdicts on a quality across hands.
const (
	Splits     = "splits"
	Travels    = "travels"
	CannotTell = "cannot_tell"
)

// samePair tells whether a pair compares the two sides of one pitcher's hand.
func samePair(family string) bool { return family == "same_opposite" }

// platoon compares a against same-handed with b against opposite-handed batters.
// Three rows hold the gap in the lowest, middle and highest third of the events,
// the one without x its change from the lowest to the highest. The quality splits
// where an unchanging gap is rejected within the family. It travels where both
// curves are rejected as flat and change and bend of the gap lie within delta (95 %
// intervals): what it does against the one it does against the other.
func platoon(a, b *fitted, pair string, v tally.Variable, o Options) contrast {
	sa, sb := seconds(a, b)
	c := contrast{family: KindPlatoon, p: math.NaN()}
	t := stats.NewThirds(a.curve.Fit, b.curve.Fit, a.curve.Sign(), sa, sb)
	if t == nil {
		r := row(KindPlatoon, pair, a, b, v)
		r.Verdict, r.Note = NotEstimable, "the two cells were not observed over a common range"
		c.rows = []thresholds.Contrast{r}
		return c
	}
	c.p = t.P
	within := t.Within <= a.curve.Outcome().Delta
	matters := a.flat <= o.Discovery && b.flat <= o.Discovery
	note := ""
	switch {
	case !within:
		note = "the gap is not shown to change, nor to stay as it is but for less than is worth telling"
	case !matters:
		note = "the gap stays as it is but for less than is worth telling, yet the quality is not shown to do anything against both sides"
	}
	add := func(x *float64, i stats.Interval) {
		r := row(KindPlatoon, pair, a, b, v)
		r.X, r.Estimate, r.Lo, r.Hi = x, orNil(i.Estimate), orNil(i.Lo), orNil(i.Hi)
		c.rows = append(c.rows, r)
	}
	add(nil, t.Change)
	for k, g := range t.Gap {
		add(orNil(t.X[k]), g)
	}
	c.judge = func(q float64) (verdict, why string) {
		switch {
		case q <= o.Discovery:
			return Splits, ""
		case note == "":
			return Travels, ""
		}
		return CannotTell, note
	}
	return c
}
