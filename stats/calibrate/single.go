package calibrate

import (
	"context"
	"fmt"
	"math"

	"sill/stats"
)

// singleStudies are those of one crew of clusters.
func singleStudies() []Study {
	return []Study{
		{"curves", "In a cell by itself, against its own line: does the interval of an edge hold the truth, how far off is the edge, and does the test keep its size and have power?", curves},
		{"bins", "Does the interval of a bin's raw rate hold the truth, however few clusters weigh in it?", bins},
		{"weak", "Does the interval of an edge hold the truth where only some data sets confirm the edge?", weak},
		{"size", "How far off is an edge, and how well is it covered, as the number of clusters grows?", size},
		{"flat", "How often does a flat curve get a zone, on the line and off it?", flat},
		{"levels", "How often is a curve wrongly said to lie above or below the line, throughout or as a whole?", levels},
		{"line", "Is the median line where the qualified clusters of an endless season would put it?", line},
		{"two_way", "Do intervals hold the truth where events share second clusters too?", twoWay},
		{"angle", "Does the interval of an edge hold the truth on an angle with bins of a quarter degree?", angle},
		{"cutoff", "Is a stated cutoff that has no effect said to hold, or one that has its effect said not to?", cutoff},
		{"events", "Does the harness notice that single events are resampled, where whole clusters should be?", events},
		{"discoveries", "What share of the curves of a table that are called not flat are flat?", discoveries},
		{"crew", "Are intervals as wide as they should be when the draws go over clusters that have no event in the cell?", crew},
	}
}

// The numbers of data sets at full size: of the first table of bars, of the
// others, and of designs with few confirmed edges.
const (
	many  = 1000
	some  = 600
	scant = 1200
)

// plan is a design whose first cell is to be judged.
type plan struct {
	name   string // in the report; also keys the design's stream
	design Design
	sets   int // at full size
	lines  []Reference
	oneWay bool
	stream string // keys the stream in place of the name, for data sets that designs share
}

// judged is a plan with what its data sets gave.
type judged struct {
	plan
	*Sheet
	seed   uint64
	truths []*Truth // by line
}

// The lines in their order.
var (
	medianLine = []Reference{MedianLine}
	pooledLine = []Reference{PooledLine}
	bothLines  = []Reference{MedianLine, PooledLine}
)

// String is how single studies name a line.
func (r Reference) String() string {
	return map[Reference]string{MedianLine: "median line", PooledLine: "pooled line"}[r]
}

// against is how a measure names what an edge is held against.
func against(r Reference) string { return ", " + r.String() }

// judge draws the data sets of a study's plans and judges them.
func (o Options) judge(ctx context.Context, study string, plans []plan) ([]judged, error) {
	out := make([]judged, len(plans))
	quiet := o
	quiet.Progress = nil
	err := quiet.Each(ctx, len(plans), func(i int) error {
		j := judged{plan: plans[i]}
		if j.stream == "" {
			j.stream = j.name
		}
		j.seed = o.stream(study + "/" + j.stream)
		for _, r := range j.lines {
			j.truths = append(j.truths, j.design.Truth(r, j.seed))
		}
		out[i] = j
		return nil
	})
	if err != nil {
		return nil, err
	}
	for k, j := range out {
		law := NewLeague(j.design)
		results, err := o.Gather(ctx, j.sets, func(i int, s Scores) error {
			crew := j.design.Draw(j.seed, i)
			g := &dataset{law: law, seed: j.seed, number: i, oneWay: j.oneWay, crews: [][]Crew{{crew}},
				draws: []*stats.Weights{stats.DrawMultinomial(Key(j.seed, "weights", i), len(crew.Events), o.resampled())}}
			if o.spoil != nil {
				o.spoil(g)
			}
			g.judge(j, s)
			return nil
		})
		if err != nil {
			return nil, err
		}
		out[k].Sheet = results.Sheet(j.name)
	}
	return out, nil
}

// each judges a study's plans and has each tell its findings.
func (o Options) each(ctx context.Context, study string, plans []plan, tell func(i int, j judged)) ([]Finding, error) {
	all, err := o.judge(ctx, study, plans)
	var out []Finding
	for i, j := range all {
		tell(i, j)
		out = append(out, j.Findings...)
	}
	return out, err
}

// The measures of a cell, those of the last group followed by the line's name.
const (
	rejected     = "rejected"
	curveCovered = "curve covered"

	lineCovered = " covered" // after the line's name
	lineOff     = " less that of all qualified clusters"

	curveFound      = "found at p < .05"
	structureExact  = "structure exact when found"
	edgeConfirmed   = "edge confirmed"
	edgeCovered     = "edge covered"
	edgePlain       = "edge covered by plain limits" // those of the band itself
	edgeOpen        = "a limit is open"
	edgeWarned      = "edge carries the warning of low power"
	edgeWarnedRight = "edge with that warning covered"
	edgeError       = "root mean square error of the edge"
	advantageHeld   = "advantage covered"
	advantageWidth  = "standard error of the advantage"
	saidAlways      = "said always above the line"
	saidNever       = "said always below the line"
	alwaysWrong     = "said always above the line, wrong at a node"
	neverWrong      = "said always below the line, wrong at a node"
	saidEverywhere  = "said of every observed x, true of the central 90 % only"
	saidAbove       = "said above the line overall"
	saidBelow       = "said below the line overall"
)

// classes are the lower limits of effective clusters by which bins are told.
var classes = []float64{0, 5, 10, 20, 40}

// binCovered names the measure of a class of bins.
func binCovered(class int) string {
	if class+1 == len(classes) {
		return fmt.Sprintf("bin covered, %g effective clusters and more", classes[class])
	}
	return fmt.Sprintf("bin covered, %g to %g effective clusters", classes[class], classes[class+1])
}

// judge takes the first cell of a data set through the engine.
func (g *dataset) judge(j judged, s Scores) {
	first := at{0, 0, 0}
	f := g.fit(first, g.draws)
	p := stats.NewFlipTest(f.table, Key(g.seed, "flips", g.number*len(g.crews[0][0].Tables))).Run(999).P
	s.Hit(rejected, p < judgedAt)
	nodes := central(f.Curve)
	curve := func(x float64) float64 { return j.truths[0].At(0, x) }
	s.Value(curveCovered, shareHeld(f.itself(), nodes, curve))
	// The curve's bend inside a bin is neglected.
	kind := g.design(first).Kind
	for b := 1; b < f.table.Bins()-1; b++ {
		bin := f.table.Bin(b, kind, f.second)
		if bin.N >= fewestEvents(kind) && bin.Clusters >= fewestClusters {
			class, truth := 0, curve(f.table.X[b])
			for class+1 < len(classes) && bin.Effective >= classes[class+1] {
				class++
			}
			s.Hit(binCovered(class), bin.Lo <= truth && truth <= bin.Hi)
		}
	}
	for k, r := range j.lines {
		truth, name := j.truths[k], against(r)
		line := g.line(0, r, g.draws)
		s.Hit(r.String()+lineCovered, g.holds(0, r, line, truth.Line))
		s.Value(r.String()+lineOff, line.Value-truth.Line)
		band := f.against(line)
		s.sides(name, f, band, line, truth)
		s.Value(advantageHeld+name, shareHeld(band, nodes, truth.advantage(0)))
		se := 0.0
		for _, i := range nodes {
			se += band.SE[i*stats.Substeps]
		}
		s.Value(advantageWidth+name, se/float64(len(nodes)))
		edges := band.Edges().Confirmed
		found := p < judgedAt && len(edges) > 0
		s.Hit(curveFound+name, found)
		exact := s.confirmed(name, edges, band.EdgesAt(band.Crit).Confirmed, truth.Edges[0])
		if found {
			s.Hit(structureExact+name, exact)
		}
	}
}

// shareHeld is the share of nodes at which a band holds the truth.
func shareHeld(b *stats.Band, nodes []int, truth func(x float64) float64) float64 {
	held := 0.0
	for _, i := range nodes {
		if nodeHeld(b, i, truth) {
			held++
		}
	}
	return held / float64(len(nodes))
}

// sides counts what is said of the side of the line that a whole curve lies on.
func (s Scores) sides(name string, f fitted, b *stats.Band, line stats.Line, truth *Truth) {
	throughout, everywhere := b.Throughout()
	wrong := false
	for _, i := range central(f.Curve) {
		wrong = wrong || throughout != 0 && float64(throughout)*truth.advantage(0)(f.X[i]) <= 1e-9
	}
	overall := f.Level(line, f.sign, f.way).Verdict
	s.Hit(saidAlways+name, throughout > 0)
	s.Hit(saidNever+name, throughout < 0)
	s.Hit(alwaysWrong+name, throughout > 0 && wrong)
	s.Hit(neverWrong+name, throughout < 0 && wrong)
	s.Hit(saidEverywhere+name, throughout != 0 && everywhere)
	s.Hit(saidAbove+name, overall > 0)
	s.Hit(saidBelow+name, overall < 0)
}

// confirmed holds confirmed edges against the true ones and tells whether they are as
// many and in the same order. plain are the same edges with the limits of the band
// itself.
func (s Scores) confirmed(name string, edges, plain []stats.Edge, truth []TrueEdge) bool {
	exact := len(edges) == len(truth)
	for i, k := range answers(edges, truth) {
		s.Hit(edgeConfirmed+name, k >= 0)
		exact = exact && k == i
		if k < 0 {
			continue
		}
		e, p, x := edges[k], plain[k], truth[i].X
		s.Hit(edgeCovered+name, e.Lo <= x && x <= e.Hi)
		s.Hit(edgePlain+name, p.Lo <= x && x <= p.Hi)
		s.Hit(edgeOpen+name, math.IsInf(e.Lo, 0) || math.IsInf(e.Hi, 0))
		s.Hit(edgeWarned+name, e.Weak)
		if e.Weak {
			s.Hit(edgeWarnedRight+name, e.Lo <= x && x <= e.Hi)
		}
		s.Value(edgeError+name, (e.X-x)*(e.X-x))
	}
	return exact
}

// answers finds the confirmed edge that answers to each true one, −1 for none: an
// edge answers to the nearest true edge of its direction that no nearer one answers to.
func answers(edges []stats.Edge, truth []TrueEdge) []int {
	out := make([]int, len(truth))
	for i := range out {
		out[i] = -1
	}
	for k, e := range edges {
		best := -1
		for i, t := range truth {
			if t.Up == e.Up && (best < 0 || math.Abs(t.X-e.X) < math.Abs(truth[best].X-e.X)) {
				best = i
			}
		}
		if best >= 0 && (out[best] < 0 || math.Abs(edges[out[best]].X-truth[best].X) > math.Abs(e.X-truth[best].X)) {
			out[best] = k
		}
	}
	return out
}

// share tells how often something else was hit than one measure alone says.
func (j judged) share(measure string, s Share, bar Bar, earlier string) {
	j.Add(ShareFinding(j.name, measure, s, bar, earlier).recall())
}

// error tells how far off the only edge is. Its Monte Carlo error is that of the
// sample's own fourth moment.
func (j judged) error(r Reference, bar Bar, earlier string) {
	squares := j.Values(edgeError + against(r))
	var sum, fourths float64
	for _, v := range squares {
		sum += v
		fourths += float64(v * v)
	}
	n := float64(len(squares))
	mean := sum / n
	rmse := math.Sqrt(mean)
	j.Add(Finding{Measure: edgeError + against(r), Value: rmse, SE: math.Sqrt(max(0, fourths/n-mean*mean)/n) / (2 * rmse),
		Of: len(squares), Bar: bar, Earlier: earlier})
}

// means is the mean over data sets of a quantity of two plans' values in each.
func (j judged) means(measure, of string, other judged, quantity func(a, b float64) float64, bar Bar, earlier string) {
	a, b := j.Values(of), other.Values(of)
	for i := range a {
		a[i] = quantity(a[i], b[i])
	}
	j.Add(MeanFinding(j.name, measure, a, bar, earlier))
}

func ratio(a, b float64) float64 { return a / b }

// underLine puts a curve in a cell of its own, with a bit more than a third of the
// events, under a line that other cells make with it. Clusters have twice the
// trials, so that the cell has about as many as a design of one cell. What
// decisions about batters and crews bring comes on top: second clusters that
// differ, of each cell its own, and clusters without events.
func underLine(d Design, others ...Curve) Design {
	const share = .35
	d.SizeMedian, d.SizeMin, d.SizeMax = 2*d.SizeMedian, 2*d.SizeMin, 2*d.SizeMax
	d.Cells[0].Share = share
	for _, c := range others {
		d.Cells = append(d.Cells, Cell{Curve: c, Share: (1 - share) / float64(len(others))})
	}
	d.Second, d.SecondSD, d.SecondByCell = 250, .28, true
	d.Bystanders = d.Clusters / 2
	return d
}

// crewed is the default design of a curve with so many clusters.
func crewed(c Curve, clusters int) Design {
	d := Default(c)
	d.Clusters = clusters
	return d
}
