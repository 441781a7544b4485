package plot

import (
	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
)

// axis is a scale whose places are lengths on the page.
type axis = curve.Scale[vg.Length]

// curves lists the curves of one outcome in all panels.
func (f *Figure) curves(tier int) []*curve.Curve {
	var out []*curve.Curve
	for i := range f.panels {
		for _, s := range f.panels[i].on(tier) {
			out = append(out, &s.Curve)
		}
	}
	return out
}

// across returns the scale of the quality that all panels share, without places.
func (f *Figure) across() axis {
	var all []*curve.Curve
	for tier := range f.outcomes {
		all = append(all, f.curves(tier)...)
	}
	x, _, _ := curve.Domains(all, f.quality.Width)
	return axis{Range: x}
}

// upwards returns the scale of one outcome that all panels share, without places. It
// holds intervals as far as these do not press the curves flat.
func (f *Figure) upwards(tier int) axis {
	_, up, wide := curve.Domains(f.curves(tier), f.quality.Width)
	floor := min(up.Lo, 0) // no rate is negative
	room := max(up.Hi-up.Lo, .2) * .15
	up.Lo, up.Hi = max(min(up.Lo, wide.Lo), up.Lo-room), min(max(up.Hi, wide.Hi), up.Hi+room)
	pad := max(up.Hi-up.Lo, .05) * .06
	up.Lo, up.Hi = max(up.Lo, floor)-pad, up.Hi+pad
	return axis{Range: up}
}

// sameLines tells whether the lines of every panel are those of the first.
func (f *Figure) sameLines() bool {
	type which struct {
		tier   int
		second bool
	}
	lines := map[which]float64{}
	for i := range f.panels {
		for _, s := range f.panels[i].series {
			m, ok := s.Line()
			w := which{s.tier, s.second}
			if before, seen := lines[w]; ok && seen && before != m {
				return false
			}
			if ok {
				lines[w] = m
			}
		}
	}
	return true
}
