package calibrate

import (
	"math"
	"slices"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

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
		t.verdict(c, v, s)
		answered := map[int]bool{}
		for _, e := range found[c] {
			a := answer{curve: c, edge: e, to: t.nearest(c, e), off: math.NaN()}
			if a.to >= 0 {
				x := t.crossings[c][a.to].x
				a.held, a.off = e.holds(x), e.x-x
			}
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
