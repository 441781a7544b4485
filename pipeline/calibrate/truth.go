// Package calibrate plays many seasons of invented leagues, puts each through
// the whole line from pitches to published rows, and holds the rows against what
// is true of the league. Its studies are of the kind that package
// stats/calibrate runs and reports.
//
// It knows the program, its stages and the demo leagues. It does not judge single estimators,
// which is the business of stats/calibrate.
package calibrate

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"sill/pipeline/demo"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// count plays the first season of a scenario and counts it, as a run over its
// files would. variables may be nil for all. alter, where not nil, may change
// each pitch; they come in the order in which they are thrown.
func count(ctx context.Context, s demo.Scenario, seed uint64, variables []string, alter func(*pitch.Pitch)) (*tally.Tally, error) {
	source := shape.DefaultSource()
	source.SpeedAt, source.MovementFrom, source.MovementTo = shape.AtRelease, shape.AtRelease, shape.AtPlateFront
	resolver, err := shape.NewResolver(func(string) bool { return true }, source) // the files have every column
	if err != nil {
		return nil, err
	}
	wanted := shape.Variables
	if variables != nil {
		if wanted, err = shape.Only(wanted, variables); err != nil {
			return nil, err
		}
	}
	observer := demo.NewObserver(&s, 0)
	names := tally.Names{Pitchers: observer.Pitchers, Batters: observer.Batters, Games: observer.Games}
	builder, err := tally.NewBuilder(resolver.Variables(wanted), nil, names, 1)
	if err != nil {
		return nil, err
	}
	options := demo.DefaultOptions()
	options.Seed = seed
	var batch []pitch.Pitch
	var quality shape.Quality
	err = demo.Play(ctx, s, options, func(rows []demo.Thrown) error {
		batch = batch[:0]
		var p pitch.Pitch
		for i := range rows {
			if !observer.Observe(&rows[i], &p) || resolver.Complete(&p, &quality) != "" {
				continue
			}
			if alter != nil {
				alter(&p)
			}
			batch = append(batch, p)
		}
		return builder.Add(0, batch)
	})
	if err != nil {
		return nil, err
	}
	return builder.Tally()
}

// settings are how the studies estimate and locate: as published, but for fewer
// replicates and flips, and one worker since leagues run side by side.
func settings(seed uint64) (estimate.Options, locate.Options) {
	e, l := estimate.DefaultOptions(), locate.DefaultOptions()
	e.Seed, e.Replicates = seed, 500
	l.Flips, l.MaxFlips, l.Contrasts, l.Workers = 999, 9999, false, 1
	return e, l
}

// publish turns counts into the rows of a table.
func publish(ctx context.Context, t *tally.Tally, seed uint64) (*thresholds.Tables, error) {
	e, l := settings(seed)
	est, err := estimate.New(ctx, t, e)
	if err != nil {
		return nil, err
	}
	return locate.Locate(ctx, est, l)
}

// crossing is where a true curve meets a true line.
type crossing struct {
	x     float64
	up    bool    // to an advantage
	share float64 // of events in the smaller of the stretches beside it
}

// lobe is a stretch of a true curve on one side of a line, as shares of the
// events below its ends.
type lobe struct {
	sign     int
	from, to float64
}

// truth is the estimand of a league: E[outcome | quality] against each line.
type truth struct {
	crossings map[curve][]crossing
	lobes     map[curve][]lobe
	levels    map[curve]float64 // of whole cells, by curve without a variable; good is positive
	lines     map[line]float64
	seasons   int // that it was measured on
}

// line names a reference. Hand and side are empty where it spans all matchups.
type line struct{ kind, hand, side, outcome, reference string }

// empty are the qualities that nothing depends on in any demo league: spin is
// drawn apart from all else, and so is the gap between movement and spin axis
// (but for the rounding of both). Their curves are flat, whatever wiggles so
// large a population still shows.
var empty = []string{"spin_rate", "axis_gap"}

func isEmpty(c curve) bool { return slices.Contains(empty, c.Variable) }

// truthOf reads the estimand of a scenario.
func truthOf(s demo.Scenario) (*truth, error) {
	t, err := demo.TruthOf(s)
	if err != nil {
		return nil, err
	}
	if t.Population == nil {
		return nil, fmt.Errorf("the truth of %s was measured for another model: go test ./pipeline/demo -run MeasureTruth -measure", s.Name)
	}
	out := &truth{map[curve][]crossing{}, map[curve][]lobe{}, map[curve]float64{}, map[line]float64{}, t.Population.Seasons}
	for _, l := range t.Lines {
		hand, side := matchup(l.Matchup)
		out.lines[line{l.Type, hand, side, l.Outcome, l.Reference}] = l.Value
	}
	for l, rate := range out.lines {
		if l.reference != demo.MatchupRate {
			continue
		}
		for _, reference := range []string{demo.TypeMedian, demo.TypeRate} {
			m := out.lines[line{kind: l.kind, outcome: l.outcome, reference: reference}]
			c := curve{thresholds.Key{Hand: l.hand, Side: l.side, PitchType: l.kind, Outcome: l.outcome}, reference}
			out.levels[c] = sign(l.outcome) * (rate - m)
		}
	}
	beats := map[curve][]span{}
	for _, z := range t.Zones {
		hand, side := matchup(z.Matchup)
		c := curve{thresholds.Key{Hand: hand, Side: side, PitchType: z.Type, Variable: z.Variable, Outcome: z.Outcome}, z.Reference}
		out.crossings[c] = []crossing{}
		if isEmpty(c) {
			continue
		}
		below := 0.0
		for i, l := range z.Lobes {
			if l.Sign > 0 {
				beats[c] = append(beats[c], spanOf(l))
			}
			if i > 0 {
				out.crossings[c] = append(out.crossings[c], crossing{l.Lower, l.Sign > 0, min(l.Share, z.Lobes[i-1].Share)})
			}
			out.lobes[c] = append(out.lobes[c], lobe{l.Sign, below, below + l.Share})
			below += l.Share
		}
	}
	for _, k := range slices.Collect(maps.Keys(out.crossings)) {
		if k.Outcome == outcome.Metrics[outcome.Whiff].Name {
			both, other := k, k
			both.Outcome, other.Outcome = thresholds.Joint, outcome.Metrics[outcome.WOBA].Name
			out.crossings[both] = meetings(beats[k], beats[other])
		}
	}
	for _, k := range slices.Collect(maps.Keys(out.crossings)) {
		if k.Variable == empty[0] { // the other empty quality has no estimand of its own
			k.Variable = empty[1]
			out.crossings[k] = []crossing{}
		}
	}
	return out, nil
}

// span is a stretch of a quality, from −Inf and to +Inf where it does not end.
type span struct{ from, to float64 }

func spanOf(l demo.Lobe) span {
	s := span{l.Lower, l.Upper}
	if l.Open[0] {
		s.from = math.Inf(-1)
	}
	if l.Open[1] {
		s.to = math.Inf(1)
	}
	return s
}

// meetings are the ends of what two lists of stretches have in common, from left to
// right. How many events lie beside them is not told.
func meetings(a, b []span) []crossing {
	out := []crossing{}
	for _, x := range a {
		for _, y := range b {
			both := span{max(x.from, y.from), min(x.to, y.to)}
			if both.from >= both.to {
				continue
			}
			if !math.IsInf(both.from, 0) {
				out = append(out, crossing{x: both.from, up: true})
			}
			if !math.IsInf(both.to, 0) {
				out = append(out, crossing{x: both.to})
			}
		}
	}
	return out
}

// nearest is the index of the crossing of an edge's direction that lies nearest
// to it; −1 where there is none.
func (t *truth) nearest(c curve, e edge) int {
	best := -1
	for i, x := range t.crossings[c] {
		if x.up == e.up && (best < 0 || math.Abs(x.x-e.x) < math.Abs(t.crossings[c][best].x-e.x)) {
			best = i
		}
	}
	return best
}

// sliver is the share of events that a stretch may lie on the wrong side of the
// line without making always or never wrong: shares in the truth are rounded to
// .01.
const sliver = .01

// against tells whether more than a sliver of the central nine tenths of events
// lies on the other side of the line than sign says.
func (t *truth) against(c curve, sign int) bool {
	wrong := 0.0
	for _, l := range t.lobes[c] {
		if l.sign != sign {
			wrong += max(0, min(l.to, .95)-max(l.from, .05))
		}
	}
	return wrong > sliver+1e-9
}

// matchup splits "L-v-R" into words; "" is none.
func matchup(name string) (hand, side string) {
	for _, m := range pitch.Matchups {
		if m.String() == name {
			return m.Hand.String(), m.Side.String()
		}
	}
	return "", ""
}

// sign is +1 where more of an outcome is good for the pitcher.
func sign(name string) float64 {
	for _, m := range outcome.Metrics {
		if m.Name == name {
			return float64(m.Sign)
		}
	}
	panic("calibrate: no outcome " + name)
}

// curve names what is compared with a line: a row of the verdicts resource.
type curve struct {
	thresholds.Key
	reference string
}

// edge is a confirmed breakpoint; a limit that is not pinned is infinite.
type edge struct {
	x, lo, hi float64
	up        bool // to an advantage
	weak      bool // every zone that it bounds is marked weak
}

func (e edge) holds(x float64) bool { return e.lo <= x && x <= e.hi }

func (e edge) open() bool { return math.IsInf(e.lo, 0) || math.IsInf(e.hi, 0) }

// edgesOf gathers the confirmed breakpoints of a table by curve, from left to
// right. The zones on both sides of an edge tell of it.
func edgesOf(tables *thresholds.Tables) map[curve][]edge {
	or := func(p *float64, otherwise float64) float64 {
		if p == nil {
			return otherwise
		}
		return *p
	}
	out := map[curve][]edge{}
	for i := range tables.Zones {
		z := &tables.Zones[i]
		c := curve{z.Key, z.Reference}
		for _, b := range z.Edges() {
			e := edge{b.At, or(b.Lo, math.Inf(-1)), or(b.Hi, math.Inf(1)), b.BeatsAbove, z.Weak}
			if k := slices.IndexFunc(out[c], func(o edge) bool { return o.x == e.x && o.up == e.up }); k >= 0 {
				out[c][k].weak = out[c][k].weak && z.Weak
				continue
			}
			out[c] = append(out[c], e)
		}
	}
	for c := range out {
		slices.SortFunc(out[c], func(a, b edge) int { return int(math.Copysign(1, a.x-b.x)) })
	}
	return out
}
