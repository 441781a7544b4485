package plot

import (
	"math"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
)

// scale maps the values of an axis to places on the page.
type scale struct {
	lo, hi   float64
	from, to vg.Length
}

func (s scale) at(x float64) vg.Length {
	return s.from + vg.Length((x-s.lo)/(s.hi-s.lo))*(s.to-s.from)
}

// within brings a value into the scale.
func (s scale) within(x float64) float64 { return min(max(x, s.lo), s.hi) }

func (s scale) holds(x float64) bool { return x >= s.lo && x <= s.hi }

// ticks returns round values within the scale, about n of them and at most a
// third more.
func (s scale) ticks(n int) []float64 {
	if math.IsNaN(s.hi) {
		return nil
	}
	raw := (s.hi - s.lo) / float64(max(n, 2))
	step := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step*m >= raw*.75 {
			step *= m
			break
		}
	}
	var out []float64
	for k := math.Ceil(s.lo/step - 1e-9); k*step <= s.hi+step*1e-9; k++ {
		out = append(out, k*step)
	}
	return out
}

// domains returns the ranges of both axes, which all panels share: across, the
// values of the curves and one bin more; upwards, the curves with their bands
// over the central nine tenths of the events, the line, the rates of the bins,
// and other intervals as far as they do not press the curves flat.
func (f *Figure) domains() (x, y scale) {
	x, y = scale{lo: math.Inf(1), hi: math.Inf(-1)}, scale{lo: math.Inf(1), hi: math.Inf(-1)}
	wide := y
	grow := func(s *scale, v float64) { s.lo, s.hi = min(s.lo, v), max(s.hi, v) }
	for _, p := range f.panels {
		for i := range p.series {
			s := &p.series[i]
			if m, ok := s.Line(); ok {
				grow(&y, m)
				if v := s.Verdict; v.LineLo != nil && v.LineHi != nil {
					grow(&wide, *v.LineLo)
					grow(&wide, *v.LineHi)
				}
			}
			from, to := s.Central()
			for _, c := range s.Points {
				grow(&x, c.X)
				grow(&y, c.Rate)
				if c.X >= from && c.X <= to {
					grow(&y, c.Lo)
					grow(&y, c.Hi)
				}
				grow(&wide, c.Lo)
				grow(&wide, c.Hi)
			}
			for j := range s.Bins {
				b := s.Bins[j]
				lo, hi, _ := curve.Reach(b, f.quality.Width)
				if len(s.Points) == 0 {
					grow(&x, lo)
					grow(&x, hi)
				}
				if b.Rate != nil && b.Mean != nil {
					grow(&y, *b.Rate)
				}
				if b.Lo != nil && b.Hi != nil {
					grow(&wide, *b.Lo)
					grow(&wide, *b.Hi)
				}
			}
		}
	}
	if !(x.lo <= x.hi) { // no value at all: an axis without numbers
		x.lo, x.hi = math.NaN(), math.NaN()
	}
	if !(y.lo <= y.hi) {
		y.lo, y.hi = 0, 1
	}
	floor := min(y.lo, 0) // no rate is negative
	room := max(y.hi-y.lo, .2) * .15
	y.lo, y.hi = max(min(y.lo, wide.lo), y.lo-room), min(max(y.hi, wide.hi), y.hi+room)
	pad := max(y.hi-y.lo, .05) * .06
	y.lo, y.hi = max(y.lo, floor)-pad, y.hi+pad
	pad = f.quality.Width / 2
	x.lo, x.hi = x.lo-pad, x.hi+pad
	return x, y
}
