package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"sill/stats"
	"sill/stats/simulate"
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
	law     simulate.League
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
	add := func(c simulate.Curve, clusters int, run bool, covered Bar) *edgeDesign {
		d, name := simulate.Default(c), fmt.Sprintf("%s, %d clusters", c.Name, clusters)
		if run {
			d, name = simulate.RunValues(turned(c)), "run values, "+name
		}
		d.Clusters = clusters
		if c.Name == simulate.U.Name || c.Name == simulate.FaintU.Name {
			d.X = simulate.WideLike
		}
		d.Second, d.SecondSD = 250, .28
		// Two cells share the line, so that a data set gives two curves.
		d.SizeMedian, d.SizeMin, d.SizeMax = 1.5*d.SizeMedian, 1.5*d.SizeMin, 1.5*d.SizeMax
		d.Cells = []simulate.Cell{{Curve: d.Cells[0].Curve, Share: .55}, {Curve: d.Cells[0].Curve, Share: .45}}
		law := simulate.NewLeague(d)
		law.Sides = true
		e := edgeDesign{name: name, law: law, covered: covered, crossed: NoBar, pinned: NoBar, bands: NoBar, sets: edgeSets}
		if covered == smooth {
			e.bands = Between(.93, .98)
		}
		out = append(out, e)
		return &out[len(out)-1]
	}
	for _, n := range []int{25, 60, 120, 300} {
		if e := add(simulate.Mono, n, false, smooth); n == 60 {
			e.pinned = AtLeast(.95)
		}
	}
	for _, n := range []int{60, 120} {
		add(simulate.Two, n, false, smooth)
		add(simulate.Band, n, false, smooth)
	}
	add(simulate.Tick, 120, false, sharp)
	add(simulate.Hump, 60, false, smooth)
	add(simulate.Hump, 120, false, smooth)
	add(simulate.Dip, 120, false, smooth)
	add(simulate.U, 160, false, sharp)
	add(simulate.FaintU, 60, false, smooth)
	for _, run := range []bool{false, true} {
		plateau, jump, ramp := 200, 120, 120
		if run {
			plateau, jump, ramp = 300, 300, 300
		}
		e := add(simulate.Plateau, plateau, run, AtLeast(.88))
		e.crossed, e.level, e.always, e.sets = AtLeast(.92), true, true, plateauSets
		if !run {
			e.pinned = AtLeast(.85)
		}
		e = add(simulate.Jump, jump, run, AtLeast(.93))
		e.level, e.always = true, true
		add(simulate.Ramp, ramp, run, sharp).level = true
	}
	for _, c := range []simulate.Curve{simulate.Mono, simulate.Two, simulate.Band, simulate.Tick, simulate.U} {
		add(c, 300, true, smooth)
	}
	return out
}

// The measures of the study of edges.
const (
	edgeSeen     = "true crossing confirmed"
	edgeHeld     = "edge covered"
	edgeCrossed  = "edge covered, of those whose direction has a crossing"
	edgePinned   = "edge pinned on both sides"
	edgeNarrow   = "width of a pinned edge, median"
	edgeWide     = "width of an edge, median, an open limit reaching to the end of what was seen"
	stretchWrong = "certain stretch with a place on the wrong side"
	eventsWrong  = "events of certain stretches on the wrong side"
	keepsSaid    = "said to go on past the edge"
	keepsFalse   = "said to go on past the edge, where the curve is level or turns back"
	keepsTrue    = "said to go on past the edge, where the curve does"
	bandCentral  = "band of the curve, covered point by point, central 90 %"
	bandEnds     = "band of the curve, covered point by point, the ends"
)

// edges judges what is said of breakpoints of found curves, and of the stretches
// beside them, on both lines.
func (m method) edges(ctx context.Context, o Options) ([]Finding, error) {
	var out []Finding
	for _, d := range edgeDesigns() {
		seed := "edges " + d.name
		truth := make([]*simulate.Truth, len(lines))
		for l := range lines {
			truth[l] = d.law.Truth(0, lines[l].reference, seedOf(o, seed))[0]
		}
		r, err := m.play(ctx, o, seed, d.law, d.sets, func(g *league, s scores) {
			drawn := make([]stats.Line, len(lines))
			for l := range lines {
				drawn[l] = g.line(0, lines[l].reference)
			}
			for c := range d.law.Views[0].Crews[0].Cells {
				f := g.fit(at{0, 0, c}, g.draws)
				s.bands(f, func(x float64) float64 { return truth[0].At(c, x) })
				found := g.p(at{0, 0, c}, f) < judgedAt
				for l := range lines {
					s.spoken(f.against(drawn[l]), truth[l].Edges[c], found, func(x float64) float64 {
						return f.sign * (truth[l].At(c, x) - truth[l].Line)
					})
				}
			}
		})
		if err != nil {
			return nil, err
		}
		out = append(out, r.edgeBars(d)...)
	}
	return out, nil
}

// bands counts at the nodes how often the band of a curve holds the truth.
func (s scores) bands(f fitted, truth func(x float64) float64) {
	b := f.Against(stats.Line{}, 1, f.way) // against a line of 0 without error the band is the curve itself
	below, all := 0.0, 0.0
	for _, n := range f.N {
		all += n
	}
	for i, n := range f.N {
		at, mid := i*stats.Substeps, (below+n/2)/all
		below += n
		of := bandEnds
		if mid >= .05 && mid <= .95 {
			of = bandCentral
		}
		s.hit(of, math.Abs(b.D[at]-truth(b.X[at])) <= b.Crit*b.SE[at])
	}
}

// spoken counts what is said of one curve against one line.
func (s scores) spoken(b *stats.Band, truth []simulate.TrueEdge, found bool, advantage func(x float64) float64) {
	edges := b.Edges()
	if !found {
		edges = stats.Edges{}
	}
	for _, t := range truth {
		s.hit(edgeSeen, slices.ContainsFunc(edges.Confirmed, func(e stats.Edge) bool { return e.Up == t.Up }))
	}
	for _, e := range edges.Confirmed {
		held, crossed := false, false
		for _, t := range truth {
			crossed = crossed || e.Up == t.Up
			held = held || e.Up == t.Up && e.Lo <= t.X && t.X <= e.Hi
		}
		s.hit(edgeHeld, held)
		if crossed {
			s.hit(edgeCrossed, held)
		}
		pinned := !math.IsInf(e.Lo, 0) && !math.IsInf(e.Hi, 0)
		s.hit(edgePinned, pinned)
		if pinned {
			s.value(edgeNarrow, e.Hi-e.Lo)
		}
		s.value(edgeWide, min(e.Hi, b.X[len(b.X)-1])-max(e.Lo, b.X[0]))
	}
	if !found {
		return
	}
	told := say(b, edges, truth, advantage)
	for _, t := range told.stretches {
		s.hit(stretchWrong, t.wrong)
		s.value(eventsWrong, t.amiss)
		s.value(eventsWrong+", of", t.events)
	}
	for _, c := range told.courses {
		s.hit(keepsSaid, c.keeps)
		if c.rises {
			s.hit(keepsTrue, c.keeps)
		} else {
			s.hit(keepsFalse, c.keeps)
		}
	}
}

// few says that too little of a thing was told, of so many sets at full size, for
// its bar to be held against it: fewer than 30, at a smaller size in proportion.
func (r results) few(told, sets int) bool {
	return float64(told) < 30*min(1, float64(len(r))/float64(sets))
}

// edgeBars are the findings of a design of the study of edges.
func (r results) edgeBars(d edgeDesign) []Finding {
	var out []Finding
	tell := func(measure string, bar Bar) {
		_, _, all := r.counts(measure)
		if all.Of == 0 {
			return
		}
		if r.few(all.Of, d.sets) {
			bar = NoBar
		}
		out = append(out, r.share(d.name, measure, bar, ""))
	}
	if !(d.always || r.rate(edgeSeen) >= .3) {
		d.covered = NoBar
	}
	tell(edgeSeen, NoBar)
	tell(edgeHeld, d.covered)
	if d.crossed != NoBar {
		tell(edgeCrossed, d.crossed)
	}
	tell(edgePinned, d.pinned)
	out = append(out, r.median(d.name, edgeNarrow), r.median(d.name, edgeWide))
	tell(stretchWrong, AtMost(.05))
	if _, _, all := r.counts(stretchWrong); !r.few(all.Of, d.sets) {
		out = append(out, r.ratio(d.name, eventsWrong, eventsWrong+", of", AtMost(.05)))
	}
	if d.level {
		tell(keepsSaid, AtMost(.06))
	}
	tell(keepsFalse, AtMost(.06))
	tell(keepsTrue, NoBar)
	tell(bandCentral, d.bands)
	tell(bandEnds, NoBar)
	return out
}

// median makes a finding of the median of all values; its error is a quarter of the
// distance between the order statistics that a 95 % interval would have.
func (r results) median(design, measure string) Finding {
	var all []float64
	for _, s := range r {
		all = append(all, s.values[measure]...)
	}
	slices.Sort(all)
	f := Finding{Design: design, Measure: measure, Value: math.NaN(), SE: math.NaN(), Of: len(all), Bar: NoBar}
	if n := float64(len(all)); n > 0 {
		f.Value = stats.Quantile(all, .5)
		f.SE = (stats.Quantile(all, min(1, .5+1/math.Sqrt(n))) - stats.Quantile(all, max(0, .5-1/math.Sqrt(n)))) / 4
	}
	return f
}

// ratio makes a finding of the sum of one value over that of another, whose error
// is that of leagues.
func (r results) ratio(design, a, b string, bar Bar) Finding {
	y, n := make([]float64, len(r)), make([]float64, len(r))
	var sumY, sumN float64
	for i, s := range r {
		for _, v := range s.values[a] {
			y[i] += v
		}
		for _, v := range s.values[b] {
			n[i] += v
		}
		sumY, sumN = sumY+y[i], sumN+n[i]
	}
	return Finding{Design: design, Measure: a, Value: sumY / sumN, SE: math.Sqrt(stats.JackknifeRatio(y, n)), Of: len(r), Bar: bar}
}
