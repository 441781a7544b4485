package plot

import (
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// panel is one pair of axes with the curves on it.
type panel struct {
	name, who string // "L-v-L", "left-handed pitchers against left-handed batters"; or whose panel it is
	series    []series
}

// series is one curve with all that belongs to it.
type series struct {
	matchup     pitch.Matchup
	source      string
	second      bool  // of the version compared with
	curve.Curve       // its bins are those with a place along the variable
	unknown     int64 // pitches without one
}

// gather collects the panels of a selection, and tells whether the source has
// a verdict on any of them.
func gather(src Source, sel Selection, o Options) (panels []panel, any bool) {
	for _, m := range pitch.Matchups {
		if len(sel.Matchups) > 0 && !slices.Contains(sel.Matchups, m) {
			continue
		}
		list := []series{read(src, sel, m)}
		any = any || list[0].Verdict != nil
		if o.Compare != nil {
			other := read(*o.Compare, sel, m)
			other.second = true
			list = append(list, other)
		}
		last := len(panels) - 1
		if o.Overlay && last >= 0 && panels[last].series[0].matchup.Hand == m.Hand {
			panels[last].name = words.Sentence(m.Hand.String()) + "-handed pitchers"
			panels[last].who = "against both sides"
			panels[last].series = append(panels[last].series, list...)
			continue
		}
		panels = append(panels, panel{m.String(), words.Handed(m.Hand.String(), m.Side.String()), list})
	}
	return panels, any
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
