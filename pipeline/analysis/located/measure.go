package located

import (
	"math"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/tally"
	"sill/stats"
)

// The verdicts on a breakpoint.
const (
	Holds      = "holds"       // most of the gain is shown to stay with location held
	Partly     = "partly"      // part of it at least is shown to be location
	IsLocation = "is_location" // so is all that is worth telling
	CannotTell = "cannot_tell"
	TooFew     = "too_few" // pitches of a known location on a side, or too much of it on empty places
)

// verdicts are in the order of a legend.
var verdicts = []answer.Verdict{
	{Word: Holds, Name: "holds", One: "holds with location held", Several: "hold with location held"},
	{Word: Partly, Name: "partly location", One: "is partly location", Several: "are partly location"},
	{Word: IsLocation, Name: "is location", One: "is location: nothing worth telling is left",
		Several: "are location: nothing worth telling is left"},
	{Word: CannotTell, Name: "cannot tell", One: "cannot be told", Several: "cannot be told"},
	{Word: TooFew, Name: "not enough data", One: "has not enough data", Several: "have not enough data"},
}

// Row is one breakpoint.
type Row struct {
	answer.Subject
	variable tally.Variable
	edge     stats.Edge // the pitch is better above it where it goes up

	// Gains of the better side over the other, as thrown and with location held,
	// and the first less the second, with 95 % limits; NaN where too few tell.
	Thrown, Held, Loss answer.Estimate
	// Empty is the share of the weight of the gain with location held that stands on
	// places where no such pitch was thrown, on the side that has more of it; NaN where
	// there is no gain.
	Empty float64
	// Moved is the breakpoint with location held; its X is NaN where the curve no
	// longer passes the line, its limits where that is not confirmed, and infinite where
	// they are not pinned.
	Moved answer.Estimate
	// Shift is Moved less the breakpoint as thrown.
	Shift   answer.Estimate
	Verdict string
}

const (
	// minCrossing is the share of draws whose curves must pass the line for a shift of
	// the breakpoint to have limits.
	minCrossing = .95
	// maxEmpty is the share of the weight on empty places above which nothing is said.
	maxEmpty = .25
)

// measure fills the row.
func (r *Row) measure(s *sample, c curves) {
	none := answer.Unknown
	r.Thrown, r.Held, r.Loss, r.Moved, r.Shift, r.Empty = none, none, none, none, none, answer.NaN
	r.gains(s)
	if r.Empty > maxEmpty {
		r.Held, r.Loss = none, none
	} else {
		r.move(s, c)
	}
	r.judge()
}

// gains compares the two sides of the breakpoint, nodes above it and below, each node
// with the weight of its events: holding location then changes no node's place along
// the quality. Errors are from leaving out one pitcher at a time.
func (r *Row) gains(s *sample) {
	side := func(node int) int {
		if (s.x[node] >= r.edge.X) == r.edge.Up {
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
	m := r.Outcome()
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
		if n < float64(m.MinEvents) || heads < answer.MinPitchers || effective < answer.MinEffective {
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
	r.Empty = 0
	var events, empty [2]float64
	for node, share := range s.empty(&all) {
		n := sum(all.n[node*places : (node+1)*places])
		events[side(node)] += n
		empty[side(node)] += float64(n * share)
	}
	for side := range empty {
		r.Empty = max(r.Empty, empty[side]/events[side])
	}
	var a, b, loss []float64
	for p := range s.pitchers {
		s.add(&all, p, -1, own)
		t, h := of(&all)
		s.add(&all, p, 1, own)
		a, b, loss = append(a, t), append(b, h), append(loss, t-h)
	}
	limits := func(x float64, without []float64) answer.Estimate {
		return answer.Student(x, math.Sqrt(stats.JackknifeVariance(without)), max(1, effective-1))
	}
	r.Thrown, r.Held, r.Loss = limits(thrown, a), limits(held, b), limits(thrown-held, loss)
}

// move seeks the breakpoint with location held: the confirmed edge of that curve, as
// every table's edges are confirmed, within the limits at which the curve leaves the
// line, with the line's own error and batters as clusters too. Its shift is drawn with pitchers: rates, smoothing, line and both
// crossings anew.
func (r *Row) move(s *sample, c curves) {
	if c.held == nil || c.thrown == nil || s.pitchers < answer.MinPitchers {
		return
	}
	r.Moved.X = s.crossing(c.held.F, c.line.Value, r.edge.Up, r.edge.X)
	plain := s.crossing(c.thrown.F, c.line.Value, r.edge.Up, r.edge.X)
	nearest := math.Inf(1)
	for _, e := range c.held.Against(c.line, s.sign, c.second).Edges().Confirmed {
		if d := math.Abs(e.X - r.edge.X); e.Up == r.edge.Up && d < nearest {
			nearest = d
			r.Moved = answer.Estimate{X: e.X, Lo: e.Lo, Hi: e.Hi}
		}
	}
	if math.IsNaN(plain) || math.IsNaN(r.Moved.X) {
		return
	}
	r.Shift.X = r.Moved.X - plain
	if math.IsInf(nearest, 1) {
		return
	}
	var shifts []float64
	for k := range c.held.Replicates {
		line := c.line.Value
		if c.line.Rep != nil {
			line = c.line.Rep[k]
		}
		b := len(s.x)
		from := s.crossing(c.thrown.RepF[k*b:(k+1)*b], line, r.edge.Up, plain)
		to := s.crossing(c.held.RepF[k*b:(k+1)*b], line, r.edge.Up, r.Moved.X)
		if !math.IsNaN(from) && !math.IsNaN(to) {
			shifts = append(shifts, to-from)
		}
	}
	if float64(len(shifts)) >= float64(minCrossing*float64(c.held.Replicates)) && len(shifts) > 1 {
		r.Shift.Lo, r.Shift.Hi = stats.PercentileInterval(shifts, .95)
	}
}

func sum(v []float64) (total float64) {
	for _, x := range v {
		total += x
	}
	return total
}

// judge draws the verdict from the gains; a loss that is shown to be less than worth
// telling is none.
func (r *Row) judge() {
	delta := r.Outcome().Delta
	switch {
	case math.IsNaN(r.Loss.Lo):
		r.Verdict = TooFew
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
