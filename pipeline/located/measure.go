package located

import (
	"math"

	"sill/pipeline/estimate"
	"sill/pipeline/outcome"
	"sill/pipeline/tally"
	"sill/stats"
)

// The verdicts on a breakpoint.
const (
	Holds      = "holds"       // most of the gain is shown to stay with location held
	Partly     = "partly"      // part of it at least is shown to be location
	IsLocation = "is_location" // so is all that is worth telling
	CannotTell = "cannot_tell"
)

// Verdicts lists the verdicts in the order of a legend.
var Verdicts = []string{Holds, Partly, IsLocation, CannotTell}

// Row is one breakpoint.
type Row struct {
	key      estimate.CellKey
	variable tally.Variable
	metric   int
	edge     edge

	// Gains of the better side over the other, as thrown and with location held,
	// and the first less the second, with 95 % limits; NaN where too few tell.
	Thrown, Held, Loss estimateOf
	// Moved is the breakpoint with location held; its X is NaN where the curve no
	// longer passes the line.
	Moved estimateOf
	// Shift is Moved less the breakpoint as thrown.
	Shift   estimateOf
	Verdict string
}

// estimateOf is a number with its 95 % limits.
type estimateOf struct{ X, Lo, Hi float64 }

// shiftDraws is how often pitchers are drawn for a moved breakpoint.
const shiftDraws = 400

// The least sample on each side.
const (
	minPitchers  = 5
	minEffective = 3
	// minCrossing is the share of draws whose curve must pass the line for a moved
	// breakpoint to have limits.
	minCrossing = .95
)

// measure fills the row.
func (r *Row) measure(s *sample, o Options) {
	none := estimateOf{nan, nan, nan}
	r.Thrown, r.Held, r.Loss, r.Moved, r.Shift = none, none, none, none, none
	r.gains(s)
	r.move(s, o)
	r.judge()
}

// gains compares the two sides of the breakpoint, nodes above it and below, each node
// with the weight of its events: holding location then changes no node's place along
// the quality. Errors are from leaving out one pitcher at a time.
func (r *Row) gains(s *sample) {
	side := func(node int) int {
		if (s.x[node] >= r.edge.x) == r.edge.up {
			return 1
		}
		return 0
	}
	own := func(node int) int { return node }
	all := newCounts(len(s.x))
	sizes := [2][]float64{make([]float64, s.pitchers), make([]float64, s.pitchers)}
	for p := range s.pitchers {
		s.add(&all, p, 1, own)
		for _, e := range s.entries[s.start[p]:s.start[p+1]] {
			sizes[side(e.node)][p] += e.n
		}
	}
	m := outcome.Metrics[r.metric]
	effective := math.Inf(1)
	for _, side := range sizes {
		heads, n := 0, 0.0
		for _, k := range side {
			if k > 0 {
				heads++
			}
			n += k
		}
		effective = min(effective, stats.EffectiveNumber(side))
		if n < float64(m.MinEvents) || heads < minPitchers || effective < minEffective {
			return
		}
	}
	of := func(c *counts) (thrown, held float64) {
		n, t, h := s.rates(c)
		var events, a, b [2]float64
		for node, k := range n {
			at := side(node)
			events[at] += k
			a[at] += float64(k * t[node])
			b[at] += float64(k * h[node])
		}
		return s.sign * (a[1]/events[1] - a[0]/events[0]), s.sign * (b[1]/events[1] - b[0]/events[0])
	}
	thrown, held := of(&all)
	var a, b, loss []float64
	for p := range s.pitchers {
		s.add(&all, p, -1, own)
		t, h := of(&all)
		s.add(&all, p, 1, own)
		a, b, loss = append(a, t), append(b, h), append(loss, t-h)
	}
	t := stats.TQuantile(.975, max(1, effective-1))
	limits := func(x float64, without []float64) estimateOf {
		half := float64(t * math.Sqrt(stats.JackknifeVariance(without)))
		return estimateOf{x, x - half, x + half}
	}
	r.Thrown, r.Held, r.Loss = limits(thrown, a), limits(held, b), limits(thrown-held, loss)
}

// move seeks the breakpoint with location held, and draws pitchers for its limits:
// in each draw rates, smoothing and both crossings anew, the line as it is.
func (r *Row) move(s *sample, o Options) {
	if len(s.x) < 2 {
		return
	}
	grid := stats.LambdaGrid(o.Estimate.LambdaSteps)
	nodes := make([]float64, len(s.x))
	for i, x := range s.x {
		nodes[i] = x / s.width
	}
	smoother := stats.NewSmoother(nodes, grid)
	own := func(node int) int { return node }
	all := newCounts(len(s.x))
	for p := range s.pitchers {
		s.add(&all, p, 1, own)
	}
	n, thrown, held := s.rates(&all)
	plain, lambda := s.crossing(smoother, grid[0], thrown, n, r.edge.up, r.edge.x)
	moved, lambdaHeld := s.crossing(smoother, grid[0], held, n, r.edge.up, r.edge.x)
	r.Moved.X = moved
	if math.IsNaN(plain) || math.IsNaN(moved) || s.pitchers < minPitchers {
		return
	}
	r.Shift.X = moved - plain
	w := draws(o.Estimate.Seed, []string{r.key.Hand.String(), r.key.Side.String(), r.key.Type.String(), r.variable.Name, outcome.Metrics[r.metric].Name},
		s.pitchers, shiftDraws)
	var places, shifts []float64
	for k := range shiftDraws {
		c := newCounts(len(s.x))
		for p, times := range w.Row(k) {
			if times > 0 {
				s.add(&c, p, float64(times), own)
			}
		}
		n, t, h := s.rates(&c)
		a, _ := s.crossing(smoother, lambda, t, n, r.edge.up, r.edge.x)
		b, _ := s.crossing(smoother, lambdaHeld, h, n, r.edge.up, r.edge.x)
		if !math.IsNaN(b) {
			places = append(places, b)
			if !math.IsNaN(a) {
				shifts = append(shifts, b-a)
			}
		}
	}
	if float64(len(shifts)) < minCrossing*shiftDraws {
		return
	}
	r.Moved.Lo, r.Moved.Hi = stats.PercentileInterval(places, .95)
	r.Shift.Lo, r.Shift.Hi = stats.PercentileInterval(shifts, .95)
}

// judge draws the verdict from the gains; a loss that is shown to be less than worth
// telling is none.
func (r *Row) judge() {
	delta := outcome.Metrics[r.metric].Delta
	switch {
	case math.IsNaN(r.Loss.Lo):
		r.Verdict = CannotTell
	case r.Held.Lo > 0 && (r.Loss.Hi < delta || r.Loss.Lo <= 0 && r.Loss.Hi < r.Thrown.X/2):
		r.Verdict = Holds
	case r.Loss.Lo > 0 && r.Held.Hi < delta:
		r.Verdict = IsLocation
	case r.Loss.Lo > 0:
		r.Verdict = Partly
	default:
		r.Verdict = CannotTell
	}
}
