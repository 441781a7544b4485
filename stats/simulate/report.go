package simulate

import (
	"math"

	"sill/stats"
)

// Share is how often something happened.
type Share struct{ Hits, Of int }

// Add counts one more trial.
func (s *Share) Add(hit bool) {
	s.Of++
	if hit {
		s.Hits++
	}
}

// Plus adds up two counts.
func (s Share) Plus(t Share) Share { return Share{s.Hits + t.Hits, s.Of + t.Of} }

// Rate is the share, NaN of none.
func (s Share) Rate() float64 { return float64(s.Hits) / float64(s.Of) }

// SE is the Monte Carlo standard error were the true share p.
func (s Share) SE(p float64) float64 { return math.Sqrt(p * (1 - p) / float64(s.Of)) }

// EdgeReport is how one true edge fared.
type EdgeReport struct {
	TrueEdge
	Confirmed Share   // of the sets
	Covered   Share   // of the confirmed: its interval holds the truth
	Plain     Share   // of the confirmed: so do the limits of the band itself (EdgesAt)
	Open      Share   // of the confirmed: a limit is infinite
	Weak      Share   // of the confirmed: carries the warning of low power
	WeakHit   Share   // of those with the warning: the interval holds the truth
	RMSE      float64 // of the confirmed, in units of x; NaN for none
	RMSESE    float64 // its Monte Carlo standard error
	squares   float64
	fourths   float64
}

// Classes are the lower limits of effective clusters by which bins are told.
var Classes = [classes]float64{0, 5, 10, 20, 40}

const classes = 5

func class(effective float64) int {
	k := 0
	for k+1 < classes && effective >= Classes[k+1] {
		k++
	}
	return k
}

// CellReport is how the curve of one cell fared.
type CellReport struct {
	Curve string
	Edges []EdgeReport
	// Rejected is how often the curve was not taken to be flat; Found how often
	// there was a confirmed edge too.
	Rejected, Found Share
	// Structure is how often, when found, the confirmed edges were as many and in
	// the same order as the true ones.
	Structure Share
	// Stray counts confirmed edges that answer to no true one, over all sets.
	Stray int
	// Level and Advantage are, by set, over the nodes with 5 to 95 % of events
	// below, the share whose 95 % interval holds the truth: of the curve itself,
	// and of its advantage over the line. SE is the mean standard error of the
	// advantage there.
	Level, Advantage, SE []float64
	// Bins is how often the interval of a bin's raw rate holds the mean of the
	// true curve at its node, by Classes of effective clusters. (The curve's bend
	// inside a bin is neglected.)
	Bins [classes]Share
	// Above and Below are how often the cell was said to lie above or below the
	// line overall; Always and Never how often the advantage was said to be above
	// or below 0 over the central 90 % of events, AlwaysWrong and NeverWrong how
	// often it is not so at one of the nodes there; Everywhere how often either was
	// said of every observed x; Touching how often either would be said if every
	// node whose bin touches the central 90 % had to show it.
	Above, Below, Always, Never, AlwaysWrong, NeverWrong, Everywhere, Touching Share
	// Overall is the true advantage over all events; Throughout its sign over the
	// central 90 %, 0 where it changes; Whole says that it is so over the whole.
	Overall    float64
	Throughout int
	Whole      bool
}

// Report is how a design fared against one line.
type Report struct {
	Cells []CellReport
	// Line is how often the 95 % interval of the line holds the true one, Bias what
	// the line exceeds the true one by, by set.
	Line Share
	Bias []float64
}

// Report holds the outcomes against the truth, in order of the sets, and returns
// a report for each reference.
func (j *Judge) Report(outcomes []*Outcome) []*Report {
	var reports []*Report
	for r, truth := range j.truths {
		report := &Report{}
		for c := range j.cells {
			cell := CellReport{Curve: j.design.Cells[c].Curve.Name, Overall: j.design.Sign() * (truth.Overall[c] - truth.Line)}
			cell.Throughout, cell.Whole = truth.Throughout(c)
			for _, e := range truth.Edges[c] {
				cell.Edges = append(cell.Edges, EdgeReport{TrueEdge: e})
			}
			for _, out := range outcomes {
				cell.add(out.cells[c], out.lines[r].cells[c], j.o.Level)
			}
			for i := range cell.Edges {
				cell.Edges[i].finish()
			}
			report.Cells = append(report.Cells, cell)
		}
		for _, out := range outcomes {
			l := out.lines[r]
			report.Line.Add(math.Abs(l.value-truth.Line) <= l.half)
			report.Bias = append(report.Bias, l.value-truth.Line)
		}
		reports = append(reports, report)
	}
	return reports
}

// finish works out the error of the edge's place.
func (e *EdgeReport) finish() {
	n := float64(e.Confirmed.Hits)
	mean := e.squares / n
	e.RMSE = math.Sqrt(mean)
	e.RMSESE = math.Sqrt(max(0, e.fourths/n-mean*mean)/n) / (2 * e.RMSE)
}

// add counts one data set.
func (c *CellReport) add(cell cellOutcome, out against, level float64) {
	c.Rejected.Add(cell.p < level)
	found := cell.p < level && len(out.edges) > 0
	c.Found.Add(found)
	c.Level = append(c.Level, cell.level)
	c.Advantage = append(c.Advantage, out.advantage)
	c.SE = append(c.SE, out.se)
	for i := range c.Bins {
		c.Bins[i] = c.Bins[i].Plus(cell.bins[i])
	}
	c.Above.Add(out.overall > 0)
	c.Below.Add(out.overall < 0)
	c.Always.Add(out.throughout > 0)
	c.Never.Add(out.throughout < 0)
	c.AlwaysWrong.Add(out.throughout > 0 && out.wrong)
	c.NeverWrong.Add(out.throughout < 0 && out.wrong)
	c.Touching.Add(out.touching != 0)
	c.Everywhere.Add(out.throughout != 0 && out.everywhere)
	answers, stray := c.match(out.edges)
	c.Stray += stray
	same := len(out.edges) == len(c.Edges)
	for i, k := range answers {
		t := &c.Edges[i]
		t.Confirmed.Add(k >= 0)
		same = same && k == i
		if k < 0 {
			continue
		}
		e, p := out.edges[k], out.plain[k]
		t.Covered.Add(e.Lo <= t.X && t.X <= e.Hi)
		t.Plain.Add(p.Lo <= t.X && t.X <= p.Hi)
		t.Open.Add(math.IsInf(e.Lo, 0) || math.IsInf(e.Hi, 0))
		t.Weak.Add(e.Weak)
		if e.Weak {
			t.WeakHit.Add(e.Lo <= t.X && t.X <= e.Hi)
		}
		off := (e.X - t.X) * (e.X - t.X)
		t.squares += off
		t.fourths += off * off
	}
	if found {
		c.Structure.Add(same)
	}
}

// match finds the confirmed edge that answers to each true one, −1 for none, and
// counts those that answer to none: an edge answers to the nearest true edge of
// its direction that no nearer one answers to.
func (c *CellReport) match(edges []stats.Edge) (answers []int, stray int) {
	answers = make([]int, len(c.Edges))
	for i := range answers {
		answers[i] = -1
	}
	for k, e := range edges {
		best := -1
		for i, t := range c.Edges {
			if t.Up == e.Up && (best < 0 || math.Abs(t.X-e.X) < math.Abs(c.Edges[best].X-e.X)) {
				best = i
			}
		}
		switch {
		case best < 0:
			stray++
		case answers[best] < 0:
			answers[best] = k
		default:
			if math.Abs(edges[answers[best]].X-c.Edges[best].X) > math.Abs(e.X-c.Edges[best].X) {
				answers[best] = k
			}
			stray++
		}
	}
	return answers, stray
}
