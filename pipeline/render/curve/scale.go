package curve

import (
	"math"
	"slices"

	"sill/pipeline/render/words"
)

// Colours of the four matchups, in the order of every table, and of the rest.
// They are blue, orange, green and purple as Okabe and Ito chose them to be told
// apart with any colour vision (Color Universal Design, 2008, from memory),
// darkened until text on the paper reaches a contrast of 4.5 to 1 and marks 3 to 1
// (Web Content Accessibility Guidelines 2.1, criteria 1.4.3 and 1.4.11), which
// tests compute.
var Colours = [4]string{"#0066a8", "#b84a00", "#007355", "#963b74"}

// The other colours, on white paper.
const (
	Ink   = "#1d1f24" // the line, titles
	Grey  = "#5c616b" // what can wait
	Faint = "#e9eaec" // grid, carries nothing
)

// Range is the values that an axis shows.
type Range struct{ Lo, Hi float64 }

func (r *Range) grow(values ...float64) {
	for _, v := range values {
		r.Lo, r.Hi = min(r.Lo, v), max(r.Hi, v)
	}
}

// Within brings a value into the range.
func (r Range) Within(x float64) float64 { return min(max(x, r.Lo), r.Hi) }

// Holds tells whether a value lies within the range.
func (r Range) Holds(x float64) bool { return x >= r.Lo && x <= r.Hi }

// Scale maps a range to the places From to To.
type Scale[Length ~float64] struct {
	Range
	From, To Length
}

// At returns the place of a value.
func (s Scale[Length]) At(x float64) Length {
	return s.From + Length((x-s.Lo)/(s.Hi-s.Lo))*(s.To-s.From)
}

// Inside returns the place of a value, or that of the end beyond which it lies.
func (s Scale[Length]) Inside(x float64) Length { return s.At(s.Within(x)) }

// Ticks returns round values within the range, about n of them and at most a third
// more; none where it has no values.
func (r Range) Ticks(n int) []float64 {
	if math.IsNaN(r.Hi) {
		return nil
	}
	raw := (r.Hi - r.Lo) / float64(max(n, 2))
	step := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step*m >= raw*.75 {
			step *= m
			break
		}
	}
	var out []float64
	for k := math.Ceil(r.Lo/step - 1e-9); k*step <= r.Hi+step*1e-9; k++ {
		out = append(out, k*step)
	}
	return out
}

// Labels formats round values with no more decimals than they need.
func Labels(ticks []float64, most int) []string {
	out, decimals := make([]string, len(ticks)), Decimals(most, ticks...)
	for i, v := range ticks {
		out[i] = words.Number(v, decimals)
	}
	return out
}

// Decimals is how many decimals round values need, at most so many.
func Decimals(most int, values ...float64) int {
	for d := range most {
		if !slices.ContainsFunc(values, func(v float64) bool {
			scaled := v * math.Pow10(d)
			return math.Abs(scaled-math.Round(scaled)) >= 1e-6
		}) {
			return d
		}
	}
	return most
}

// Domains returns the ranges of both axes, which curves drawn beside each other
// share: across, the curves and half a bin more (where there is none, the bins; NaN
// where there is nothing); upwards, the curves with their bands over the central
// nine tenths of the events, the line, and the rates of the bins. Wide is where
// their intervals and those of the line reach.
func Domains(curves []*Curve, width float64) (x, y, wide Range) {
	none := Range{math.Inf(1), math.Inf(-1)}
	x, y, wide = none, none, none
	for _, c := range curves {
		if m, ok := c.Line(); ok {
			y.grow(m)
			if v := c.Verdict; v.LineLo != nil && v.LineHi != nil {
				wide.grow(*v.LineLo, *v.LineHi)
			}
		}
		from, to := c.Central()
		for _, p := range c.Points {
			x.grow(p.X)
			y.grow(p.Rate)
			wide.grow(p.Lo, p.Hi)
			if p.X >= from && p.X <= to {
				y.grow(p.Lo, p.Hi)
			}
		}
		for _, b := range c.Bins {
			if lo, hi, ok := Reach(b, width); ok && len(c.Points) == 0 {
				x.grow(lo, hi)
			}
			if b.Rate != nil && b.Mean != nil {
				y.grow(*b.Rate)
			}
			if b.Lo != nil && b.Hi != nil {
				wide.grow(*b.Lo, *b.Hi)
			}
		}
	}
	if !(x.Lo <= x.Hi) {
		x.Lo, x.Hi = math.NaN(), math.NaN()
	}
	if !(y.Lo <= y.Hi) {
		y.Lo, y.Hi = 0, 1
	}
	x.Lo, x.Hi = x.Lo-width/2, x.Hi+width/2
	return x, y, wide
}
