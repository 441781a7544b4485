package calibrate

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"sill/pipeline/demo"
	"sill/pipeline/outcome"
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
			mean, sd := meanSD(off[t])
			squares = append(squares, mean*mean/(sd*sd)-(n-1)/(n-3)/n)
		}
	}
	return calibrate.RootFinding("", "bias over standard deviation, root mean square", squares, calibrate.NoBar, "")
}
