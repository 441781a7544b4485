package calibrate

import (
	"context"
	"math"

	"sill/stats"
	"sill/stats/simulate"
)

// thirdsBar is what the intervals of a gap by thirds must cover.
var thirdsBar = Between(.92, .98)

// thirds counts how often the intervals of a gap and of its change hold the truth,
// whether the change is rejected, and whether it is said to be smaller than it is
// (at the true change, where equivalence is hardest to keep honest).
func (s scores) thirds(of string, a, b fitted, truth func(x float64) float64) {
	t := stats.NewThirds(a.Curve, b.Curve, a.sign, a.way, b.way)
	s.hit(of+" told", t != nil)
	if t == nil {
		return
	}
	want := t.Over(truth)
	for k := range want {
		want[k] *= a.sign
		s.hit(of+" gap covered", holds(t.Gap[k], want[k]))
	}
	change, bend := want[2]-want[0], want[1]-(want[0]+want[2])/2
	s.hit(of+" change covered", holds(t.Change, change))
	s.hit(of+" splits, p below .05", t.P < judgedAt)
	s.hit(of+" said to change less than it does", t.Within < max(math.Abs(change), math.Abs(bend)))
}

func holds(i stats.Interval, v float64) bool { return i.Lo <= v && v <= i.Hi }

// platoonGap judges the gap between two cells of one crew by thirds of x: where it
// is the same all along, and where one cell rises and the other is flat.
func (m method) platoonGap(ctx context.Context, o Options) ([]Finding, error) {
	half := simulate.Curve{Name: "half", At: func(z float64) float64 { return simulate.Mono.At(z / 2) }}
	law := withRuns(simulate.NewLeague(
		crewOf(60, cell(simulate.Mono, 0), cell(simulate.Mono, 0)),
		crewOf(180, cell(simulate.Mono, 0), cell(simulate.Mono, 0)),
		crewOf(180, cell(simulate.Mono, .1), cell(simulate.Null, 0)),
		crewOf(300, cell(simulate.Mono, 0), cell(half, .05))),
		[]simulate.Cell{cell(fall, 0), cell(fall, 0)},
		[]simulate.Cell{cell(fall, 0), cell(fall, 0)},
		[]simulate.Cell{cell(fall, .1), cell(simulate.Null, 0)},
		[]simulate.Cell{cell(fall, 0), cell(half, .05)})
	law.Sides = true
	for v := range law.Views {
		for c := range law.Views[v].Crews {
			d := &law.Views[v].Crews[c]
			d.Second, d.SecondSD = 250, .28
		}
	}
	names := []string{"one curve, 60 clusters:", "one curve, 180:", "rising and flat, 180:", "steep and half as steep, 300:"}
	truth := make([][]*simulate.Truth, len(kinds))
	for v := range kinds {
		truth[v] = law.TruthAt(v, 0)
	}
	r, err := m.play(ctx, o, "platoon gap", law, 600, func(g *league, s scores) {
		for v, kind := range kinds {
			for c, name := range names {
				s.thirds(kind+", "+name, g.fit(at{v, c, 0}, g.draws), g.fit(at{v, c, 1}, g.draws), func(x float64) float64 {
					return truth[v][c].At(0, x) - truth[v][c].At(1, x)
				})
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var out []Finding
	for _, kind := range kinds {
		for c, name := range names {
			of := kind + ", " + name
			splits := NoBar
			if c < 2 { // the gap does not change
				splits = AtMost(.065)
			}
			out = append(out, r.share("two kinds of cluster", of+" gap covered", thirdsBar, ""),
				r.share("two kinds of cluster", of+" change covered", thirdsBar, ""),
				r.share("two kinds of cluster", of+" splits, p below .05", splits, ""))
			if c >= 2 {
				out = append(out, r.share("two kinds of cluster", of+" said to change less than it does", AtMost(.05), ""))
			}
		}
	}
	return out, nil
}
