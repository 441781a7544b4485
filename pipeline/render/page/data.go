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
	slope *thresholds.Slope // nil where none is told
}

// group holds the figures of one pitch type and quality, in the order of outcomes.
type group struct {
	pitchType, variable string
	figures             []*figure
	joint               *figure // both outcomes at once; nil where no verdict tells of them
}

// gather collects the figures against a line, in the order of the tables.
// Pitches without a type of their own are counted and never tested: they have
// no figure.
func gather(t *thresholds.Tables, reference string) []*group {
	var out []*group
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
			out = grouped(out, f)
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
	for i := range t.Slopes {
		if f, p := find(t.Slopes[i].Key); f != nil {
			p.slope = &t.Slopes[i]
		}
	}
	return slices.DeleteFunc(out, func(g *group) bool { return !g.lend() })
}

// grouped puts a figure into its group, which begins where there is none.
func grouped(groups []*group, f *figure) []*group {
	i := slices.IndexFunc(groups, func(g *group) bool { return g.pitchType == f.pitchType && g.variable == f.variable })
	if i < 0 {
		i = len(groups)
		groups = append(groups, &group{pitchType: f.pitchType, variable: f.variable})
	}
	if f.outcome == thresholds.Joint {
		groups[i].joint = f
	} else {
		groups[i].figures = append(groups[i].figures, f)
	}
	return groups
}

// lend gives both outcomes at once the places that the first outcome's curves and
// bins cover: they have none of their own. It tells whether there is a first one.
func (g *group) lend() bool {
	if len(g.figures) == 0 {
		return false
	}
	if g.joint != nil {
		for i := range g.joint.panels {
			from := &g.figures[0].panels[i]
			g.joint.panels[i].Points, g.joint.panels[i].Bins = from.Points, from.Bins
		}
	}
	return true
}

// shown tells whether anything was shown in any matchup of any outcome.
func (g *group) shown() bool {
	return slices.ContainsFunc(g.figures, func(f *figure) bool { return f.shown() })
}

// found tells whether a breakpoint was found in any matchup for any outcome.
func (g *group) found() bool {
	return slices.ContainsFunc(g.figures, func(f *figure) bool {
		return slices.ContainsFunc(f.panels[:], func(p panel) bool { return p.Verdict != nil && p.Verdict.Verdict == "found" })
	})
}

// curves lists the curves of all outcomes and matchups.
func (g *group) curves() []*curve.Curve {
	var out []*curve.Curve
	for _, f := range g.figures {
		out = append(out, f.panels.curves()...)
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

// curves lists the curves of all matchups.
func (p *panels) curves() []*curve.Curve {
	out := make([]*curve.Curve, len(p))
	for i := range p {
		out[i] = &p[i].Curve
	}
	return out
}

// scales returns the scales that curves share, without places.
func scales(curves []*curve.Curve, width float64) (x, y axis) {
	across, up, _ := curve.Domains(curves, width)
	if math.IsNaN(across.Lo) {
		across.Lo, across.Hi = -width/2, 1+width/2
	}
	floor := min(up.Lo, 0) // no rate is negative
	pad := max(up.Hi-up.Lo, .05) * .08
	up.Lo, up.Hi = max(up.Lo-pad, floor-pad/2), up.Hi+pad
	x.Range, y.Range = across, up
	return x, y
}
