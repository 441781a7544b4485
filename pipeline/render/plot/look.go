package plot

import (
	"image/color"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
)

// The colours, those of every picture (see package curve).
var (
	paper = color.NRGBA{0xff, 0xff, 0xff, 0xff}
	black = colour(curve.Ink)
	grey  = colour(curve.Grey)
	faint = colour(curve.Faint)
)

// colour reads a colour as a style sheet writes it.
func colour(hex string) color.NRGBA {
	rgb, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 24)
	if err != nil {
		panic("plot: a colour is not hexadecimal")
	}
	return color.NRGBA{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 0xff}
}

// style is how the curve of a matchup looks: colour, with a marker and, where
// curves share a panel, a dash as second and third cue.
type style struct {
	colour color.NRGBA
	marker marker
	dash   []vg.Length
}

func styleOf(m pitch.Matchup) style {
	i := slices.Index(pitch.Matchups[:], m)
	s := style{colour: colour(curve.Colours[i]), marker: []marker{circle, square, triangle, diamond}[i]}
	if !m.Same() {
		s.dash = []vg.Length{5, 3}
	}
	return s
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

// The measures of every figure, in its own points.
const (
	titleSize = vg.Length(16)
	headSize  = vg.Length(11.5)
	textSize  = vg.Length(9)
	smallSize = vg.Length(8)
	leading   = 1.28
	railStep  = vg.Length(11) // height of one curve's row of zones
	axisRoom  = vg.Length(14) // numbers under the axis
	lineWidth = vg.Length(2.2)
)

// form is what a figure is drawn on.
type form struct {
	wide, high vg.Length // in the figure's own points; it is as high as it needs where high is 0
	scale      float64   // points of the file for one of the figure's own
	resolution int       // of a PNG, in pixels to the inch
	margin     vg.Length
	gutter     vg.Length // between panels
	leftAxis   vg.Length // left of the first panel of a row: numbers and title
	rightRoom  vg.Length // right of a panel: the names of the line and of curves
	countRoom  vg.Length // height of the counts of pitches
	mark       vg.Length // size of marks, in that of a page
	columns    int       // panels in a row, at most
	brief      bool      // says as little as the back of a room can read
}

// pageOf is a page to be read at hand.
func pageOf(wide vg.Length) form {
	f := form{wide: wide, scale: 1, resolution: 96, margin: 14, gutter: 18, leftAxis: 46, rightRoom: 40, countRoom: 30, mark: 1, columns: 2}
	if wide < 440 {
		f.columns = 1
	}
	return f
}

// slide is a page of 16 to 9 for a wall, 13.33 by 7.5 inches. What it says stands twice
// as large as on a page: no letter is under 16 points there.
var slide = form{wide: 480, high: 270, scale: 2, resolution: 144, margin: 11, gutter: 7, leftAxis: 41, rightRoom: 38, mark: .8,
	columns: 4, brief: true}
