package calibrate

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

// leagueSets is the full number of leagues.
const leagueSets = 200

// fewestEdges is how many confirmed edges a full run must rest on; at a smaller
// scale fewer in proportion. Fewer show a fault of the harness.
const fewestEdges = 2000

// leagues plays whole leagues and scores their headline tables.
func leagues(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	r, err := play(ctx, o, leagueSeeds, leagueSets, demo.Lantern(), published)
	if err != nil {
		return nil, err
	}
	r.Design = "Lantern League"
	err = r.tell(o.Scale)
	return r.Findings, err
}

// published is the table of one season by the short way, which has no files.
func published(ctx context.Context, s demo.Scenario, seed uint64) (*thresholds.Tables, error) {
	counts, err := count(ctx, s, seed, nil, nil)
	if err != nil {
		return nil, err
	}
	return publish(ctx, counts, seed)
}

// play scores so many seasons of a scenario at full size.
func play(ctx context.Context, o calibrate.Options, block uint64, sets int, s demo.Scenario,
	table func(context.Context, demo.Scenario, uint64) (*thresholds.Tables, error)) (*scored, error) {
	t, err := truthOf(s)
	if err != nil {
		return nil, err
	}
	edges := make([][]answer, o.Sets(sets))
	r, err := o.Gather(ctx, sets, func(i int, s1 calibrate.Scores) error {
		tables, err := table(ctx, s, seed(o, block, i))
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		edges[i] = t.score(tables, s1)
		return nil
	})
	return &scored{r.Sheet(""), edges}, err
}

// tell sums up leagues drawn alike.
func (r *scored) tell(scale float64) error {
	r.spread(allEdges, calibrate.AtLeast(.925), ".935–.973")
	if all := r.Total(allEdges).Of; all < int(fewestEdges*min(1, scale)) {
		return fmt.Errorf("%d edges are confirmed in %d leagues, too few to tell coverage: fewer than %.0f mean that the harness is at fault",
			all, len(r.edges), fewestEdges*min(1, scale))
	}
	for _, reference := range headline {
		r.spread(edgesHeld+reference, calibrate.AtLeast(.925), ".935–.973")
		for _, m := range outcome.Metrics {
			r.spread(edgesHeld+reference+", "+m.Name, calibrate.AtLeast(.925), "")
		}
	}
	r.byVariable(scale)
	for _, c := range classes {
		r.spread(edgesHeld+c.name, c.bar, c.earlier)
	}
	often := confirmed(r.edges)
	for _, c := range powers {
		measure := edgesHeld + "confirmed in " + c.name
		for i, edges := range r.edges {
			for _, a := range edges {
				if p := often[target{a.curve, a.to}]; a.to >= 0 && p >= c.lo && p < c.hi {
					r.Results[i].Hit(measure, a.held)
				}
			}
		}
		r.spread(measure, c.bar, c.earlier)
	}
	if f := bias(r.edges); f.Of > 0 {
		r.Add(f)
	}
	for _, reference := range headline {
		for _, m := range outcome.Metrics {
			r.spread(crossingFound+reference+", "+m.Name, calibrate.NoBar, "")
		}
	}
	r.spread(falseEdge, calibrate.AtMost(.10), "")
	r.both()
	r.empty()
	r.wrong()
	return nil
}

// powers divide true crossings by the share of leagues that confirm them.
var powers = []struct {
	name    string
	lo, hi  float64
	bar     calibrate.Bar
	earlier string
}{
	{"half of leagues or more", .5, 2, calibrate.Between(.915, .985), ".935–.979"},
	{".15 to .5 of leagues", .15, .5, calibrate.AtLeast(.93), ".950–.953"},
	{"under .15 of leagues", 0, .15, calibrate.NoBar, ".81–.96"},
}

// target is a true crossing.
type target struct {
	curve curve
	to    int
}

func (t target) compare(o target) int {
	a, b := t.curve, o.curve
	return cmp.Or(cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Side, b.Side), cmp.Compare(a.PitchType, b.PitchType),
		cmp.Compare(a.Variable, b.Variable), cmp.Compare(a.Outcome, b.Outcome), cmp.Compare(a.reference, b.reference), cmp.Compare(t.to, o.to))
}

// confirmed is the share of leagues in which each true crossing is confirmed.
func confirmed(leagues [][]answer) map[target]float64 {
	out := map[target]float64{}
	for _, edges := range leagues {
		seen := map[target]bool{}
		for _, a := range edges {
			seen[target{a.curve, a.to}] = true
		}
		for t := range seen {
			out[t] += 1 / float64(len(leagues))
		}
	}
	return out
}

// bias is how far confirmed edges lie from the truth on average, in standard
// deviations, as a root mean square over the crossings that nearly all leagues
// confirm. It holds the estimators' bias and the truth's own error; what so many
// leagues would show without either is taken off: for normal errors the mean
// over n, squared and over the variance, is (n−1)/(n−3)/n on average.
func bias(leagues [][]answer) calibrate.Finding {
	off := map[target][]float64{}
	for _, edges := range leagues {
		for _, a := range edges {
			if a.to >= 0 {
				t := target{a.curve, a.to}
				off[t] = append(off[t], a.off)
			}
		}
	}
	var squares []float64
	for _, t := range slices.SortedFunc(maps.Keys(off), target.compare) {
		if n := float64(len(off[t])); n >= max(8, .9*float64(len(leagues))) {
			mean, sd := stat.MeanStdDev(off[t], nil)
			squares = append(squares, mean*mean/(sd*sd)-(n-1)/(n-3)/n)
		}
	}
	return calibrate.RootFinding("", "bias over standard deviation, root mean square", squares, calibrate.NoBar, "")
}

// headline are the references that the studies look at.
var headline = []string{demo.TypeMedian, demo.TypeRate}

// telling is the least share of events in the stretches beside a crossing that
// counts as a chance.
const telling = .05

// answer is a confirmed edge, held against the nearest true crossing of its
// direction.
type answer struct {
	curve curve
	edge  edge
	to    int     // index of the crossing; −1 where there is none
	held  bool    // the interval holds the crossing
	off   float64 // from the crossing; NaN where there is none
}

// The measures of a table, some followed by a reference, an outcome or a variable.
const (
	edgesHeld       = "edge held, "
	allEdges        = edgesHeld + "all"
	crossingFound   = "true crossing confirmed, "
	falseEdge       = "false edge: no crossing of its direction"
	jointFound      = "both at once: found, of all curves tested"
	jointWrong      = "both at once: found where there is no such breakpoint, of all curves tested"
	jointHeld       = "both at once: edge held"
	jointCrossed    = jointHeld + ", of those with a crossing"
	jointPinned     = jointHeld + ", pinned on both sides"
	jointFalse      = "both at once: no crossing of an edge's direction"
	emptyFound      = "empty variable found"
	emptyUnresolved = "empty variable: edge unresolved"
	emptyRejected   = "empty variable not taken to be flat, whatever the verdict"
	wrongOfTested   = "always or never, wrong, of all curves tested"
	wrongOfSaid     = "always or never, wrong, of those said"
	wronglyAbove    = "level wrongly above"
	wronglyBelow    = "level wrongly below"
	levelHeld       = "level held"
	linesHeld       = "line held, "
)

// classes divide edges by what a reader is told of them.
var classes = []struct {
	name    string
	bar     calibrate.Bar
	earlier string
	of      func(edge) bool
}{
	{"pinned on both sides", calibrate.AtLeast(.915), "", func(e edge) bool { return !e.open() && !e.weak }},
	{"marked weak", calibrate.NoBar, ".81–.96", func(e edge) bool { return e.weak }},
	{"not pinned on a side", calibrate.NoBar, "", func(e edge) bool { return e.open() && !e.weak }},
}

// score holds a table against the truth and returns its confirmed edges.
func (t *truth) score(tables *thresholds.Tables, s calibrate.Scores) []answer {
	var edges []answer
	found := edgesOf(tables)
	for i := range tables.Verdicts {
		v := &tables.Verdicts[i]
		c := curve{v.Key, v.Reference}
		if _, known := t.crossings[c]; !known || !slices.Contains(headline, v.Reference) {
			continue
		}
		if c.Outcome == thresholds.Joint {
			t.joint(c, v, found[c], s)
			continue
		}
		t.verdict(c, v, s)
		answered := map[int]bool{}
		for _, e := range found[c] {
			a := t.answer(c, e)
			answered[a.to] = true
			edges = append(edges, a)
			a.score(s)
		}
		for k, x := range t.crossings[c] {
			if x.share >= telling && v.Verdict != locate.TooFew {
				s.Hit(crossingFound+c.reference+", "+c.Outcome, answered[k])
			}
		}
	}
	for i := range tables.References {
		x := &tables.References[i]
		l := line{x.PitchType, x.Hand, x.Side, x.Outcome, x.Reference}
		if m, known := t.lines[l]; known && x.Lo != nil && x.Hi != nil {
			s.Hit(linesHeld+x.Reference, held(x.Lo, x.Hi, m))
		}
	}
	return edges
}

// answer holds an edge against the nearest crossing of its direction.
func (t *truth) answer(c curve, e edge) answer {
	a := answer{curve: c, edge: e, to: t.nearest(c, e), off: math.NaN()}
	if a.to >= 0 {
		x := t.crossings[c][a.to].x
		a.held, a.off = e.holds(x), e.x-x
	}
	return a
}

// joint holds what is said of both outcomes at once against the truth of both.
func (t *truth) joint(c curve, v *thresholds.Verdict, found []edge, s calibrate.Scores) {
	if v.Verdict == locate.TooFew {
		return
	}
	said := v.Verdict == locate.Found
	s.Hit(jointFound, said)
	s.Hit(jointWrong, said && len(t.crossings[c]) == 0)
	for _, e := range found {
		a := t.answer(c, e)
		s.Hit(jointHeld, a.held)
		s.Hit(jointHeld+", "+c.reference, a.held)
		s.Hit(jointFalse, a.to < 0)
		if a.to >= 0 {
			s.Hit(jointCrossed, a.held)
		}
		if !e.open() {
			s.Hit(jointPinned, a.held)
		}
	}
}

// score counts an edge among all, those of its reference, of its outcome against that
// and of its variable against the median line, and those of its class.
func (a answer) score(s calibrate.Scores) {
	s.Hit(falseEdge, a.to < 0)
	s.Hit(allEdges, a.held)
	s.Hit(edgesHeld+a.curve.reference, a.held)
	s.Hit(edgesHeld+a.curve.reference+", "+a.curve.Outcome, a.held)
	if a.curve.reference == demo.TypeMedian {
		s.Hit(edgesHeld+a.curve.Variable, a.held)
	}
	for _, c := range classes {
		if c.of(a.edge) {
			s.Hit(edgesHeld+c.name, a.held)
		}
	}
}

// verdict holds the verdict on a curve against the truth and, once for all variables,
// the level of its cell.
func (t *truth) verdict(c curve, v *thresholds.Verdict, s calibrate.Scores) {
	always, never := v.Verdict == locate.AlwaysBeats, v.Verdict == locate.NeverBeats
	wrong := always && t.against(c, +1) || never && t.against(c, -1)
	if v.Verdict != locate.TooFew {
		s.Hit(wrongOfTested, wrong)
		if isEmpty(c) {
			s.Hit(emptyFound, v.Verdict == locate.Found)
			s.Hit(emptyUnresolved, v.Verdict == locate.EdgeUnresolved)
			s.Hit(emptyRejected, v.Q != nil && *v.Q <= locate.DefaultOptions().Discovery)
		}
	}
	if always || never {
		s.Hit(wrongOfSaid, wrong)
	}
	cell := c
	cell.Variable = ""
	level, known := t.levels[cell]
	if v.Variable != "velocity" || !known || v.LevelLo == nil || v.LevelHi == nil {
		return
	}
	s.Hit(levelHeld, held(v.LevelLo, v.LevelHi, level))
	s.Hit(wronglyAbove, v.LevelVerdict == locate.Above && level < 0)
	s.Hit(wronglyBelow, v.LevelVerdict == locate.Below && level > 0)
}

// scored are the scores of leagues drawn alike, with their edges.
type scored struct {
	*calibrate.Sheet
	edges [][]answer // by league
}

// spread tells a measure, where it was counted at all.
func (r *scored) spread(measure string, bar calibrate.Bar, earlier string) {
	if r.Total(measure).Of > 0 {
		r.Spread(measure, bar, earlier)
	}
}

// byVariable tells coverage against the median line for each variable; it has a bar
// where it rests on so many edges that it can be told.
func (r *scored) byVariable(scale float64) {
	const enough = 1000 // at full size
	for _, v := range shape.Variables {
		bar := calibrate.NoBar
		if float64(r.Total(edgesHeld+v.Name).Of) >= enough*min(1, scale) {
			bar = calibrate.AtLeast(.90)
		}
		r.spread(edgesHeld+v.Name, bar, "")
	}
}

// both tells what is said of whiff rate and wOBA-against at once.
func (r *scored) both() {
	r.spread(jointFound, calibrate.NoBar, "")
	r.spread(jointWrong, calibrate.AtMost(.01), "")
	r.spread(jointHeld, calibrate.AtLeast(.925), "")
	for _, reference := range headline {
		r.spread(jointHeld+", "+reference, calibrate.AtLeast(.925), "")
	}
	r.spread(jointCrossed, calibrate.AtLeast(.925), "")
	r.spread(jointPinned, calibrate.AtLeast(.915), "")
	r.spread(jointFalse, calibrate.AtMost(.10), "")
}

// empty tells what is said of variables that nothing depends on.
func (r *scored) empty() {
	r.spread(emptyFound, calibrate.AtMost(.01), "")
	r.spread(emptyUnresolved, calibrate.AtMost(.01), "")
	r.spread(emptyRejected, calibrate.NoBar, "")
}

// wrong tells of verdicts, levels and lines.
func (r *scored) wrong() {
	r.spread(wrongOfTested, calibrate.AtMost(.04), "≤ .025")
	r.spread(wrongOfSaid, calibrate.NoBar, "")
	r.spread(wronglyAbove, calibrate.AtMost(.04), ".018–.031")
	r.spread(wronglyBelow, calibrate.AtMost(.04), ".018–.031")
	r.spread(levelHeld, calibrate.Between(.93, .98), ".935–.956")
	for _, reference := range headline {
		r.spread(linesHeld+reference, calibrate.AtLeast(.92), ".923–.954")
	}
}
