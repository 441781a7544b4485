package calibrate

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

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
	reports, err := play(ctx, o, leagueSeeds, o.Sets(leagueSets), demo.Lantern(), published)
	if err != nil {
		return nil, err
	}
	return findings("Lantern League", reports, o.Scale)
}

// published is the table of one season by the short way, which has no files.
func published(ctx context.Context, s demo.Scenario, seed uint64) (*thresholds.Tables, error) {
	counts, err := count(ctx, s, seed, nil, nil)
	if err != nil {
		return nil, err
	}
	return publish(ctx, counts, seed)
}

// The studies' blocks of seeds.
const (
	leagueSeeds = iota
	flatSeeds
	seasonSeeds
	factSeeds
	trialSeeds
	stackSeeds
	gradeSeeds
	facedSeeds
	locatedSeeds
	shiftSeeds
	needSeeds
	lineSeeds
	venueSeeds
)

// seed is that of a study's i-th season. It lies above those of the seasons on
// which the truth was measured, which begin at a million.
func seed(o calibrate.Options, block uint64, i int) uint64 {
	return 1<<32 + o.Seed<<20 + block<<16 + uint64(i)
}

// play scores so many seasons of a scenario.
func play(ctx context.Context, o calibrate.Options, block uint64, sets int, s demo.Scenario,
	table func(context.Context, demo.Scenario, uint64) (*thresholds.Tables, error)) ([]report, error) {
	t, err := truthOf(s)
	if err != nil {
		return nil, err
	}
	reports := make([]report, sets)
	err = o.Each(ctx, sets, func(i int) error {
		tables, err := table(ctx, s, seed(o, block, i))
		if err != nil {
			return fmt.Errorf("season %d: %w", i, err)
		}
		reports[i] = score(t, tables)
		return nil
	})
	return reports, err
}

// findings sums up the reports of leagues drawn alike.
func findings(design string, reports []report, scale float64) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	tell := func(measure string, bar calibrate.Bar, earlier string, of func(*report) (int, int)) {
		if f := share(design, measure, reports, bar, earlier, of); f.Of > 0 {
			out = append(out, f)
		}
	}
	tell("edge held, all", calibrate.AtLeast(.925), ".935–.973", among(func(*answer) bool { return true }))
	if all := out[0].Of; all < int(fewestEdges*min(1, scale)) {
		return nil, fmt.Errorf("%d edges are confirmed in %d leagues, too few to tell coverage: fewer than %.0f mean that the harness is at fault",
			all, len(reports), fewestEdges*min(1, scale))
	}
	for _, reference := range headline {
		tell("edge held, "+reference, calibrate.AtLeast(.925), ".935–.973",
			among(func(a *answer) bool { return a.curve.reference == reference }))
		for _, m := range outcome.Metrics {
			tell("edge held, "+reference+", "+m.Name, calibrate.AtLeast(.925), "",
				among(func(a *answer) bool { return a.curve.reference == reference && a.curve.Outcome == m.Name }))
		}
	}
	out = append(out, byVariable(design, reports, scale)...)
	for _, c := range classes {
		tell("edge held, "+c.name, c.bar, c.earlier, among(func(a *answer) bool { return c.of(&a.edge) }))
	}
	often := confirmed(reports)
	for _, c := range powers {
		tell("edge held, confirmed in "+c.name, c.bar, c.earlier, among(func(a *answer) bool {
			p := often[target{a.curve, a.to}]
			return a.to >= 0 && p >= c.lo && p < c.hi
		}))
	}
	if f := bias(design, reports); f.Of > 0 {
		out = append(out, f)
	}
	for _, reference := range headline {
		for _, m := range outcome.Metrics {
			tell("true crossing confirmed, "+reference+", "+m.Name, calibrate.NoBar, "", func(r *report) (hits, trials int) {
				for _, c := range r.chances {
					if c.curve.reference == reference && c.curve.Outcome == m.Name {
						trials++
						if c.confirmed {
							hits++
						}
					}
				}
				return hits, trials
			})
		}
	}
	tell("false edge: no crossing of its direction", calibrate.AtMost(.10), "", falseEdges)
	out = append(out, emptyFindings(design, reports)...)
	out = append(out, wrongs(design, reports)...)
	return out, nil
}

// byVariable tells coverage against the median line for each variable; it has a bar
// where it rests on so many edges that it can be told.
func byVariable(design string, reports []report, scale float64) []calibrate.Finding {
	const enough = 1000 // at full size
	var out []calibrate.Finding
	for _, v := range shape.Variables {
		f := share(design, "edge held, "+v.Name, reports, calibrate.NoBar, "",
			among(func(a *answer) bool { return a.curve.reference == demo.TypeMedian && a.curve.Variable == v.Name }))
		if f.Of == 0 {
			continue
		}
		if float64(f.Of) >= enough*min(1, scale) {
			f.Bar = calibrate.AtLeast(.90)
		}
		out = append(out, f)
	}
	return out
}

// emptyFindings tell what is said of variables that nothing depends on.
func emptyFindings(design string, reports []report) []calibrate.Finding {
	said := func(of func(judged) bool) func(*report) (int, int) {
		return func(r *report) (hits, trials int) {
			for _, v := range r.verdicts {
				if v.verdict != locate.TooFew && isEmpty(v.curve) {
					trials++
					if of(v) {
						hits++
					}
				}
			}
			return hits, trials
		}
	}
	out := []calibrate.Finding{
		share(design, "empty variable found", reports, calibrate.AtMost(.01), "", said(func(v judged) bool { return v.verdict == locate.Found })),
		share(design, "empty variable: edge unresolved", reports, calibrate.AtMost(.01), "", said(func(v judged) bool { return v.verdict == locate.EdgeUnresolved })),
		share(design, "empty variable not taken to be flat, whatever the verdict", reports, calibrate.NoBar, "", said(func(v judged) bool { return v.reject })),
	}
	return slices.DeleteFunc(out, func(f calibrate.Finding) bool { return f.Of == 0 })
}

// classes divide edges by what a reader is told of them.
var classes = []struct {
	name    string
	bar     calibrate.Bar
	earlier string
	of      func(*edge) bool
}{
	{"pinned on both sides", calibrate.AtLeast(.915), "", func(e *edge) bool { return !e.open() && !e.weak }},
	{"marked weak", calibrate.NoBar, ".81–.96", func(e *edge) bool { return e.weak }},
	{"not pinned on a side", calibrate.NoBar, "", func(e *edge) bool { return e.open() && !e.weak }},
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
func confirmed(reports []report) map[target]float64 {
	out := map[target]float64{}
	for i := range reports {
		seen := map[target]bool{}
		for _, a := range reports[i].edges {
			seen[target{a.curve, a.to}] = true
		}
		for t := range seen {
			out[t] += 1 / float64(len(reports))
		}
	}
	return out
}

// bias is how far confirmed edges lie from the truth on average, in standard
// deviations, as a root mean square over the crossings that nearly all leagues
// confirm. It holds the estimators' bias and the truth's own error; what so many
// leagues would show without either is taken off: for normal errors the mean
// over n, squared and over the variance, is (n−1)/(n−3)/n on average.
func bias(design string, reports []report) calibrate.Finding {
	off := map[target][]float64{}
	for i := range reports {
		for _, a := range reports[i].edges {
			if a.to >= 0 {
				t := target{a.curve, a.to}
				off[t] = append(off[t], a.off)
			}
		}
	}
	var squares []float64
	for _, t := range slices.SortedFunc(maps.Keys(off), target.compare) {
		if n := float64(len(off[t])); n >= max(8, .9*float64(len(reports))) {
			mean, sd := meanSD(off[t])
			squares = append(squares, mean*mean/(sd*sd)-(n-1)/(n-3)/n)
		}
	}
	f := calibrate.MeanFinding(design, "bias over standard deviation, root mean square", squares, calibrate.NoBar, "")
	f.Value = math.Sqrt(max(0, f.Value))
	f.SE /= 2 * f.Value
	return f
}

// wrongs are the findings on verdicts, levels and lines.
func wrongs(design string, reports []report) []calibrate.Finding {
	var out []calibrate.Finding
	tell := func(measure string, bar calibrate.Bar, earlier string, of func(*report) (int, int)) {
		if f := share(design, measure, reports, bar, earlier, of); f.Of > 0 {
			out = append(out, f)
		}
	}
	tell("always or never, wrong, of all curves tested", calibrate.AtMost(.04), "≤ .025", func(r *report) (hits, trials int) {
		for _, v := range r.verdicts {
			if v.verdict != locate.TooFew {
				trials++
			}
			if v.wrong {
				hits++
			}
		}
		return hits, trials
	})
	tell("always or never, wrong, of those said", calibrate.NoBar, "", func(r *report) (hits, trials int) {
		for _, v := range r.verdicts {
			if v.verdict == locate.AlwaysBeats || v.verdict == locate.NeverBeats {
				trials++
				if v.wrong {
					hits++
				}
			}
		}
		return hits, trials
	})
	for _, side := range []struct {
		name string
		sign int
	}{{"above", +1}, {"below", -1}} {
		tell("level wrongly "+side.name, calibrate.AtMost(.04), ".018–.031", func(r *report) (hits, trials int) {
			for _, l := range r.levels {
				if l.estimable {
					trials++
					if l.wrong == side.sign {
						hits++
					}
				}
			}
			return hits, trials
		})
	}
	tell("level held", calibrate.Between(.93, .98), ".935–.956", func(r *report) (hits, trials int) {
		for _, l := range r.levels {
			if l.estimable {
				trials++
				if l.held {
					hits++
				}
			}
		}
		return hits, trials
	})
	for _, reference := range headline {
		tell("line held, "+reference, calibrate.AtLeast(.92), ".923–.954", func(r *report) (hits, trials int) {
			for _, l := range r.lines {
				if l.line.reference == reference {
					trials++
					if l.held {
						hits++
					}
				}
			}
			return hits, trials
		})
	}
	return out
}
