package plot

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/pipeline/wording"
)

// panel is one pair of axes with the curves on it.
type panel struct {
	name, who string // "L-v-L", "left-handed pitchers against left-handed batters"; or whose panel it is
	series    []series
}

// series is one curve with all that belongs to it.
type series struct {
	matchup pitch.Matchup
	source  string
	second  bool                // of the version compared with
	verdict *thresholds.Verdict // nil where the version has none
	zones   []thresholds.Zone
	curve   []thresholds.CurvePoint
	bins    []thresholds.Bin // with a place along the variable
	unknown int64            // pitches without one
}

// gather collects the panels of a selection, and tells whether the source has
// a verdict on any of them.
func gather(src Source, sel Selection, o Options) (panels []panel, any bool) {
	for _, m := range pitch.Matchups {
		if len(sel.Matchups) > 0 && !slices.Contains(sel.Matchups, m) {
			continue
		}
		list := []series{read(src, sel, m)}
		any = any || list[0].verdict != nil
		if o.Compare != nil {
			other := read(*o.Compare, sel, m)
			other.second = true
			list = append(list, other)
		}
		last := len(panels) - 1
		if o.Overlay && last >= 0 && panels[last].series[0].matchup.Hand == m.Hand {
			panels[last].name = wording.Sentence(m.Hand.String()) + "-handed pitchers"
			panels[last].who = "against both sides"
			panels[last].series = append(panels[last].series, list...)
			continue
		}
		panels = append(panels, panel{m.String(), m.Hand.String() + "-handed pitchers against " + m.Side.String() + "-handed batters", list})
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
			s.verdict = v
		}
	}
	if s.verdict == nil {
		return s
	}
	for i := range t.Zones {
		if z := &t.Zones[i]; z.Key == key && z.Reference == sel.Reference {
			s.zones = append(s.zones, *z)
		}
	}
	for i := range t.Curves {
		if c := &t.Curves[i]; c.Key == key && c.Reference == sel.Reference {
			s.curve = append(s.curve, *c)
		}
	}
	for i := range t.Bins {
		switch b := &t.Bins[i]; {
		case b.Key != key:
		case b.Kind == "missing":
			s.unknown += b.Pitches
		case b.Lower != nil || b.Upper != nil:
			s.bins = append(s.bins, *b)
		}
	}
	return s
}

// line returns the value of the line, ok false where there is none.
func (s *series) line() (m float64, ok bool) {
	if s.verdict == nil || s.verdict.Line == nil {
		return 0, false
	}
	return *s.verdict.Line, true
}

// stretch is a part of the variable that certainly lies on one side of the line.
type stretch struct {
	lo, hi float64
	good   bool
}

// certain lists the stretches that the verdict claims. Too few and
// inconclusive claim none; always and never without zones of their own claim
// the central nine tenths of the events, or all of the curve.
func (s *series) certain() []stretch {
	if s.verdict == nil || len(s.curve) == 0 {
		return nil
	}
	word := s.verdict.Verdict
	switch word {
	case "found", "edge_unresolved", "always_beats", "never_beats":
	default:
		return nil
	}
	var out []stretch
	for _, z := range s.zones {
		if z.CertainLo != nil && z.CertainHi != nil {
			out = append(out, stretch{*z.CertainLo, *z.CertainHi, z.Sign > 0})
		}
	}
	if len(s.zones) == 0 && (word == "always_beats" || word == "never_beats") {
		lo, hi := s.central()
		if s.verdict.Everywhere {
			lo, hi = s.curve[0].X, s.curve[len(s.curve)-1].X
		}
		if lo <= hi {
			out = append(out, stretch{lo, hi, word == "always_beats"})
		}
	}
	return out
}

// central returns the places of the first and the last bin whose middle lies
// within the central nine tenths of the events: where always and never hold.
func (s *series) central() (lo, hi float64) {
	var total, below float64
	for _, b := range s.bins {
		total += float64(b.Events)
	}
	lo, hi = 1, 0
	for _, b := range s.bins {
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
	above  bool    // whether the zone that beats the line lies above it
	room   float64 // how far that zone reaches, in the variable's unit
}

// breakpoints lists the confirmed edges, each once though two zones share it.
func (s *series) breakpoints() []breakpoint {
	var out []breakpoint
	add := func(kind string, at, lo, hi *float64, above bool) {
		if kind == "edge" && at != nil && !slices.ContainsFunc(out, func(b breakpoint) bool { return b.at == *at }) {
			out = append(out, breakpoint{at: *at, lo: lo, hi: hi, above: above})
		}
	}
	if len(s.certain()) == 0 {
		return nil
	}
	for _, z := range s.zones {
		add(z.LowerKind, z.Lower, z.LowerLo, z.LowerHi, z.Sign > 0)
		add(z.UpperKind, z.Upper, z.UpperLo, z.UpperHi, z.Sign < 0)
	}
	for i := range out {
		b := &out[i]
		end := s.curve[0].X
		if b.above {
			end = s.curve[len(s.curve)-1].X
		}
		b.room = math.Abs(end - b.at)
		for _, other := range out {
			if d := other.at - b.at; d != 0 && d > 0 == b.above {
				b.room = min(b.room, math.Abs(d))
			}
		}
	}
	return out
}

// at interpolates a column of the curve; x lies within it.
func (s *series) at(x float64, column func(thresholds.CurvePoint) float64) float64 {
	i, _ := slices.BinarySearchFunc(s.curve, x, func(c thresholds.CurvePoint, x float64) int {
		switch {
		case c.X < x:
			return -1
		case c.X > x:
			return 1
		}
		return 0
	})
	i = min(max(i, 1), len(s.curve)-1)
	if len(s.curve) == 1 {
		return column(s.curve[0])
	}
	a, b := s.curve[i-1], s.curve[i]
	u := (x - a.X) / (b.X - a.X)
	return float64((1-u)*column(a)) + float64(u*column(b))
}

func rateOf(c thresholds.CurvePoint) float64 { return c.Rate }

// span returns the values that a bin stands for: its own edges, and at an open
// end as far beyond the closed edge as its mean lies, twice.
func span(b *thresholds.Bin, width float64) (lo, hi float64) {
	switch {
	case b.Lower != nil && b.Upper != nil:
		return *b.Lower, *b.Upper
	case b.Lower == nil:
		hi = *b.Upper
		if b.Mean != nil {
			width = max(width, 2*(hi-*b.Mean))
		}
		return hi - width, hi
	default:
		lo = *b.Lower
		if b.Mean != nil {
			width = max(width, 2*(*b.Mean-lo))
		}
		return lo, lo + width
	}
}
