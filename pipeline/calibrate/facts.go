package calibrate

import (
	"context"
	"fmt"
	"math"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
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
	sheet.Add(calibrate.Finding{Measure: "error of the truth over a season's, by their sizes", Value: math.Sqrt(float64(factSize) / float64(t.seasons)),
		Of: t.seasons, Bar: calibrate.NoBar})
	out := sheet.Findings
	for _, f := range list {
		off := r.Values(f.name + oneOff)
		mean, sd := meanSD(off)
		out = append(out,
			calibrate.Finding{Design: f.name, Measure: "bias over standard deviation", Value: mean / sd,
				SE: 1 / math.Sqrt(float64(len(off))), Of: len(off), Bar: calibrate.NoBar},
			calibrate.ShareFinding(f.name, "held", r.Total(f.name+oneHeld), calibrate.NoBar, ""))
	}
	return out
}

// meanSD is the mean of values and their standard deviation.
func meanSD(values []float64) (mean, sd float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / (n - 1))
}
