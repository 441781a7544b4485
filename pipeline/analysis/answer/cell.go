package answer

import (
	"cmp"
	"context"
	"errors"
	"iter"
	"slices"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// Cell is a matchup and a pitch type, over all seasons.
type Cell struct {
	Hand pitch.Hand
	Side pitch.Side
	Type pitch.Type
}

// CellOf is the cell of a tally's cell.
func CellOf(c tally.Cell) Cell { return Cell{c.Hand, c.Side, c.Type} }

// CellOfPitch is the cell of a pitch.
func CellOfPitch(p *pitch.Pitch) Cell { return Cell{p.Hand, p.Side, p.Type} }

// ParseCell reads the cell of a row; a word that is not known, as of a later program,
// is an error.
func ParseCell(pitchType, hand, side string) (Cell, error) {
	t, err1 := pitch.NamedType(pitchType)
	h, err2 := pitch.ParseHand(hand)
	s, err3 := pitch.ParseSide(side)
	return Cell{h, s, t}, errors.Join(err1, err2, err3)
}

// Compare orders cells by type, hand and side.
func (c Cell) Compare(o Cell) int {
	return cmp.Or(c.Type.Compare(o.Type), cmp.Compare(c.Hand, o.Hand), cmp.Compare(c.Side, o.Side))
}

// Key names the cell's curve of a variable and an outcome in a version.
func (c Cell) Key(variable string, metric int) thresholds.Key {
	return thresholds.Key{Hand: c.Hand.String(), Side: c.Side.String(), PitchType: c.Type.String(),
		Variable: variable, Outcome: outcome.Metrics[metric].Name}
}

// Matchup is the matchup of the cell.
func (c Cell) Matchup() pitch.Matchup { return pitch.Matchup{Hand: c.Hand, Side: c.Side} }

// Title names the cell for people: "four-seam L-v-R".
func (c Cell) Title() string { return words.Cell(c.Type.String(), c.Hand.String(), c.Side.String()) }

// Subject is what an answer is about: a cell and an outcome.
type Subject struct {
	Cell   Cell
	Metric int
}

// Outcome is what was compared.
func (s Subject) Outcome() outcome.Metric { return outcome.Metrics[s.Metric] }

// Batters says what batters did: "batters missed .245 of their swings".
func (s Subject) Batters(rate float64) string { return words.OutcomeOf(s.Outcome().Name).Batters(rate) }

// Type is the pitch type for people.
func (s Subject) Type() string { return words.Type(s.Cell.Type.String()) }

// Matchup is "L-v-R".
func (s Subject) Matchup() string { return s.Cell.Matchup().String() }

// Title names the subject for people: "four-seam L-v-R · whiff rate".
func (s Subject) Title() string { return s.Cell.Title() + " · " + s.Outcome().Title }

// Filter tells which answers are shown.
type Filter func(t pitch.Type, m pitch.Matchup, outcome string) bool

// Passes tells whether an answer about the subject is shown.
func (s Subject) Passes(f Filter) bool { return f(s.Cell.Type, s.Cell.Matchup(), s.Outcome().Name) }

// Zones seeks the zones of every curve of a tally as sill run does, without what an
// answer has no use of: contrasts and the curves themselves.
func Zones(ctx context.Context, t *tally.Tally, eo estimate.Options, lo locate.Options) (*estimate.Estimate, []thresholds.Zone, error) {
	e, err := estimate.New(ctx, t, eo)
	if err != nil {
		return nil, nil, err
	}
	lo.Contrasts, lo.CurvePoints = false, 1
	tables, err := locate.Locate(ctx, e, lo)
	if err != nil {
		return nil, nil, err
	}
	return e, tables.Zones, nil
}

// Edges lists the confirmed breakpoints of one curve of a version against a line; a
// limit that is open is infinite. The zones on both sides of one tell it: it counts once.
func Edges(zones []thresholds.Zone, k thresholds.Key, reference string) []stats.Edge {
	var out []stats.Edge
	for i := range zones {
		if z := &zones[i]; z.Key == k && z.Reference == reference {
			out = AddEdges(out, z)
		}
	}
	return out
}

// AddEdges adds the confirmed breakpoints at a zone's ends to a list that lacks them.
func AddEdges(list []stats.Edge, z *thresholds.Zone) []stats.Edge {
	for _, b := range z.Edges() {
		e := stats.Edge{X: b.At, Lo: Or(b.Lo, -infinity), Hi: Or(b.Hi, infinity), Up: b.BeatsAbove}
		if !slices.Contains(list, e) {
			list = append(list, e)
		}
	}
	return list
}

// Runs walks a list by its longest stretches of neighbours that are alike.
func Runs[T any](list []T, alike func(a, b *T) bool) iter.Seq[[]T] {
	return func(yield func([]T) bool) {
		for len(list) > 0 {
			n := 1
			for n < len(list) && alike(&list[0], &list[n]) {
				n++
			}
			if !yield(list[:n]) {
				return
			}
			list = list[n:]
		}
	}
}
