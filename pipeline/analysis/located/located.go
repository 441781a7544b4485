// Package located asks whether a breakpoint survives once location is held: each
// bin of a quality is weighted to the league's mix of where pitches of its type
// cross the plate, and what the quality then still brings is compared with what it
// brings as thrown. A shallow fastball misses more bats partly for being high.
//
// It reads pitches and writes no files.
package located

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// DefaultVariables are the qualities that are asked about where none is named.
var DefaultVariables = []string{"velocity", "induced_vertical_break", "horizontal_break", "vertical_approach_angle", "neutral_approach_angle"}

// Options say which breakpoints are asked about and how they are sought.
type Options struct {
	Variables []string
	Estimate  estimate.Options
	Locate    locate.Options
}

// ErrVariables marks qualities that cannot be asked about.
var ErrVariables = errors.New("hold location: no quality to ask about")

// DefaultOptions asks about DefaultVariables.
func DefaultOptions() Options {
	return Options{Variables: DefaultVariables, Estimate: estimate.DefaultOptions(), Locate: locate.DefaultOptions()}
}

// Where a pitch crosses the plate: a sixth of the batter's zone in height, below or
// above it, by centre, border or outside of the zone. A pitch below or above is never
// in the centre. Thirds are too coarse: an outcome that goes straight with height leaves
// enough inside of a third to belie what is told to be location.
var (
	heights = [...]string{"below", "sixth_1", "sixth_2", "sixth_3", "sixth_4", "sixth_5", "sixth_6", "above"}
	parts   = [...]string{"centre", "border", "outside"}
)

const places = len(heights) * len(parts)

// location is the stratum of the places.
func location() (tally.Stratum, error) {
	list, err := tally.StrataNamed([]string{"zone_part"})
	if err != nil {
		return tally.Stratum{}, err
	}
	part := list[0].Of
	return tally.Stratum{Name: "location", Of: func(p *pitch.Pitch, names *tally.Names) string {
		h, z := heightOf(p), part(p, names)
		if h == "" || z == "" {
			return ""
		}
		return h + "_" + z
	}}, nil
}

// heightOf is the height at which a pitch crosses the front of the plate, the lowest
// sixth of the batter's own zone being the first; "" where it is not known.
func heightOf(p *pitch.Pitch) string {
	top, bottom, z := p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateHeight]
	sixth := (top - bottom) / 6
	switch {
	case !(sixth > 0) || pitch.IsMissing(z):
		return ""
	case z < bottom:
		return heights[0]
	case z > top:
		return heights[7]
	}
	return heights[1+min(5, int((z-bottom)/sixth))]
}

// placeOf is the number of a place by its stratum, −1 for none.
func placeOf(stratum string) int {
	for h, height := range heights {
		for z, part := range parts {
			if stratum == "location:"+height+"_"+part {
				return h*len(parts) + z
			}
		}
	}
	return -1
}

// Measure seeks breakpoints as sill run does and asks of each whether it survives.
// It reads the pitches once.
func Measure(ctx context.Context, p tally.Pitches, o Options) (*Report, error) {
	vars, err := shape.Only(p.Variables(), o.Variables)
	if err != nil {
		return nil, fmt.Errorf("%w: the source does not tell all that is asked: %w", ErrVariables, err)
	}
	vars = slices.DeleteFunc(slices.Clone(vars), func(v shape.Variable) bool { return v.Name == "plate_height" || v.Name == "plate_side" })
	if len(vars) == 0 {
		return nil, fmt.Errorf("%w: name one other than location itself", ErrVariables)
	}
	at, err := location()
	if err != nil {
		return nil, err
	}
	counts, err := tally.Count(ctx, p, vars, at)
	if err != nil {
		return nil, err
	}
	whole := *counts // the split of all cells is no family of tests here
	whole.Cells = slices.DeleteFunc(slices.Clone(counts.Cells), func(c tally.CellTable) bool { return c.Cell.Stratum != tally.AllStrata })
	e, zones, err := answer.Zones(ctx, &whole, o.Estimate, o.Locate)
	if err != nil {
		return nil, err
	}
	return ask(ctx, counts, e, zones, o)
}

// ask goes through the confirmed breakpoints.
func ask(ctx context.Context, counts *tally.Tally, e *estimate.Estimate, zones []thresholds.Zone, o Options) (*Report, error) {
	r := &Report{}
	scoring := o.Estimate.Scoring()
	mixes := map[mixKey][]float64{}
	for v := range counts.Variables {
		for metric := range outcome.Metrics {
			curves, err := e.Sample(tally.AllStrata, v, metric)
			if err != nil {
				return nil, err
			}
			asked := make([][]Row, len(curves))
			for i, c := range curves {
				about := answer.Subject{Cell: answer.Cell{Hand: c.Key.Hand, Side: c.Key.Side, Type: c.Key.Type}, Metric: metric}
				for _, x := range answer.Edges(zones, about.Cell.Key(counts.Variables[v].Name, metric), estimate.TypeMedian) {
					asked[i] = append(asked[i], Row{Subject: about, variable: counts.Variables[v], edge: x})
				}
				if key := (mixKey{c.Key.Type, metric}); len(asked[i]) > 0 && mixes[key] == nil {
					mixes[key] = mixOf(counts, key, &scoring)
				}
			}
			err = parallel.Each(ctx, max(1, o.Locate.Workers), len(curves), func(_, i int) error {
				if len(asked[i]) == 0 {
					return nil
				}
				c := curves[i]
				place, w := e.Draws(c.Key.Hand)
				s := newSample(counts, c, mixes[mixKey{c.Key.Type, metric}], &scoring, place)
				line := slices.IndexFunc(c.Lines, func(l *estimate.Line) bool { return l.Name == estimate.TypeMedian })
				fitted := s.fit(c, c.Lines[line].Stats(), w, stats.LambdaGrid(o.Estimate.LambdaSteps))
				for k := range asked[i] {
					asked[i][k].measure(s, fitted)
				}
				return nil
			})
			if err != nil {
				return nil, err
			}
			r.Rows = append(r.Rows, slices.Concat(asked...)...)
		}
	}
	r.sort()
	return r, nil
}

type mixKey struct {
	kind   pitch.Type
	metric int
}

// mixOf is the league's mix of places over the events of a pitch type.
func mixOf(t *tally.Tally, k mixKey, s *outcome.Scoring) []float64 {
	mix := make([]float64, places)
	total := 0.0
	for i := range t.Cells {
		c := &t.Cells[i]
		at := placeOf(c.Cell.Stratum)
		if at < 0 || c.Cell.Type != k.kind {
			continue
		}
		for j := range c.Totals {
			n, _, _ := c.Totals[j].Values(k.metric, s)
			mix[at] += float64(n)
			total += float64(n)
		}
	}
	for i := range mix {
		mix[i] /= total
	}
	return mix
}
