package plot

import (
	"gonum.org/v1/plot/vg"

	"sill/pipeline/render/curve"
)

// axis is a scale whose places are lengths on the page.
type axis = curve.Scale[vg.Length]

// curves lists the curves of all panels.
func (f *Figure) curves() []*curve.Curve {
	var out []*curve.Curve
	for i := range f.panels {
		for j := range f.panels[i].series {
			out = append(out, &f.panels[i].series[j].Curve)
		}
	}
	return out
}

// scales returns the scales that all panels share, without places. Upwards they hold
// intervals as far as these do not press the curves flat.
func (f *Figure) scales() (x, y axis) {
	across, up, wide := curve.Domains(f.curves(), f.quality.Width)
	floor := min(up.Lo, 0) // no rate is negative
	room := max(up.Hi-up.Lo, .2) * .15
	up.Lo, up.Hi = max(min(up.Lo, wide.Lo), up.Lo-room), min(max(up.Hi, wide.Hi), up.Hi+room)
	pad := max(up.Hi-up.Lo, .05) * .06
	up.Lo, up.Hi = max(up.Lo, floor)-pad, up.Hi+pad
	return axis{Range: across}, axis{Range: up}
}
