package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/stats"
	"sill/stats/calibrate"
)

// factSets is the full number of seasons of the Almanac League.
const factSets = 24

// factSize is how many times the league's own number of people and pitches a
// season has: the intervals are to be as narrow as the trade speaks.
const factSize = 4

// widest is how wide the interval of a recovered fact may be, in units.
var widest = map[demo.Quality]float64{demo.Velocity: 2, demo.InducedVerticalBreak: 2, demo.HorizontalBreak: 2, demo.VerticalApproachAngle: .5}

// enlarged is a scenario with so many times the clubs, pitchers and pitches; the
// estimand is the same.
func enlarged(s demo.Scenario, times int) demo.Scenario {
	s.Pitchers, s.Pitches = times*s.Pitchers, times*s.Pitches
	clubs := s.Clubs
	s.Clubs = nil
	for k := range times {
		for _, name := range clubs {
			s.Clubs = append(s.Clubs, fmt.Sprintf("%s %d", name, k+1))
		}
	}
	return s
}

// fact is one edge of a fact of the trade, with its true place.
type fact struct {
	name  string
	curve curve
	x     float64
	up    bool
	near  float64 // how far from x its edge may lie
}

// factsOf lists the edges of the facts with the crossings of the truth that are
// nearest to them.
func factsOf(t *truth) []fact {
	var out []fact
	for _, f := range demo.Facts() {
		for i, m := range pitch.Matchups {
			if f.Matchup&(1<<i) == 0 {
				continue
			}
			c := cellCurve(m, f.Type, f.Quality)
			c.Outcome, c.reference = "whiff_rate", demo.TypeMedian
			for k, cutoff := range f.Edges {
				e := edge{x: cutoff, up: (f.Sign < 0) == (k%2 == 0)}
				if at := t.nearest(c, e); at >= 0 {
					out = append(out, fact{fmt.Sprintf("%v %v %v %g %s", f.Type, m, f.Quality, cutoff, f.Quality.Unit()),
						c, t.crossings[c][at].x, e.up, widest[f.Quality]})
				}
			}
		}
	}
	return out
}

// facts plays seasons so large that a bias of the estimators would show beside
// their errors.
func facts(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	t, err := truthOf(demo.TradeFacts())
	if err != nil {
		return nil, err
	}
	list := factsOf(t)
	var names []string
	for q := range widest {
		names = append(names, q.String())
	}
	s := enlarged(demo.TradeFacts(), factSize)
	edges := make([][]answer, o.Sets(factSets))
	r, err := o.Gather(ctx, factSets, func(i int, scores calibrate.Scores) error {
		seed := seed(o, factSeeds, i)
		counts, err := count(ctx, s, seed, names, nil)
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		tables, err := publish(ctx, counts, seed)
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		edges[i] = factScores(list, tables, scores)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return factFindings(t, list, r, edges), nil
}

// The measures of facts; of one alone the second group follows its name.
const (
	factHeld   = "fact held"
	factFound  = "fact found"
	factNarrow = "interval at most 2 mph, 2 in, .5 deg wide"

	oneHeld = "held"
	oneOff  = "off"
)

// factScores holds the facts of a table against the truth and returns their edges.
func factScores(list []fact, tables *thresholds.Tables, s calibrate.Scores) []answer {
	verdicts := map[curve]string{}
	for k := range tables.Verdicts {
		verdicts[curve{tables.Verdicts[k].Key, tables.Verdicts[k].Reference}] = tables.Verdicts[k].Verdict
	}
	edges := edgesOf(tables)
	var out []answer
	for k, f := range list {
		var e *edge
		if verdicts[f.curve] == locate.Found {
			e = f.among(edges[f.curve])
		}
		if s.Hit(factFound, e != nil); e == nil {
			continue
		}
		s.Hit(factNarrow, e.hi-e.lo <= f.near)
		s.Hit(factHeld, e.holds(f.x))
		s.Hit(f.name+oneHeld, e.holds(f.x))
		s.Value(f.name+oneOff, e.x-f.x)
		out = append(out, answer{curve: f.curve, edge: *e, to: k, held: e.holds(f.x), off: e.x - f.x})
	}
	return out
}

// among returns the edge that tells the fact, nil for none.
func (f *fact) among(edges []edge) *edge {
	var best *edge
	for i := range edges {
		e := &edges[i]
		if d := math.Abs(e.x - f.x); e.up == f.up && d < f.near && (best == nil || d < math.Abs(best.x-f.x)) {
			best = e
		}
	}
	return best
}

func factFindings(t *truth, list []fact, r calibrate.Results, edges [][]answer) []calibrate.Finding {
	sheet := r.Sheet(fmt.Sprintf("Almanac League, %d leagues' worth a season", factSize))
	sheet.Spread(factHeld, calibrate.AtLeast(.925), "16 of 20")
	sheet.Share(factFound, calibrate.AtLeast(.95), "")
	sheet.Share(factNarrow, calibrate.NoBar, "")
	sheet.Add(bias(edges))
	// The estimand is measured too, on a population of so many seasons; what it
	// is off by, all intervals of a fact are held against.
	sheet.Add(calibrate.Finding{Measure: "error of the truth over a season's, by their sizes",
		Value: math.Sqrt(float64(factSize) / float64(t.seasons)), Of: t.seasons, Bar: calibrate.NoBar})
	out := sheet.Findings
	for _, f := range list {
		off := r.Values(f.name + oneOff)
		mean, sd := stat.MeanStdDev(off, nil)
		out = append(out,
			calibrate.Finding{Design: f.name, Measure: "bias over standard deviation", Value: mean / sd,
				SE: 1 / math.Sqrt(float64(len(off))), Of: len(off), Bar: calibrate.NoBar},
			calibrate.ShareFinding(f.name, "held", r.Total(f.name+oneHeld), calibrate.NoBar, ""))
	}
	return out
}

// flatSets is the full number of leagues whose curves are flat but for a few.
const flatSets = 100

// standIns are what replaces a variable in a cell on which nothing was planted:
// a mean for each pitcher and pitch type and a deviation for each pitch, drawn
// apart from everything else. The hypothesis of a flat curve is then true
// whatever the pitchers, the batters and the other variables do, while pitches of
// one pitcher stay alike in the variable and in the outcome. The spreads are
// about those of the league.
var standIns = []struct {
	quality                 demo.Quality
	number                  pitch.Number
	centre, between, within float64
}{
	{demo.Velocity, pitch.Velocity, 90, 2, 1},
	{demo.InducedVerticalBreak, pitch.InducedVerticalBreak, 8, 2.5, 1.8},
	{demo.HorizontalBreak, pitch.HorizontalBreak, 8, 2.4, 2},
	{demo.NeutralApproachAngle, pitch.NeutralApproachAngle, -6, .45, .35},
	{demo.ReleaseSide, pitch.ReleaseSide, 1.8, .45, .14},
	{demo.Extension, pitch.Extension, 6.4, .38, .14},
	{demo.SpinRate, pitch.SpinRate, 2200, 130, 70},
}

// flatLeague is the Lantern League with stand-ins.
type flatLeague struct {
	planted map[curve]bool  // by curve without outcome and reference
	live    map[string]bool // variables with such a curve
	seed    uint64
	within  *rand.Rand
	means   map[standInKey]float64
}

type standInKey struct {
	pitcher int32
	kind    pitch.Type
	which   int
}

// newFlatLeague keeps the variables on which a scenario plants an effect on
// whiffs, in the cells where it does. (Such an effect moves wOBA-against too, by
// way of strikeouts.)
func newFlatLeague(s demo.Scenario, seed uint64) *flatLeague {
	l := &flatLeague{planted: map[curve]bool{}, live: map[string]bool{}, within: rand.New(rand.NewPCG(seed, 1)), seed: seed, means: map[standInKey]float64{}}
	for _, e := range s.Effects {
		for i, m := range pitch.Matchups {
			if e.Outcome == demo.Whiff && e.Matchups&(1<<i) != 0 {
				l.planted[cellCurve(m, e.Type, e.Quality)] = true
				l.live[e.Quality.String()] = true
			}
		}
	}
	return l
}

func cellCurve(m pitch.Matchup, t pitch.Type, q demo.Quality) curve {
	return curve{Key: thresholds.Key{Hand: m.Hand.String(), Side: m.Side.String(), PitchType: t.String(), Variable: q.String()}}
}

// flat tells whether the curve of a row is flat by construction.
func (l *flatLeague) flat(c curve) bool {
	c.Outcome, c.reference = "", ""
	return !l.planted[c]
}

// streams number the types of the demo leagues in the seeds of their stand-ins.
var streams = map[pitch.Type]uint64{pitch.FourSeam: 1, pitch.Sinker: 2, pitch.Cutter: 3, pitch.Slider: 4, pitch.Sweeper: 5,
	pitch.Curveball: 7, pitch.Changeup: 10, pitch.Splitter: 11}

// alter puts the stand-ins in.
func (l *flatLeague) alter(p *pitch.Pitch) {
	for i, s := range standIns {
		deviation := s.within * l.within.NormFloat64()
		if l.planted[cellCurve(pitch.Matchup{Hand: p.Hand, Side: p.Side}, p.Type, s.quality)] || pitch.IsMissing(p.Num[s.number]) {
			continue
		}
		k := standInKey{p.Pitcher, p.Type, i}
		mean, drawn := l.means[k]
		if !drawn {
			mean = s.centre + s.between*rand.New(rand.NewPCG(l.seed, uint64(p.Pitcher)<<16|streams[p.Type]<<8|uint64(i))).NormFloat64()
			l.means[k] = mean
		}
		p.Num[s.number] = mean + deviation
	}
}

// flatLeagues measures false discoveries where the truth of every hypothesis is
// known.
func flatLeagues(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	s := demo.Lantern()
	t, err := truthOf(s)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, v := range standIns {
		names = append(names, v.quality.String())
	}
	r, err := o.Gather(ctx, flatSets, func(i int, scores calibrate.Scores) error {
		seed := seed(o, flatSeeds, i)
		l := newFlatLeague(s, seed)
		counts, err := count(ctx, s, seed, names, l.alter)
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		tables, err := publish(ctx, counts, seed)
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		l.read(t, tables, scores)
		return nil
	})
	if err != nil {
		return nil, err
	}
	sheet := r.Sheet(fmt.Sprintf("%d variables, %d of them dead, %.0f %% of curves planted",
		len(standIns), len(standIns)-len(newFlatLeague(s, 0).live), 100*r[0].Share(planted).Rate()))
	for _, m := range flatMeasures {
		sheet.Mean(m.name, m.bar, m.earlier)
	}
	return sheet.Findings, nil
}

// planted counts the curves of a table that are not flat.
const planted = "planted"

// oneFamily begins what one family of all tests would give.
const oneFamily = "one family of all tests instead: "

// flatMeasures are the shares of one table, 0 of none, and counts of it. The false
// discovery rate is the mean over tables of the false share (Benjamini and Hochberg,
// J. R. Stat. Soc. B 57, 1995).
var flatMeasures = []struct {
	name    string
	bar     calibrate.Bar
	earlier string
}{
	{"false discovery rate of rejections", calibrate.AtMost(.10), ".072"},
	{"false rejections on dead variables, a table", calibrate.NoBar, ""},
	{"tables with a rejection on a dead variable", calibrate.NoBar, ""},
	{oneFamily + "false rejections on dead variables, a table", calibrate.NoBar, ""},
	{oneFamily + "tables with a rejection on a dead variable", calibrate.NoBar, ""},
	{"false discovery rate of found, median line", calibrate.AtMost(.05), ".019"},
	{"false discovery rate of found, rate line", calibrate.AtMost(.05), ""},
	{"false share of confirmed edges", calibrate.AtMost(.10), ""},
	{"flat curve with p ≤ .05", calibrate.AtMost(.065), ".048"},
	{"flat curve found, median line", calibrate.AtMost(.01), ""},
	{"flat curve found, rate line", calibrate.AtMost(.01), ""},
	{"found of both at once where either is flat", calibrate.AtMost(.01), ""},
	{"always or never on a flat curve, wrong, of those tested", calibrate.AtMost(.04), "≤ .025"},
	{"always or never on a flat curve, of those tested", calibrate.NoBar, ""},
	{"planted curve rejected", calibrate.NoBar, ""},
	{"planted curve found, median line", calibrate.NoBar, ""},
}

// read counts the discoveries of a table.
func (l *flatLeague) read(t *truth, tables *thresholds.Tables, s calibrate.Scores) {
	const discovery = "false discovery rate of "
	var ps []float64 // of every test, and of which variable
	var variables []string
	dead := 0 // curves with q ≤ .10 on variables on which nothing was planted
	edges := edgesOf(tables)
	for i := range tables.Verdicts {
		v := &tables.Verdicts[i]
		c := curve{v.Key, v.Reference}
		at := slices.Index(headline, v.Reference)
		if at >= 0 && v.Outcome == thresholds.Joint && v.Verdict != locate.TooFew {
			s.Hit("found of both at once where either is flat", v.Verdict == locate.Found && l.flat(c))
		}
		if at < 0 || v.Q == nil || v.Outcome == thresholds.Joint {
			continue
		}
		flat, found, line := l.flat(c), v.Verdict == locate.Found, []string{", median line", ", rate line"}[at]
		if found {
			s.Hit(discovery+"found"+line, flat)
		}
		for range edges[c] {
			s.Hit("false share of confirmed edges", flat)
		}
		if flat {
			level := c
			level.Variable = ""
			always := v.Verdict == locate.AlwaysBeats
			said := always || v.Verdict == locate.NeverBeats
			s.Hit("flat curve found"+line, found)
			s.Hit("always or never on a flat curve, of those tested", said)
			s.Hit("always or never on a flat curve, wrong, of those tested", said && (t.levels[level] > 0) != always)
		}
		if v.Reference != demo.TypeMedian { // one test for all references
			continue
		}
		ps, variables = append(ps, *v.P), append(variables, v.Variable)
		rejected := *v.Q <= locate.DefaultOptions().Discovery
		if rejected {
			s.Hit(discovery+"rejections", flat)
			if !l.live[v.Variable] {
				dead++
			}
		}
		if s.Hit(planted, !flat); flat {
			s.Hit("flat curve with p ≤ .05", *v.P <= .05)
		} else {
			s.Hit("planted curve rejected", rejected)
			s.Hit("planted curve found"+line, found)
		}
	}
	together := 0
	for i, q := range stats.BenjaminiHochberg(ps) {
		if q <= locate.DefaultOptions().Discovery && !l.live[variables[i]] {
			together++
		}
	}
	for family, n := range map[string]int{"": dead, oneFamily: together} {
		s.Count(family+"false rejections on dead variables, a table", calibrate.Share{Hits: n, Of: 1})
		s.Count(family+"tables with a rejection on a dead variable", calibrate.Share{Hits: min(n, 1), Of: 1})
	}
	for _, m := range flatMeasures {
		n := s.Share(m.name)
		s.Value(m.name, float64(n.Hits)/float64(max(n.Of, 1)))
	}
}
