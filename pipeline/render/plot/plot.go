// Package plot draws the figures of a published version: for one quality of one
// pitch type and one outcome, where does it beat the line? The four matchups
// stand side by side on the same axes, each with its curve, bins, zones,
// breakpoints, sample and verdict.
//
// Everything that is drawn is a row of the version; the package estimates
// nothing. It reads no clock: the same rows and options give the same bytes.
// The colour of a mark says which matchup it belongs to, and nothing else.
package plot

import (
	"cmp"
	"errors"
	"fmt"
	"iter"

	"gonum.org/v1/plot/vg"

	"sill/pipeline/pitch"
	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// ErrNothing says that the version has no verdict on what was selected.
var ErrNothing = errors.New("nothing to draw")

// Source is one version that figures are drawn from.
type Source struct {
	League, Version string
	Variables       []thresholds.Variable // their titles and units; one that is missing is named by its word
	Tables          *thresholds.Tables    // verdicts, zones, curves and bins; must not change while it is used
}

// Open reads what figures need from an opened version.
func Open(t *thresholds.Table) (Source, error) {
	m := t.Manifest()
	s := Source{League: m.Name, Version: m.Version, Variables: m.Variables, Tables: &thresholds.Tables{}}
	return s, errors.Join(
		collect(&s.Tables.Verdicts, t.Verdicts()),
		collect(&s.Tables.Zones, t.Zones()),
		collect(&s.Tables.Curves, t.Curves()),
		collect(&s.Tables.Bins, t.Bins()))
}

func collect[T any](dst *[]T, rows iter.Seq2[T, error]) error {
	for row, err := range rows {
		if err != nil {
			return err
		}
		*dst = append(*dst, row)
	}
	return nil
}

func (s *Source) name() string { return s.League + " " + s.Version }

// unlike is the shortest name that tells a source from another, "" where none does.
func (s *Source) unlike(other *Source) string {
	switch {
	case s.League != other.League:
		return s.League
	case s.Version != other.Version:
		return s.Version
	}
	return ""
}

// Selection names one figure.
type Selection struct {
	PitchType, Variable, Outcome string          // Outcome may be thresholds.Joint, for all of them and where they meet
	Reference                    string          // the line
	Stratum                      string          // "" for all pitches
	Matchups                     []pitch.Matchup // none for all four; drawn in the order of every table
}

// Options say how a figure is drawn.
type Options struct {
	// Slide draws for a wall: 16 to 9, 13.33 by 7.5 inches, in large letters.
	Slide bool
	// Width of a page; its height follows from what it holds. 0 is DefaultWidth. A
	// slide has its own.
	Width vg.Length
	// Resolution of a PNG in pixels per inch. 0 is 96, and 144 on a slide.
	Resolution int
	// Overlay draws both batter sides of a pitcher's hand in one panel.
	Overlay bool
	// Compare is a second version, whose curves are drawn dashed over those of
	// the first.
	Compare *Source
}

// The widths that a figure can have.
const (
	DefaultWidth = 750 * vg.Length(1) // 1,000 pixels at 96 to the inch
	MinWidth     = 269 * vg.Length(1) // 95 mm
	MaxWidth     = 2835 * vg.Length(1)
)

// Validate reports every fault of the options.
func (o Options) Validate() error {
	var errs []error
	if o.Width != 0 && !(o.Width >= MinWidth && o.Width <= MaxWidth) {
		errs = append(errs, fmt.Errorf("plot: width %.0f pt is not within %.0f to %.0f pt", o.Width, MinWidth, MaxWidth))
	}
	if o.Resolution < 0 || o.Resolution > 600 {
		errs = append(errs, fmt.Errorf("plot: resolution %d is not within 1 to 600 pixels per inch", o.Resolution))
	}
	if o.Overlay && o.Compare != nil {
		errs = append(errs, errors.New("plot: overlay and compare are for one figure each: four curves in a panel tell nothing"))
	}
	if o.Slide && o.Width != 0 {
		errs = append(errs, errors.New("plot: a slide has its own width"))
	}
	return errors.Join(errs...)
}

// Figure is one figure, laid out and ready to be written.
type Figure struct {
	title, subtitle string
	quality         curve.Quality
	outcomes        []words.Outcome // one for each field of a panel, from the top down
	panels          []panel
	notes           []string
	options         Options
	form            form
	ink             *ink
	compared        bool
}

// New lays out the figure of a selection. It fails with ErrNothing where the
// source has no verdict on any of the matchups; single matchups without one
// are drawn as empty panels that say why.
func New(src Source, sel Selection, o Options) (*Figure, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	if sel.Outcome == thresholds.Joint && (o.Overlay || o.Compare != nil) {
		return nil, errors.New("plot: a figure of joint has two outcomes in each panel, and no room for overlay or compare")
	}
	panels, any := gather(src, sel, o)
	if !any {
		return nil, fmt.Errorf("plot: %w: %s holds no verdict on %s, %s, %s against %s", ErrNothing, src.name(),
			typeTitle(sel.PitchType), words.Spaced(sel.Variable), words.Spaced(sel.Outcome), words.Spaced(sel.Reference))
	}
	f := &Figure{quality: qualityOf(src, sel.Variable, panels), outcomes: []words.Outcome{words.OutcomeOf(sel.Outcome)}, panels: panels,
		options: o, form: pageOf(cmp.Or(o.Width, DefaultWidth)), ink: newInk(), compared: o.Compare != nil}
	if sel.Outcome == thresholds.Joint {
		f.outcomes = words.Outcomes
	}
	if o.Slide {
		f.form = slide
	}
	f.form.resolution = cmp.Or(o.Resolution, f.form.resolution)
	f.words(src, sel)
	return f, nil
}
