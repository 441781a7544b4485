package main

import (
	"bytes"
	"errors"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"gonum.org/v1/plot/vg"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/plot"
	"sill/pipeline/render/terminal"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
)

// newPlot is the command that draws a figure of a published version.
func newPlot(t *terminal.Terminal) *cobra.Command {
	var at place
	var matchups []string
	var outcomeName, reference, stratum, compare, out, format, size, width string
	var overlay, force bool
	cmd := &cobra.Command{
		Use:   "plot TYPE VARIABLE",
		Short: "Draw one figure as SVG, PNG or PDF",
		Long: `plot draws where one quality of one pitch type beats the line, the matchups on
the same axes: rates of the bins and the smooth curve with their intervals, the
line, the zones, the breakpoints and the pitches behind them. The same version
gives the same bytes.`,
		Example: `  sill plot four_seam velocity --out four_seam.svg
  sill plot sinker velocity --matchup L-v-L --out sinker.png --width 900px
  sill plot changeup induced_vertical_break --outcome woba_against --out changeup.pdf --width 180mm
  sill plot four_seam velocity --size slide --out wall.png      # 1,920 by 1,080 pixels, for the back of a room
  sill plot four_seam velocity --outcome joint --out both.svg   # whiff rate over wOBA-against, and where both beat
  sill plot four_seam velocity --overlay --out both_sides.svg   # L-v-L with L-v-R, R-v-L with R-v-R
  sill plot four_seam velocity --compare v1.0.0 --out moved.svg # or a league, or a folder
  sill plot cutter velocity --out - --format png > cutter.png`,
		Args: args("TYPE", "VARIABLE"),
		RunE: func(cmd *cobra.Command, words []string) error {
			o := plot.Options{Overlay: overlay}
			var err error
			switch {
			case overlay && compare != "":
				return usagef("plot: --overlay and --compare are for one figure each: four curves in a panel tell nothing")
			case fold(outcomeName) == thresholds.Joint && (overlay || compare != ""):
				return usagef("plot: --outcome joint draws two outcomes in each panel, which leaves no room for --overlay or --compare")
			}
			if format, err = pictureFormat(out, format); err != nil {
				return err
			}
			if o.Slide, err = parseSize(size); err != nil {
				return err
			}
			if o.Slide && cmd.Flags().Changed("width") {
				return usagef("plot: --width is for a page; a slide is 13.33 by 7.5 inches, 1920 by 1080 pixels")
			}
			if !o.Slide {
				if o.Width, o.Resolution, err = parseWidth(width); err != nil {
					return err
				}
			}
			src, err := openPicture(&at)
			if err != nil {
				return err
			}
			only := filters{types: words[:1], matchups: matchups, variables: words[1:], outcomes: []string{outcomeName}, stratum: stratum, joint: true}
			s, err := only.selection(src.Tables, reference)
			if err != nil {
				return err
			}
			if compare != "" {
				second, err := at.named(compare)
				if err != nil {
					return err
				}
				other, err := openPicture(second)
				if err != nil {
					return err
				}
				o.Compare = &other
			}
			sel := plot.Selection{PitchType: s.Types[0], Variable: s.Variables[0], Outcome: s.Outcomes[0], Reference: s.Reference, Stratum: s.Stratum}
			for _, m := range pitch.Matchups {
				if slices.Contains(s.Matchups, m.String()) {
					sel.Matchups = append(sel.Matchups, m)
				}
			}
			figure, err := plot.New(src, sel, o)
			if errors.Is(err, plot.ErrNothing) {
				return usageError{err}
			}
			if err != nil {
				return err
			}
			var b bytes.Buffer
			if err := figure.Write(&b, format); err != nil {
				return err
			}
			if out == "-" {
				_, err = t.Out.Write(b.Bytes())
				return err
			}
			return writeNew(out, b.Bytes(), force)
		},
		ValidArgsFunction: func(_ *cobra.Command, got []string, _ string) ([]string, cobra.ShellCompDirective) {
			choices := [][]string{typeWords(), shape.Names(shape.Variables)}
			if len(got) < len(choices) {
				return choices[len(got)], cobra.ShellCompDirectiveNoFileComp
			}
			return nil, cobra.ShellCompDirectiveNoFileComp
		},
	}
	f := cmd.Flags()
	at.flags(f)
	f.StringSliceVar(&matchups, "matchup", nil, "matchups, such as `L-v-L,L-v-R` (default all four)")
	f.StringVar(&outcomeName, "outcome", outcome.Names()[0], "`outcome`: "+words.Commas(eachAndBoth())+": where both beat their lines")
	f.StringVar(&reference, "reference", thresholds.HeadlineReference, "`line` compared with")
	f.StringVar(&stratum, "stratum", "", "extra split, such as a third of the plate's height")
	f.BoolVar(&overlay, "overlay", false, "draw both batter sides of a pitcher's hand in one panel")
	f.StringVar(&compare, "compare", "", "draw another `version` dashed over it: v1.0.0, a league, a folder, or either with a version behind it (kestrel@v1.0.0)")
	f.StringVar(&out, "out", "", "`file` to write, its ending names the format; - for standard output")
	f.StringVar(&format, "format", "", "`format`: "+words.Commas(plot.Formats())+" (default the file's ending, else svg)")
	f.StringVar(&size, "size", sizes[0], "`size`: page, to be read at hand, or slide, 16 to 9 in letters for the back of a room")
	f.StringVar(&width, "width", "1000px", "`width` of a page, such as 180mm, 18cm, 7in or 1000px; a PNG has 300 pixels to the inch unless it is given in px")
	f.BoolVar(&force, "force", false, "replace the file")
	complete(cmd, "matchup", pitch.MatchupNames())
	complete(cmd, "outcome", eachAndBoth())
	complete(cmd, "format", plot.Formats())
	complete(cmd, "size", sizes)
	return cmd
}

// sizes are what a figure can be drawn for.
var sizes = []string{"page", "slide"}

// parseSize tells whether a figure is drawn for a wall.
func parseSize(s string) (slide bool, err error) {
	word, err := parseWord("size", sizes)(s)
	return word == sizes[1], err
}

// openPicture opens the version at a place for drawing.
func openPicture(at *place) (plot.Source, error) {
	v, err := at.open()
	if err != nil {
		return plot.Source{}, err
	}
	return plot.Open(v.table)
}

// pictureFormat decides on a format before anything is read.
func pictureFormat(out, format string) (string, error) {
	ending := strings.ToLower(strings.TrimPrefix(filepath.Ext(out), "."))
	switch {
	case out == "":
		return "", usagef("plot: missing --out FILE; its ending names the format, - is standard output")
	case format == "" && out == "-":
		return plot.Formats()[0], nil
	case format == "":
		format = ending
	}
	if !slices.Contains(plot.Formats(), format) {
		return "", usagef("unknown format %q (known: %s)", format, words.Commas(plot.Formats()))
	}
	if out != "-" && ending != format && slices.Contains(plot.Formats(), ending) {
		return "", usagef("plot: --out %s ends in .%s, but --format is %s", out, ending, format)
	}
	return format, nil
}

var lengthPattern = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?)(mm|cm|in|px)$`)

// parseWidth reads a length, and the resolution of a PNG of that width.
func parseWidth(s string) (vg.Length, int, error) {
	m := lengthPattern.FindStringSubmatch(s)
	if m == nil {
		return 0, 0, usagef("--width %q is not a length such as 180mm, 18cm, 7in or 1000px", s)
	}
	x, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, 0, usageError{err}
	}
	unit := map[string]float64{"mm": 72 / 25.4, "cm": 72 / 2.54, "in": 72, "px": .75}[m[2]]
	wide, resolution := vg.Length(x*unit), 300
	if m[2] == "px" {
		resolution = 96
	}
	if wide < plot.MinWidth || wide > plot.MaxWidth {
		return 0, 0, usagef("--width %s is not within 360px to 3780px (95 mm to 1000 mm)", s)
	}
	return wide, resolution, nil
}
