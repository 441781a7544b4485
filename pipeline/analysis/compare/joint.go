package compare

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/parallel"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
)

// correlate draws both versions again with one draw of the pitchers of both, and
// gives every pair of breakpoints and of lines its correlation. The limits stay
// the published ones, batters included; only the correlation is new. Breakpoints of
// both outcomes at once, which have no curve, are taken as independent: the interval of
// their difference is rather too wide.
func correlate(ctx context.Context, from, to Side, edges, lines []*pair, o Options) error {
	a, err := redraw(ctx, from, to, o)
	if err != nil {
		return err
	}
	b, err := redraw(ctx, to, from, o)
	if err != nil {
		return err
	}
	var wanted []*pair
	for _, p := range edges {
		if p.Change == "" && p.Outcome != thresholds.Joint {
			wanted = append(wanted, p)
		}
	}
	// the pairs of one curve, against either line, stand together
	tasks := slices.Collect(answer.Runs(wanted, func(a, b **pair) bool { return (*a).Key == (*b).Key }))
	err = parallel.Each(ctx, runtime.GOMAXPROCS(0), len(tasks), func(_, i int) error {
		k := tasks[i][0].Key
		ca, err := a.curve(k)
		if err != nil {
			return err
		}
		cb, err := b.curve(k)
		if err != nil {
			return err
		}
		for _, p := range tasks[i] {
			va, vb := bandOf(ca, p.Reference), bandOf(cb, p.Reference)
			if va == nil || vb == nil {
				p.Change, p.Note = CannotTell, "the hand-over does not hold the curve"
				continue
			}
			up := p.Edge == "from"
			p.rho = stats.EdgeCorrelation(vb, va,
				stats.Edge{X: p.to.Estimate, Lo: p.to.Lo, Hi: p.to.Hi, Up: up},
				stats.Edge{X: p.from.Estimate, Lo: p.from.Lo, Hi: p.from.Hi, Up: up})
			if math.IsNaN(p.rho) {
				p.rho = 0
				p.Change, p.Note = CannotTell, "the breakpoint lies outside the curve of the hand-over"
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, p := range lines {
		if p.Change != "" {
			continue
		}
		la, lb := a.line(p.Key, p.Reference), b.line(p.Key, p.Reference)
		if la == nil || lb == nil || la.Rep == nil || lb.Rep == nil {
			p.Change, p.Note = CannotTell, "the hand-over does not hold the line"
			continue
		}
		p.rho = stats.Correlation(la.Rep, lb.Rep)
	}
	return nil
}

// drawn is a version drawn anew.
type drawn struct {
	*estimate.Estimate
	variables []tally.Variable
}

// redraw estimates all pitches of a version along the other one, with the
// version's own settings: both take the seed of neither.
func redraw(ctx context.Context, s, other Side, o Options) (*drawn, error) {
	own, err := EstimateOptions(s.Manifest)
	if err != nil {
		return nil, fmt.Errorf("settings of %s: %w", s.Manifest.Version, err)
	}
	own.Seed, own.Replicates, own.Batters, own.Along = 0, o.Replicates, false, other.Tally
	all := *s.Tally
	all.Cells = slices.DeleteFunc(slices.Clone(all.Cells), func(c tally.CellTable) bool { return c.Cell.Stratum != tally.AllStrata })
	e, err := estimate.New(ctx, &all, own)
	if err != nil {
		return nil, err
	}
	return &drawn{e, all.Variables}, nil
}

// curve fits one curve, nil where there is none.
func (d *drawn) curve(k thresholds.Key) (*estimate.Curve, error) {
	at := slices.IndexFunc(d.variables, func(v tally.Variable) bool { return v.Name == k.Variable })
	c, err := answer.ParseCell(k.PitchType, k.Hand, k.Side)
	if at < 0 || err != nil {
		return nil, nil
	}
	return d.Fitted(estimate.CellKey{Stratum: k.Stratum, Type: c.Type, Hand: c.Hand, Side: c.Side}, at, outcome.MetricIndex(k.Outcome))
}

// line finds a headline line, nil where there is none.
func (d *drawn) line(k thresholds.Key, reference string) *estimate.Line {
	for _, l := range d.Lines() {
		if l.Name == reference && l.Type.String() == k.PitchType && l.Stratum == "" && l.Metric == outcome.MetricIndex(k.Outcome) {
			return l
		}
	}
	return nil
}

// bandOf is as much of the advantage over a line as its replicates need.
func bandOf(c *estimate.Curve, reference string) *stats.Band {
	if c == nil {
		return nil
	}
	i := slices.IndexFunc(c.Lines, func(l *estimate.Line) bool { return l.Name == reference })
	if i < 0 || !c.Lines[i].Usable() {
		return nil
	}
	return &stats.Band{Curve: c.Fit, Sign: c.Sign(), Line: c.Lines[i].Stats()}
}
