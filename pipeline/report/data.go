package report

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
)

// subject is what a figure is about.
type subject struct{ pitchType, variable, outcome string }

func subjectOf(k thresholds.Key) subject { return subject{k.PitchType, k.Variable, k.Outcome} }

// rows are rows of a resource, counted from 1 after the header; to is 0 where
// there are none.
type rows struct{ from, to int }

func (r *rows) add(i int) {
	if r.to == 0 {
		r.from = i + 1
	}
	r.to = i + 1
}

// figure holds the four matchups of one subject. Rows are those of the splits
// too, among which they stand.
type figure struct {
	subject
	panels
	splits                        []split
	verdicts, zones, curves, bins rows
}

// panels are in the order of pitch.Matchups.
type panels [4]panel

// split is a figure's subject on a part of the pitches, such as those through the
// upper third.
type split struct {
	stratum string
	panels
}

// panel is one matchup of a figure.
type panel struct {
	matchup pitch.Matchup
	verdict *thresholds.Verdict // nil where the version has none
	zones   []*thresholds.Zone
	curve   []thresholds.CurvePoint
	bins    []*thresholds.Bin // those without a value of the quality included
}

// gather collects the figures against a line, in the order of the tables.
// Pitches without a type of their own are counted and never tested: they have
// no figure.
func gather(t *thresholds.Tables, reference string) []*figure {
	var out []*figure
	at := map[subject]*figure{}
	place := map[[2]string]int{}
	for i, m := range pitch.Matchups {
		place[[2]string{m.Hand.String(), m.Side.String()}] = i
	}
	find := func(k thresholds.Key) (*figure, *panel) {
		f := at[subjectOf(k)]
		i, known := place[[2]string{k.Hand, k.Side}]
		if f == nil || !known {
			return nil, nil
		}
		return f, &f.of(k.Stratum)[i]
	}
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		if v.PitchType == "" || v.PitchType == pitch.OtherType.String() || v.Reference != reference {
			continue
		}
		if s := subjectOf(v.Key); at[s] == nil {
			f := &figure{subject: s, panels: empty()}
			at[s] = f
			out = append(out, f)
		}
		if f, p := find(v.Key); f != nil {
			p.verdict = v
		}
	}
	for i := range t.Verdicts {
		if f, _ := find(t.Verdicts[i].Key); f != nil {
			f.verdicts.add(i)
		}
	}
	for i := range t.Zones {
		if f, p := find(t.Zones[i].Key); f != nil {
			f.zones.add(i)
			if t.Zones[i].Reference == reference {
				p.zones = append(p.zones, &t.Zones[i])
			}
		}
	}
	for i := range t.Curves {
		if f, p := find(t.Curves[i].Key); f != nil {
			f.curves.add(i)
			if t.Curves[i].Reference == reference {
				p.curve = append(p.curve, t.Curves[i])
			}
		}
	}
	for i := range t.Bins {
		if f, p := find(t.Bins[i].Key); f != nil {
			f.bins.add(i)
			p.bins = append(p.bins, &t.Bins[i])
		}
	}
	return out
}

func empty() (p panels) {
	for i, m := range pitch.Matchups {
		p[i].matchup = m
	}
	return p
}

// of returns the panels of a stratum, "" for all pitches.
func (f *figure) of(stratum string) *panels {
	if stratum == "" {
		return &f.panels
	}
	i := slices.IndexFunc(f.splits, func(s split) bool { return s.stratum == stratum })
	if i < 0 {
		i = len(f.splits)
		f.splits = append(f.splits, split{stratum, empty()})
	}
	return &f.splits[i].panels
}

// shown tells whether anything was shown in any matchup.
func (p *panels) shown() bool {
	return slices.ContainsFunc(p[:], func(p panel) bool { return p.verdict != nil && shown(p.verdict.Verdict) })
}

// line returns the value of the line, ok false where there is none.
func (p *panel) line() (m float64, ok bool) {
	if p.verdict == nil || p.verdict.Line == nil {
		return 0, false
	}
	return *p.verdict.Line, true
}

// stretch is a part of the quality that certainly lies on one side of the line.
type stretch struct {
	lo, hi float64
	good   bool
}

// certain lists the stretches that the verdict claims, within the curve. Too
// few and inconclusive claim none; always and never without zones of their own
// claim the central nine tenths of the events, or all of the curve.
func (p *panel) certain() []stretch {
	if p.verdict == nil || len(p.curve) == 0 || !shown(p.verdict.Verdict) {
		return nil
	}
	from, to := p.curve[0].X, p.curve[len(p.curve)-1].X
	var out []stretch
	for _, z := range p.zones {
		if z.CertainLo != nil && z.CertainHi != nil {
			out = append(out, stretch{max(*z.CertainLo, from), min(*z.CertainHi, to), z.Sign > 0})
		}
	}
	if word := p.verdict.Verdict; len(p.zones) == 0 && word != "found" && word != "edge_unresolved" {
		lo, hi := p.central()
		if p.verdict.Everywhere {
			lo, hi = from, to
		}
		out = append(out, stretch{max(lo, from), min(hi, to), word == "always_beats"})
	}
	return slices.DeleteFunc(out, func(s stretch) bool { return !(s.lo < s.hi) })
}

// central returns the places of the first and the last bin whose middle lies
// within the central nine tenths of the events: where always and never hold.
func (p *panel) central() (lo, hi float64) {
	var total, below float64
	for _, b := range p.bins {
		if b.Kind != "missing" {
			total += float64(b.Events)
		}
	}
	lo, hi = 1, 0
	for _, b := range p.bins {
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

// breakpoint is one confirmed edge; a limit that is not pinned is nil.
type breakpoint struct {
	at     float64
	lo, hi *float64
	above  bool // whether the zone that beats the line lies above it
}

// breakpoints lists the confirmed edges, each once though two zones share it.
func (p *panel) breakpoints() []breakpoint {
	if len(p.certain()) == 0 {
		return nil
	}
	var out []breakpoint
	add := func(kind string, at, lo, hi *float64, above bool) {
		if kind == "edge" && at != nil && !slices.ContainsFunc(out, func(b breakpoint) bool { return b.at == *at }) {
			out = append(out, breakpoint{*at, lo, hi, above})
		}
	}
	for _, z := range p.zones {
		add(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.Sign > 0)
		add(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.Sign < 0)
	}
	return out
}

// rateAt interpolates the curve, which holds at least two points, at x within it.
func (p *panel) rateAt(x float64) float64 {
	i, _ := slices.BinarySearchFunc(p.curve, x, func(c thresholds.CurvePoint, x float64) int {
		switch {
		case c.X < x:
			return -1
		case c.X > x:
			return 1
		}
		return 0
	})
	i = min(max(i, 1), len(p.curve)-1)
	a, b := p.curve[i-1], p.curve[i]
	u := (x - a.X) / (b.X - a.X)
	return float64((1-u)*a.Rate) + float64(u*b.Rate)
}

// reach returns the values that a bin stands for: its own edges, and at an
// open end as far beyond the closed edge as its mean lies, twice.
func reach(b *thresholds.Bin, width float64) (lo, hi float64, ok bool) {
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

// domains returns the ranges of both axes, which the panels share: across, the
// curves and half a bin more; upwards, the curves with their bands over the
// central nine tenths, the line, and the rates of the bins.
func (f *figure) domains(width float64) (x, y scale) {
	x, y = scale{lo: math.Inf(1), hi: math.Inf(-1)}, scale{lo: math.Inf(1), hi: math.Inf(-1)}
	for i := range f.panels {
		p := &f.panels[i]
		if m, ok := p.line(); ok {
			y.grow(m)
		}
		from, to := p.central()
		for _, c := range p.curve {
			x.grow(c.X)
			y.grow(c.Rate)
			if c.X >= from && c.X <= to {
				y.grow(c.Lo)
				y.grow(c.Hi)
			}
		}
		for _, b := range p.bins {
			if lo, hi, ok := reach(b, width); ok && len(p.curve) == 0 {
				x.grow(lo)
				x.grow(hi)
			}
			if b.Rate != nil && b.Mean != nil {
				y.grow(*b.Rate)
			}
		}
	}
	if !(x.lo <= x.hi) {
		x.lo, x.hi = 0, 1
	}
	if !(y.lo <= y.hi) {
		y.lo, y.hi = 0, 1
	}
	floor := min(y.lo, 0) // no rate is negative
	pad := max(y.hi-y.lo, .05) * .08
	y.lo, y.hi = max(y.lo-pad, floor-pad/2), y.hi+pad
	x.lo, x.hi = x.lo-width/2, x.hi+width/2
	return x, y
}
