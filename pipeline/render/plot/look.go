package plot

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/pitch"
)

// The colours. Text reaches a contrast of 4.5 to 1 with the paper and marks 3
// to 1 (Web Content Accessibility Guidelines 2.1, criteria 1.4.3 and 1.4.11),
// which a test computes. The four of the matchups are blue, orange, green and
// purple as Okabe and Ito chose them to be told apart with any colour vision
// (Color Universal Design, 2008, from memory), darkened until they reach it.
var (
	paper = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	black = color.NRGBA{0x1d, 0x1f, 0x24, 0xff} // the line, titles
	grey  = color.NRGBA{0x5c, 0x61, 0x6b, 0xff} // what can wait
	faint = color.NRGBA{0xe9, 0xea, 0xec, 0xff} // grid, carries nothing
)

// style is how the curve of a matchup looks: colour, with a marker and, where
// curves share a panel, a dash as second and third cue.
type style struct {
	colour color.NRGBA
	marker marker
	dash   []vg.Length
}

func styleOf(m pitch.Matchup) style {
	switch {
	case m == pitch.Matchups[0]:
		return style{color.NRGBA{0x00, 0x66, 0xa8, 0xff}, circle, nil}
	case m == pitch.Matchups[1]:
		return style{color.NRGBA{0xb8, 0x4a, 0x00, 0xff}, square, []vg.Length{9, 3}}
	case m == pitch.Matchups[2]:
		return style{color.NRGBA{0x00, 0x73, 0x55, 0xff}, triangle, []vg.Length{9, 3}}
	}
	return style{color.NRGBA{0x96, 0x3b, 0x74, 0xff}, diamond, nil}
}

// comparedDash is the dash of a second version's curves.
var comparedDash = []vg.Length{2.5, 2.5}

// dash is the dash of a curve in a panel of its own or among others.
func (s *series) dash(pn *panel) []vg.Length {
	switch {
	case s.second:
		return comparedDash
	case pn.mixed():
		return styleOf(s.matchup).dash
	}
	return nil
}

// mixed tells whether a panel holds curves of more than one matchup.
func (pn *panel) mixed() bool {
	return slices.ContainsFunc(pn.series, func(s series) bool { return s.matchup != pn.series[0].matchup })
}

// soft returns a colour at an opacity.
func soft(c color.NRGBA, opacity float64) color.NRGBA {
	c.A = uint8(opacity*255 + .5)
	return c
}

// The measures of the page, in points.
const (
	margin    = vg.Length(14)
	gutter    = vg.Length(18) // between panels
	leftAxis  = vg.Length(46) // left of the first panel of a row: numbers and title
	rightRoom = vg.Length(40) // right of each panel: the name of the line
	titleSize = vg.Length(16)
	headSize  = vg.Length(11.5)
	textSize  = vg.Length(9)
	smallSize = vg.Length(8)
	leading   = 1.28
	railStep  = vg.Length(11) // height of one curve's row of zones
	countRoom = vg.Length(30) // height of the counts of pitches
	axisRoom  = vg.Length(14) // numbers under the axis
	lineWidth = vg.Length(2.2)
)
