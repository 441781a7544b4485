package plot

import (
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// panel is what stands over one axis of the quality: a field with curves for each
// outcome of the figure.
type panel struct {
	name, who string // "L-v-L", "left-handed pitchers against left-handed batters"; or whose panel it is
	series    []series
	joint     *series // where all outcomes beat their lines, which has no field; nil but in a figure of joint
}

// series is one curve with all that belongs to it.
type series struct {
	matchup     pitch.Matchup
	source      string
	label       string // what tells its version from the one compared with
	second      bool   // of the version compared with
	tier        int    // the outcome of the figure, and so the field from the top down
	curve.Curve        // its bins are those with a place along the variable
	unknown     int64  // pitches without one
}

// gather collects the panels of a selection, and tells whether the source has
// a verdict on any of them.
func gather(src Source, sel Selection, o Options) (panels []panel, any bool) {
	for _, m := range pitch.Matchups {
		if len(sel.Matchups) > 0 && !slices.Contains(sel.Matchups, m) {
			continue
		}
		list, joint := readAll(src, sel, m)
		any = any || slices.ContainsFunc(list, func(s series) bool { return s.Verdict != nil })
		if o.Compare != nil {
			others, _ := readAll(*o.Compare, sel, m)
			others[0].second = true
			list[0].label, others[0].label = src.unlike(o.Compare), o.Compare.unlike(&src)
			list = append(list, others...)
		}
		last := len(panels) - 1
		if o.Overlay && last >= 0 && panels[last].series[0].matchup.Hand == m.Hand {
			panels[last].name = words.Sentence(m.Hand.String()) + "-handed pitchers"
			panels[last].who = "against both sides"
			panels[last].series = append(panels[last].series, list...)
			continue
		}
		panels = append(panels, panel{m.String(), words.Handed(m.Hand.String(), m.Side.String()), list, joint})
	}
	return panels, any
}

// readAll collects the curves of a matchup: that of the outcome, or of all outcomes,
// and then where they meet.
func readAll(src Source, sel Selection, m pitch.Matchup) (list []series, joint *series) {
	if sel.Outcome != thresholds.Joint {
		return []series{read(src, sel, m)}, nil
	}
	both := read(src, sel, m)
	for tier, o := range words.Outcomes {
		sel.Outcome = o.Name
		s := read(src, sel, m)
		s.tier = tier
		list = append(list, s)
	}
	both.Points, both.Bins = list[0].Points, list[0].Bins // its range is that of the first, as in a lookup
	return list, &both
}

// rows lists all that is told of a panel: each curve, and where all meet.
func (pn *panel) rows() []*series {
	var out []*series
	for i := range pn.series {
		out = append(out, &pn.series[i])
	}
	if pn.joint != nil {
		out = append(out, pn.joint)
	}
	return out
}

// told lists what a panel's heading tells: each curve, or where all meet.
func (pn *panel) told() []*series {
	all := pn.rows()
	if pn.joint != nil {
		return all[len(all)-1:]
	}
	return all
}

// on lists the curves of a field.
func (pn *panel) on(tier int) []*series {
	return slices.DeleteFunc(pn.rows(), func(s *series) bool { return s == pn.joint || s.tier != tier })
}

// read collects the rows of one curve.
func read(src Source, sel Selection, m pitch.Matchup) series {
	s := series{matchup: m, source: src.name()}
	key := thresholds.Key{Hand: m.Hand.String(), Side: m.Side.String(), PitchType: sel.PitchType,
		Stratum: sel.Stratum, Variable: sel.Variable, Outcome: sel.Outcome}
	t := src.Tables
	for i := range t.Verdicts {
		if v := &t.Verdicts[i]; v.Key == key && v.Reference == sel.Reference {
			s.Verdict = v
		}
	}
	if s.Verdict == nil {
		return s
	}
	for i := range t.Zones {
		if z := &t.Zones[i]; z.Key == key && z.Reference == sel.Reference {
			s.Zones = append(s.Zones, z)
		}
	}
	for i := range t.Curves {
		if c := &t.Curves[i]; c.Key == key && c.Reference == sel.Reference {
			s.Points = append(s.Points, *c)
		}
	}
	for i := range t.Bins {
		switch b := &t.Bins[i]; {
		case b.Key != key:
		case b.Kind == "missing":
			s.unknown += b.Pitches
		case b.Lower != nil || b.Upper != nil:
			s.Bins = append(s.Bins, b)
		}
	}
	return s
}
