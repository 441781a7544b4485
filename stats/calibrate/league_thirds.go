package calibrate

import (
	"context"
	"math"

	"sill/stats"
)

// thirdsBar is what the intervals of a gap by thirds must cover.
var thirdsBar = Between(.92, .98)

// thirds counts how often the intervals of a gap and of its change hold the truth,
// whether the change is rejected, and whether it is said to be smaller than it is
// (at the true change, where equivalence is hardest to keep honest).
func (s Scores) thirds(of string, a, b fitted, truth func(x float64) float64) {
	t := stats.NewThirds(a.Curve, b.Curve, a.sign, a.way, b.way)
	s.Hit(of+" told", t != nil)
	if t == nil {
		return
	}
	want := t.Over(truth)
	for k := range want {
		want[k] *= a.sign
		s.Hit(of+" gap covered", holds(t.Gap[k], want[k]))
	}
	change, bend := want[2]-want[0], want[1]-(want[0]+want[2])/2
	s.Hit(of+" change covered", holds(t.Change, change))
	s.Hit(of+" splits, p below .05", t.P < judgedAt)
	s.Hit(of+" said to change less than it does", t.Within < max(math.Abs(change), math.Abs(bend)))
}

func holds(i stats.Interval, v float64) bool { return i.Lo <= v && v <= i.Hi }

// platoonGap judges the gap between two cells of one crew by thirds of x: where it
// is the same all along, and where one cell rises and the other is flat.
func platoonGap(ctx context.Context, o Options) ([]Finding, error) {
	half := Curve{Name: "half", At: func(z float64) float64 { return Mono.At(z / 2) }}
	law := withRuns(NewLeague(
		crewOf(60, cell(Mono, 0), cell(Mono, 0)),
		crewOf(180, cell(Mono, 0), cell(Mono, 0)),
		crewOf(180, cell(Mono, .1), cell(Null, 0)),
		crewOf(300, cell(Mono, 0), cell(half, .05))),
		[]Cell{cell(fall, 0), cell(fall, 0)},
		[]Cell{cell(fall, 0), cell(fall, 0)},
		[]Cell{cell(fall, .1), cell(Null, 0)},
		[]Cell{cell(fall, 0), cell(half, .05)})
	law = law.withSides()
	names := []string{"one curve, 60 clusters:", "one curve, 180:", "rising and flat, 180:", "steep and half as steep, 300:"}
	truth := law.curves(len(kinds))
	return o.leagues(ctx, leaguePlan{"two kinds of cluster", o.stream("study platoon gap"), law, 600, func(g *dataset, s Scores) {
		for v, kind := range kinds {
			for c, name := range names {
				s.thirds(kind+", "+name, g.fit(at{v, c, 0}, g.draws), g.fit(at{v, c, 1}, g.draws), func(x float64) float64 {
					return truth[v][c].At(0, x) - truth[v][c].At(1, x)
				})
			}
		}
	}, func(t *Sheet) {
		for _, kind := range kinds {
			for c, name := range names {
				of, splits := kind+", "+name, NoBar
				if c < 2 { // the gap does not change
					splits = AtMost(.065)
				}
				t.Clustered(of+" gap covered", thirdsBar, "")
				t.Clustered(of+" change covered", thirdsBar, "")
				t.Clustered(of+" splits, p below .05", splits, "")
				if c >= 2 {
					t.Clustered(of+" said to change less than it does", AtMost(.05), "")
				}
			}
		}
	}})
}
