package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sill/stats"
)

// edgeSets is the full number of data sets of a design of the study of edges,
// plateauSets of one whose edge few of them confirm.
const (
	edgeSets    = 500
	plateauSets = 1500
)

// edgeDesign is a design with the bars of its edges.
type edgeDesign struct {
	name    string
	law     League
	covered Bar  // of confirmed edges
	crossed Bar  // of those whose direction has a true crossing
	pinned  Bar  // share with both limits finite
	bands   Bar  // central coverage of the curve
	level   bool // past the edge the curve is level, but for the rest of a short rise
	always  bool // the bars of edges hold however few sets confirm one
	sets    int
}

// edgeDesigns are smooth curves and sharp ones, of few clusters and many, as
// proportions and as run values. Second clusters differ everywhere.
func edgeDesigns() []edgeDesign {
	smooth, sharp := Between(.93, .985), Between(.93, .98)
	var out []edgeDesign
	add := func(c Curve, clusters int, run bool, covered Bar) *edgeDesign {
		d, name := Default(c), fmt.Sprintf("%s, %d clusters", c.Name, clusters)
		if run {
			d, name = RunValues(turned(c)), "run values, "+name
		}
		d.Clusters = clusters
		if c.Name == U.Name || c.Name == FaintU.Name {
			d.X = WideLike
		}
		d.Second, d.SecondSD = 250, .28
		// Two cells share the line, so that a data set gives two curves.
		d.SizeMedian, d.SizeMin, d.SizeMax = 1.5*d.SizeMedian, 1.5*d.SizeMin, 1.5*d.SizeMax
		d.Cells = []Cell{{Curve: d.Cells[0].Curve, Share: .55}, {Curve: d.Cells[0].Curve, Share: .45}}
		law := NewLeague(d)
		law.Sides = true
		e := edgeDesign{name: name, law: law, covered: covered, crossed: NoBar, pinned: NoBar, bands: NoBar, sets: edgeSets}
		if covered == smooth {
			e.bands = Between(.93, .98)
		}
		out = append(out, e)
		return &out[len(out)-1]
	}
	for _, n := range []int{25, 60, 120, 300} {
		if e := add(Mono, n, false, smooth); n == 60 {
			e.pinned = AtLeast(.95)
		}
	}
	for _, n := range []int{60, 120} {
		add(Two, n, false, smooth)
		add(Band, n, false, smooth)
	}
	add(Tick, 120, false, sharp)
	add(Hump, 60, false, smooth)
	add(Hump, 120, false, smooth)
	add(Dip, 120, false, smooth)
	add(U, 160, false, sharp)
	add(FaintU, 60, false, smooth)
	for _, run := range []bool{false, true} {
		plateau, jump, ramp := 200, 120, 120
		if run {
			plateau, jump, ramp = 300, 300, 300
		}
		e := add(Plateau, plateau, run, AtLeast(.88))
		e.crossed, e.level, e.always, e.sets = AtLeast(.92), true, true, plateauSets
		if !run {
			e.pinned = AtLeast(.85)
		}
		e = add(Jump, jump, run, AtLeast(.93))
		e.level, e.always = true, true
		add(Ramp, ramp, run, sharp).level = true
	}
	for _, c := range []Curve{Mono, Two, Band, Tick, U} {
		add(c, 300, true, smooth)
	}
	return out
}

// The measures of the study of edges.
const (
	edgeSeen      = "true crossing confirmed"
	edgeHeld      = "edge covered"
	edgeCrossed   = "edge covered, of those whose direction has a crossing"
	edgePinned    = "edge pinned on both sides"
	edgeNarrow    = "width of a pinned edge, median"
	edgeWide      = "width of an edge, median, an open limit reaching to the end of what was seen"
	stretchWrong  = "certain stretch with a place on the wrong side"
	eventsWrong   = "events of certain stretches on the wrong side"
	eventsCertain = "events of certain stretches"
	keepsSaid     = "said to go on past the edge"
	keepsFalse    = "said to go on past the edge, where the curve is level or turns back"
	keepsTrue     = "said to go on past the edge, where the curve does"
	bandCentral   = "band of the curve, covered point by point, central 90 %"
	bandEnds      = "band of the curve, covered point by point, the ends"
)

// edges judges what is said of breakpoints of found curves, and of the stretches
// beside them, on both lines.
func edges(ctx context.Context, o Options) ([]Finding, error) {
	var plans []leaguePlan
	for _, d := range edgeDesigns() {
		seed := o.stream("study edges " + d.name)
		truth := make([]*Truth, len(lines))
		for l := range lines {
			truth[l] = d.law.Truth(0, lines[l].reference, seed)[0]
		}
		plans = append(plans, leaguePlan{d.name, seed, d.law, d.sets, func(g *dataset, s Scores) {
			drawn := make([]stats.Line, len(lines))
			for l := range lines {
				drawn[l] = g.line(0, lines[l].reference, g.draws)
			}
			for c, f := range g.fitAll(0)[0] {
				s.bands(f, func(x float64) float64 { return truth[0].At(c, x) })
				found := g.p(at{0, 0, c}, f) < judgedAt
				for l := range lines {
					s.spoken(f.against(drawn[l]), truth[l].Edges[c], found, truth[l].advantage(c))
				}
			}
		}, d.tell})
	}
	return o.leagues(ctx, plans...)
}

// bands counts at the nodes how often the band of a curve holds the truth.
func (s Scores) bands(f fitted, truth func(x float64) float64) {
	b, middle := f.itself(), central(f.Curve)
	for i := range f.N {
		of := bandEnds
		if slices.Contains(middle, i) {
			of = bandCentral
		}
		s.Hit(of, nodeHeld(b, i, truth))
	}
}

// spoken counts what is said of one curve against one line.
func (s Scores) spoken(b *stats.Band, truth []TrueEdge, found bool, advantage func(x float64) float64) {
	edges := b.Edges()
	if !found {
		edges = stats.Edges{}
	}
	for _, t := range truth {
		s.Hit(edgeSeen, slices.ContainsFunc(edges.Confirmed, func(e stats.Edge) bool { return e.Up == t.Up }))
	}
	for _, e := range edges.Confirmed {
		held, nearest := holdsTrue(e, truth)
		s.Hit(edgeHeld, held)
		if !math.IsInf(nearest, 1) {
			s.Hit(edgeCrossed, held)
		}
		pinned := !math.IsInf(e.Lo, 0) && !math.IsInf(e.Hi, 0)
		s.Hit(edgePinned, pinned)
		if pinned {
			s.Value(edgeNarrow, e.Hi-e.Lo)
		}
		s.Value(edgeWide, min(e.Hi, b.X[len(b.X)-1])-max(e.Lo, b.X[0]))
	}
	if found {
		s.beside(b, edges, truth, advantage)
	}
}

// tell gives the findings of a design of the study of edges.
func (d edgeDesign) tell(t *Sheet) {
	// Fewer than 30 of a thing, at a smaller size in proportion, are too few for its
	// bar to be held against them.
	few := func(measure string) bool {
		return float64(t.Total(measure).Of) < 30*min(1, float64(len(t.Results))/float64(d.sets))
	}
	tell := func(measure string, bar Bar) {
		if few(measure) {
			bar = NoBar
		}
		if t.Total(measure).Of > 0 {
			t.Clustered(measure, bar, "")
		}
	}
	if !(d.always || t.Rate(edgeSeen) >= .3) {
		d.covered = NoBar
	}
	tell(edgeSeen, NoBar)
	tell(edgeHeld, d.covered)
	if d.crossed != NoBar {
		tell(edgeCrossed, d.crossed)
	}
	tell(edgePinned, d.pinned)
	t.Median(edgeNarrow)
	t.Median(edgeWide)
	tell(stretchWrong, AtMost(.05))
	if !few(stretchWrong) {
		t.Ratio(eventsWrong, eventsCertain, AtMost(.05))
	}
	if d.level {
		tell(keepsSaid, AtMost(.06))
	}
	tell(keepsFalse, AtMost(.06))
	tell(keepsTrue, NoBar)
	tell(bandCentral, d.bands)
	tell(bandEnds, NoBar)
}

// sure is a stretch of which a band says for certain that it lies above the line
// (sign +1) or below it (−1).
type sure struct {
	lo, hi float64
	sign   int
}

// certain lists the stretches of which a band is certain.
func certain(b *stats.Band, e stats.Edges) []sure {
	var out []sure
	for _, z := range b.Zones(e) {
		for _, c := range z.Certain {
			out = append(out, sure{c.Lo, c.Hi, z.Sign})
		}
	}
	return out
}

// beyondMargin is the change below which the course past an edge is said to hold.
const beyondMargin = .020

// beside counts what a band says of the stretches of which it is certain, and of the
// course of the advantage past an edge, away from the line.
func (s Scores) beside(b *stats.Band, e stats.Edges, truth []TrueEdge, advantage func(x float64) float64) {
	for _, c := range certain(b, e) {
		wrong, events, amiss := hold(b.Curve, c.lo, c.hi, c.sign, advantage)
		s.Hit(stretchWrong, wrong)
		s.Value(eventsWrong, amiss)
		s.Value(eventsCertain, events)
	}
	first, last := b.X[0], b.X[len(b.X)-1]
	for _, z := range b.Zones(e) {
		for _, upper := range []bool{false, true} {
			near, far := z.Lower, z.Upper
			from, to := 0.0, last
			if upper {
				near, far = z.Upper, z.Lower
				to = first
			}
			if near.End != stats.Edged || far.End == stats.Edged {
				continue // nothing to go on to
			}
			// The stretch that is spoken of begins at the limit on the zone's side,
			// and not before the true edge.
			edge := e.Confirmed[near.Edge]
			from = edge.Hi
			if upper {
				from = edge.Lo
			}
			if math.IsInf(from, 0) {
				from = edge.X
			}
			for _, t := range truth {
				if t.Up == edge.Up && math.Abs(t.X-edge.X) < 2*b.Curve.Width {
					if upper {
						from = min(from, t.X)
					} else {
						from = max(from, t.X)
					}
				}
			}
			slope := slopeOver(b.Curve, from, to, advantage) * float64(z.Sign)
			if upper {
				slope = -slope
			}
			keeps := b.Beyond(z, e, upper, beyondMargin).Course == stats.KeepsRising
			s.Hit(keepsSaid, keeps)
			if slope > 1e-6 {
				s.Hit(keepsTrue, keeps)
			} else {
				s.Hit(keepsFalse, keeps)
			}
		}
	}
}

// hold looks at 100 places of a stretch that is said to lie on one side of the line: is
// one on the other side, how many events lie on the stretch, and how many at such
// places? The events are those of the bins, spread evenly from node to node.
func hold(c *stats.Curve, lo, hi float64, sign int, advantage func(x float64) float64) (wrong bool, events, amiss float64) {
	const steps = 100
	for i := range steps + 1 {
		x := lo + (hi-lo)*float64(i)/steps
		n := density(c, x) * (hi - lo) / (steps + 1)
		events += n
		if float64(sign)*advantage(x) < -1e-9 {
			wrong = true
			amiss += n
		}
	}
	return wrong, events, amiss
}

// density is events per unit of x, from those of the two nodes about it.
func density(c *stats.Curve, x float64) float64 {
	for i := 1; i < len(c.X); i++ {
		if x <= c.X[i] {
			return (c.N[i-1] + c.N[i]) / 2 / (c.X[i] - c.X[i-1])
		}
	}
	return 0
}

// slopeOver is the least-squares slope of the true advantage over the places
// between two points, weighted by events; 0 where they are not apart.
func slopeOver(c *stats.Curve, from, to float64, advantage func(x float64) float64) float64 {
	const steps = 60
	var n, sx, sy float64
	at := func(i int) (x, w float64) {
		x = from + (to-from)*(float64(i)+.5)/steps
		return x, density(c, x)
	}
	for i := range steps {
		x, w := at(i)
		n += w
		sx += w * x
		sy += w * advantage(x)
	}
	var xx, xy float64
	for i := range steps {
		x, w := at(i)
		xx += w * (x - sx/n) * (x - sx/n)
		xy += w * (x - sx/n) * (advantage(x) - sy/n)
	}
	if !(xx > 1e-12) {
		return 0
	}
	return xy / xx
}
