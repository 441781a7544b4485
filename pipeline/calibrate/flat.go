package calibrate

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"

	"sill/pipeline/demo"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/thresholds"
	"sill/stats"
	"sill/stats/calibrate"
)

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
			mean = s.centre + s.between*rand.New(rand.NewPCG(l.seed, uint64(p.Pitcher)<<16|uint64(p.Type)<<8|uint64(i))).NormFloat64()
			l.means[k] = mean
		}
		p.Num[s.number] = mean + deviation
	}
}

// discovered is what one table with flat curves says of them.
type discovered struct {
	rejected, flatRejected int // curves with q ≤ .10, of the median line's rows
	dead                   int // of these on variables on which nothing was planted
	deadTogether           int // as many with one family of all tests
	small, flats, actives  int // flat curves with p ≤ .05; flat and other curves tested
	found, flatFound       [2]int
	edges, flatEdges       int
	always, wrong          int // always or never on flat curves
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
	out := make([]discovered, o.Sets(flatSets))
	err = o.Each(ctx, len(out), func(i int) error {
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
		out[i] = l.read(t, tables)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return flatFindings(out), nil
}

// read counts the discoveries of a table.
func (l *flatLeague) read(t *truth, tables *thresholds.Tables) discovered {
	var d discovered
	var ps []float64 // of every test, and of which variable
	var variables []string
	edges := edgesOf(tables)
	for i := range tables.Verdicts {
		v := &tables.Verdicts[i]
		c := curve{v.Key, v.Reference}
		at := slices.Index(headline, v.Reference)
		if at < 0 || v.Q == nil {
			continue
		}
		flat := l.flat(c)
		count := func(n, flats *int, by int) {
			*n += by
			if flat {
				*flats += by
			}
		}
		if v.Verdict == locate.Found {
			count(&d.found[at], &d.flatFound[at], 1)
		}
		count(&d.edges, &d.flatEdges, len(edges[c]))
		if flat && (v.Verdict == locate.AlwaysBeats || v.Verdict == locate.NeverBeats) {
			d.always++
			level := c
			level.Variable = ""
			if (t.levels[level] > 0) != (v.Verdict == locate.AlwaysBeats) {
				d.wrong++
			}
		}
		if v.Reference != demo.TypeMedian { // one test for all references
			continue
		}
		if *v.Q <= locate.DefaultOptions().Discovery {
			count(&d.rejected, &d.flatRejected, 1)
			if !l.live[v.Variable] {
				d.dead++
			}
		}
		ps, variables = append(ps, *v.P), append(variables, v.Variable)
		if flat {
			d.flats++
			if *v.P <= .05 {
				d.small++
			}
		} else {
			d.actives++
		}
	}
	for i, q := range stats.BenjaminiHochberg(ps) {
		if q <= locate.DefaultOptions().Discovery && !l.live[variables[i]] {
			d.deadTogether++
		}
	}
	return d
}

func flatFindings(out []discovered) []calibrate.Finding {
	design := fmt.Sprintf("%d variables, %d of them dead, %.0f %% of curves planted", len(standIns), len(standIns)-len(newFlatLeague(demo.Lantern(), 0).live), 100*float64(out[0].actives)/float64(out[0].actives+out[0].flats))
	// The false discovery rate is the mean over tables of the false share, 0 of
	// none (Benjamini and Hochberg, J. R. Stat. Soc. B 57, 1995).
	rate := func(measure string, bar calibrate.Bar, earlier string, of func(*discovered) (flat, all int)) calibrate.Finding {
		values := make([]float64, len(out))
		for i := range out {
			flat, all := of(&out[i])
			values[i] = float64(flat) / float64(max(all, 1))
		}
		return calibrate.MeanFinding(design, measure, values, bar, earlier)
	}
	perTable := func(measure string, of func(*discovered) int) calibrate.Finding {
		return rate(measure, calibrate.NoBar, "", func(d *discovered) (int, int) { return of(d), 1 })
	}
	one := func(n int) int { return min(n, 1) }
	return []calibrate.Finding{
		rate("false discovery rate of rejections", calibrate.AtMost(.10), ".072", func(d *discovered) (int, int) { return d.flatRejected, d.rejected }),
		perTable("false rejections on dead variables, a table", func(d *discovered) int { return d.dead }),
		perTable("tables with a rejection on a dead variable", func(d *discovered) int { return one(d.dead) }),
		perTable("one family of all tests instead: false rejections on dead variables, a table", func(d *discovered) int { return d.deadTogether }),
		perTable("one family of all tests instead: tables with a rejection on a dead variable", func(d *discovered) int { return one(d.deadTogether) }),
		rate("false discovery rate of found, median line", calibrate.AtMost(.05), ".019", func(d *discovered) (int, int) { return d.flatFound[0], d.found[0] }),
		rate("false discovery rate of found, rate line", calibrate.AtMost(.05), "", func(d *discovered) (int, int) { return d.flatFound[1], d.found[1] }),
		rate("false share of confirmed edges", calibrate.AtMost(.10), "", func(d *discovered) (int, int) { return d.flatEdges, d.edges }),
		rate("flat curve with p ≤ .05", calibrate.AtMost(.065), ".048", func(d *discovered) (int, int) { return d.small, d.flats }),
		rate("flat curve found, median line", calibrate.AtMost(.01), "", func(d *discovered) (int, int) { return d.flatFound[0], d.flats }),
		rate("flat curve found, rate line", calibrate.AtMost(.01), "", func(d *discovered) (int, int) { return d.flatFound[1], d.flats }),
		rate("always or never on a flat curve, wrong, of those tested", calibrate.AtMost(.04), "≤ .025", func(d *discovered) (int, int) { return d.wrong, 2 * d.flats }),
		rate("always or never on a flat curve, of those tested", calibrate.NoBar, "", func(d *discovered) (int, int) { return d.always, 2 * d.flats }),
		rate("planted curve rejected", calibrate.NoBar, "", func(d *discovered) (int, int) { return d.rejected - d.flatRejected, d.actives }),
		rate("planted curve found, median line", calibrate.NoBar, "", func(d *discovered) (int, int) { return d.found[0] - d.flatFound[0], d.actives }),
	}
}
