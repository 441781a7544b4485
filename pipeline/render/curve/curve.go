// Package curve says what there is to show of one published curve, for whoever
// draws or tells it: which stretches its verdict claims, where its breakpoints
// lie, and in which words. Everything is a row of a version; nothing is estimated.
package curve

import (
	"math"
	"slices"

	"sill/pipeline/thresholds"
)

// Curve holds the rows of one key against one line.
type Curve struct {
	Verdict *thresholds.Verdict // nil where the version has none
	Zones   []*thresholds.Zone
	Points  []thresholds.CurvePoint // ascending in X
	Bins    []*thresholds.Bin
}

// Line returns the value of the line, ok false where there is none.
func (c *Curve) Line() (m float64, ok bool) {
	if c.Verdict == nil || c.Verdict.Line == nil {
		return 0, false
	}
	return *c.Verdict.Line, true
}

// Shown tells whether a verdict says something of where the curve lies or runs.
func Shown(verdict string) bool {
	switch verdict {
	case "found", "always_beats", "never_beats", "edge_unresolved":
		return true
	}
	return false
}

// Stretch is a part of the quality that certainly lies on one side of the line.
type Stretch struct {
	Lo, Hi float64
	Good   bool
}

// Certain lists the stretches that the verdict claims, within the curve. Too
// few and inconclusive claim none; always and never without zones of their own
// claim the central nine tenths of the events, or all of the curve.
func (c *Curve) Certain() []Stretch {
	if c.Verdict == nil || len(c.Points) == 0 || !Shown(c.Verdict.Verdict) {
		return nil
	}
	from, to := c.Points[0].X, c.Points[len(c.Points)-1].X
	var out []Stretch
	for _, z := range c.Zones {
		for _, s := range z.Certain {
			out = append(out, Stretch{max(s.Lo, from), min(s.Hi, to), z.Sign > 0})
		}
	}
	if word := c.Verdict.Verdict; len(c.Zones) == 0 && word != "found" && word != "edge_unresolved" {
		lo, hi := c.Central()
		if c.Verdict.Everywhere {
			lo, hi = from, to
		}
		out = append(out, Stretch{max(lo, from), min(hi, to), word == "always_beats"})
	}
	return slices.DeleteFunc(out, func(s Stretch) bool { return !(s.Lo < s.Hi) })
}

// Central returns the places of the first and the last bin whose middle lies
// within the central nine tenths of the events: where always and never hold.
// Where no bin does, lo is above hi.
func (c *Curve) Central() (lo, hi float64) {
	var total, below float64
	for _, b := range c.Bins {
		if b.Kind != "missing" {
			total += float64(b.Events)
		}
	}
	lo, hi = 1, 0
	for _, b := range c.Bins {
		if b.Kind == "missing" {
			continue
		}
		mid := (below + float64(b.Events)/2) / total
		below += float64(b.Events)
		if b.Mean == nil || mid < .05 || mid > .95 {
			continue
		}
		if lo > hi {
			lo = *b.Mean
		}
		hi = *b.Mean
	}
	return lo, hi
}

// Possible lists the stretches in which the curve may beat the line, as far as the
// verdict claims any.
func (c *Curve) Possible() []Stretch {
	if len(c.Certain()) == 0 {
		return nil
	}
	var out []Stretch
	for _, z := range c.Zones {
		if z.Sign < 0 {
			continue
		}
		s := Stretch{c.Points[0].X, c.Points[len(c.Points)-1].X, true}
		if z.PossibleLo != nil {
			s.Lo = max(s.Lo, *z.PossibleLo)
		}
		if z.PossibleHi != nil {
			s.Hi = min(s.Hi, *z.PossibleHi)
		}
		out = append(out, s)
	}
	return out
}

// Breakpoint is one confirmed edge.
type Breakpoint struct {
	At     float64
	Limits [2]Limit // of its interval, the lower one first
	Above  bool     // whether the zone that beats the line lies above it
	Room   float64  // how far that zone reaches, in the quality's unit
}

// Limit is an end of a breakpoint's interval. One that is not pinned is drawn to
// the end of the curve.
type Limit struct {
	At     float64
	Pinned bool
}

// Breakpoints lists the confirmed edges, each once though two zones share it.
func (c *Curve) Breakpoints() []Breakpoint {
	if c.Verdict == nil || len(c.Points) == 0 || !Shown(c.Verdict.Verdict) {
		return nil
	}
	from, to := c.Points[0].X, c.Points[len(c.Points)-1].X
	limit := func(v *float64, end float64) Limit {
		if v == nil {
			return Limit{At: end}
		}
		return Limit{*v, true}
	}
	var out []Breakpoint
	for _, z := range c.Zones {
		for _, e := range z.Edges() {
			if !slices.ContainsFunc(out, func(b Breakpoint) bool { return b.At == e.At }) {
				out = append(out, Breakpoint{At: e.At, Limits: [2]Limit{limit(e.Lo, from), limit(e.Hi, to)}, Above: e.BeatsAbove})
			}
		}
	}
	for i := range out {
		b := &out[i]
		end := from
		if b.Above {
			end = to
		}
		b.Room = math.Abs(end - b.At)
		for _, other := range out {
			if d := other.At - b.At; d != 0 && d > 0 == b.Above {
				b.Room = min(b.Room, math.Abs(d))
			}
		}
	}
	return out
}

// Point is a value of the quality with a rate.
type Point struct{ X, Y float64 }

// Field lists the corners of what lies between the curve and the line m along a
// stretch: the first and the last stand on the line.
func (c *Curve) Field(s Stretch, m float64) []Point {
	out := []Point{{s.Lo, m}, {s.Lo, c.RateAt(s.Lo)}}
	for _, p := range c.Points {
		if p.X > s.Lo && p.X < s.Hi {
			out = append(out, Point{p.X, p.Rate})
		}
	}
	return append(out, Point{s.Hi, c.RateAt(s.Hi)}, Point{s.Hi, m})
}

// Marks are the bins with a rate and a place along the axis, which are drawn.
func (c *Curve) Marks(x Range) []*thresholds.Bin {
	var out []*thresholds.Bin
	for _, b := range c.Bins {
		if b.Mean != nil && b.Rate != nil && x.Holds(*b.Mean) {
			out = append(out, b)
		}
	}
	return out
}

// RateAt interpolates the rate, which has a point at least, at x within the curve.
func (c *Curve) RateAt(x float64) float64 {
	if len(c.Points) == 1 {
		return c.Points[0].Rate
	}
	i, _ := slices.BinarySearchFunc(c.Points, x, func(p thresholds.CurvePoint, x float64) int {
		switch {
		case p.X < x:
			return -1
		case p.X > x:
			return 1
		}
		return 0
	})
	i = min(max(i, 1), len(c.Points)-1)
	a, b := c.Points[i-1], c.Points[i]
	u := (x - a.X) / (b.X - a.X)
	return float64((1-u)*a.Rate) + float64(u*b.Rate)
}

// Reach returns the values that a bin stands for: its own edges, and at an open
// end as far beyond the closed edge as its mean lies, twice, and a usual width at
// least. A bin without edges has none.
func Reach(b *thresholds.Bin, width float64) (lo, hi float64, ok bool) {
	switch {
	case b.Lower != nil && b.Upper != nil:
		return *b.Lower, *b.Upper, true
	case b.Upper != nil:
		if b.Mean != nil {
			width = max(width, 2*(*b.Upper-*b.Mean))
		}
		return *b.Upper - width, *b.Upper, true
	case b.Lower != nil:
		if b.Mean != nil {
			width = max(width, 2*(*b.Mean-*b.Lower))
		}
		return *b.Lower, *b.Lower + width, true
	}
	return 0, 0, false
}

// Density is the number of pitches of a bin for each width of a usual bin.
func Density(b *thresholds.Bin, width float64) float64 {
	lo, hi, ok := Reach(b, width)
	if !ok || hi <= lo {
		return 0
	}
	return float64(b.Pitches) * width / (hi - lo)
}

// Most is the greatest density of all bins, 0 where there is no pitch.
func Most(curves []*Curve, width float64) float64 {
	most := 0.0
	for _, c := range curves {
		for _, b := range c.Bins {
			most = max(most, Density(b, width))
		}
	}
	return most
}
