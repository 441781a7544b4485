package page

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
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

// panel is one matchup of a figure; its bins include that of the pitches without
// a value of the quality.
type panel struct {
	matchup pitch.Matchup
	curve.Curve
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
			p.Verdict = v
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
				p.Zones = append(p.Zones, &t.Zones[i])
			}
		}
	}
	for i := range t.Curves {
		if f, p := find(t.Curves[i].Key); f != nil {
			f.curves.add(i)
			if t.Curves[i].Reference == reference {
				p.Points = append(p.Points, t.Curves[i])
			}
		}
	}
	for i := range t.Bins {
		if f, p := find(t.Bins[i].Key); f != nil {
			f.bins.add(i)
			p.Bins = append(p.Bins, &t.Bins[i])
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
	return slices.ContainsFunc(p[:], func(p panel) bool { return p.Verdict != nil && curve.Shown(p.Verdict.Verdict) })
}

// domains returns the ranges of both axes, which the panels share: across, the
// curves and half a bin more; upwards, the curves with their bands over the
// central nine tenths, the line, and the rates of the bins.
func (f *figure) domains(width float64) (x, y scale) {
	x, y = scale{lo: math.Inf(1), hi: math.Inf(-1)}, scale{lo: math.Inf(1), hi: math.Inf(-1)}
	for i := range f.panels {
		p := &f.panels[i]
		if m, ok := p.Line(); ok {
			y.grow(m)
		}
		from, to := p.Central()
		for _, c := range p.Points {
			x.grow(c.X)
			y.grow(c.Rate)
			if c.X >= from && c.X <= to {
				y.grow(c.Lo)
				y.grow(c.Hi)
			}
		}
		for _, b := range p.Bins {
			if lo, hi, ok := curve.Reach(b, width); ok && len(p.Points) == 0 {
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
