package calibrate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"sill/stats"
)

// League is a law of data sets with several crews of clusters, which meet under
// one line: pitchers of either hand, say. A League of one view with one crew is a
// Design.
type League struct {
	// Views are what is looked at: a kind of value in a season. The first is the
	// one that the others correlate with.
	Views []View
	// Idle is how many further variables a trial has that its value does not
	// depend on. They have the law of x and are independent of it.
	Idle int
	// Turnover is the chance that a cluster has trials in one season only, each
	// season alike.
	Turnover float64
	// Sides gives every second cluster to one cell: number j is met in cell j
	// modulo the number of cells, of whichever crew.
	Sides bool
}

// View is a kind of value in a season.
type View struct {
	// Crews have cells and laws, and as many clusters in every view. Second
	// clusters are those of the first crew's design: all crews and views share
	// them, and all cells unless Sides is set.
	Crews []Design
	// Of is the view whose trials these are: its own number where it is a season
	// of its own, an earlier one's where it is another kind of value of the same
	// trials. These share cells and x; whether a trial is an event is drawn anew.
	Of int
	// Effect is the correlation of the effects of clusters and second clusters
	// with those of the first view, and in a season of its own that of sizes and
	// means of x also. Not used in the first view.
	Effect float64
}

// NewLeague is a league of one view.
func NewLeague(crews ...Design) League { return League{Views: []View{{Crews: crews}}} }

// With adds another kind of value of the first view's trials, made from its
// crews by change.
func (l League) With(effect float64, change func(crew int, d *Design)) League {
	return l.add(View{Of: 0, Effect: effect}, change)
}

// Then adds a season of the same clusters, made from the first view's crews by
// change.
func (l League) Then(effect float64, change func(crew int, d *Design)) League {
	return l.add(View{Of: len(l.Views), Effect: effect}, change)
}

func (l League) add(v View, change func(crew int, d *Design)) League {
	for c, d := range l.Views[0].Crews {
		d.Cells = slices.Clone(d.Cells)
		change(c, &d)
		v.Crews = append(v.Crews, d)
	}
	l.Views = append(slices.Clone(l.Views), v)
	return l
}

// Validate names every fault of the league.
func (l League) Validate() error {
	if len(l.Views) == 0 || len(l.Views[0].Crews) == 0 {
		return errors.New("calibrate: a league needs a view with a crew")
	}
	var found faults
	add := found.add
	add(l.Idle < 0 || !(l.Turnover >= 0 && l.Turnover <= 1), "idle variables and turnover must not be negative, turnover at most 1")
	first := l.Views[0].Crews
	for i, v := range l.Views {
		if len(v.Crews) != len(first) || v.Of < 0 || v.Of > i || l.Views[v.Of].Of != v.Of {
			add(true, "every view needs the crews of the first, and trials of its own or of such a view before it")
			continue
		}
		add(!(math.Abs(v.Effect) <= 1), "a correlation of effects must lie in [-1, 1]")
		for c, d := range v.Crews {
			if err := d.Validate(); err != nil {
				found = append(found, err)
			}
			add(l.Sides && (d.Second < len(d.Cells) || len(d.Cells) != len(first[0].Cells)), "sides need a second cluster for every cell, and as many cells everywhere")
			add(d.Clusters != first[c].Clusters || d.Second != first[0].Second, "every view needs the same clusters")
			same := slices.EqualFunc(d.Cells, l.Views[v.Of].Crews[c].Cells, func(a, b Cell) bool { return a.Share == b.Share })
			add(!same || d.X != l.Views[v.Of].Crews[c].X, "kinds of value of the same trials need the same cells and x")
		}
	}
	return errors.Join(found...)
}

// Draw returns data set number of the league under a seed, by view and crew.
// Panics on a league that Validate refuses.
func (l League) Draw(seed uint64, number int) [][]Crew {
	if l.Validate() != nil {
		panic("calibrate: Draw needs a valid league")
	}
	out := make([][]Crew, len(l.Views))
	for v, view := range l.Views {
		for _, d := range view.Crews {
			out[v] = append(out[v], d.newCrew(d.Second, l.Idle))
		}
	}
	l.each(rand.New(rand.NewChaCha8(Key(seed, "league", number))), func(view, crew int, e event, idle []float64) {
		out[view][crew].add(e, idle)
	})
	for v := range out {
		for c := range out[v] {
			out[v][c].count(l.Views[v].Crews[c])
		}
	}
	return out
}

// each draws a data set and visits its events with their idle variables.
func (l League) each(rng *rand.Rand, visit func(view, crew int, e event, idle []float64)) {
	// like draws a standard normal value for each view that correlates with the
	// first view's as the view says.
	values := make([]float64, 3*len(l.Views))
	like := func(k int) []float64 {
		out := values[k*len(l.Views) : (k+1)*len(l.Views)]
		for v := range out {
			out[v] = rng.NormFloat64()
			if r := l.Views[v].Effect; v > 0 {
				out[v] = r*out[0] + math.Sqrt(1-r*r)*out[v]
			}
		}
		return out
	}
	groups := 1 // of second clusters
	if l.Sides {
		groups = len(l.Views[0].Crews[0].Cells)
	}
	weights := make([][]float64, groups) // cumulated, by group
	seconds := make([][]float64, len(l.Views))
	second := l.Views[0].Crews[0].Second
	for j := range second {
		w := weights[j%groups]
		before := 0.0
		if len(w) > 0 {
			before = w[len(w)-1]
		}
		weights[j%groups] = append(w, before+math.Exp(.8*rng.NormFloat64()))
		for v, z := range like(0) {
			seconds[v] = append(seconds[v], l.Views[v].Crews[0].SecondSD*z)
		}
	}
	var seasons []int
	for v := range l.Views {
		if l.Views[v].Of == v {
			seasons = append(seasons, v)
		}
	}
	means, idle := make([]float64, l.Idle), make([]float64, l.Idle)
	curves := make([][]func(float64) float64, len(l.Views))
	for crew := range l.Views[0].Crews {
		for v := range l.Views {
			curves[v] = l.Views[v].Crews[crew].curves()
		}
		for cluster := range l.Views[0].Crews[crew].Clusters {
			talent, sizes, centres := like(0), like(1), like(2)
			only := -1
			if l.Turnover > 0 && rng.Float64() < l.Turnover {
				only = seasons[rng.IntN(len(seasons))]
			}
			for _, s := range seasons {
				if only >= 0 && only != s {
					continue
				}
				d := &l.Views[s].Crews[crew]
				mean := d.X.Centre + d.X.Between*centres[s]
				for k := range means {
					means[k] = d.X.Centre + d.X.Between*rng.NormFloat64()
				}
				for range d.size(sizes[s]) {
					e := event{cluster: cluster}
					drawn := false
					for v := s; v < len(l.Views); v++ {
						own := &l.Views[v].Crews[crew]
						if l.Views[v].Of != s || rng.Float64() >= own.EventShare {
							continue
						}
						if !drawn {
							drawn = true
							e.cell = d.cell(rng.Float64())
							e.x = mean + d.X.Within*rng.NormFloat64()
							for k := range idle {
								idle[k] = means[k] + d.X.Within*rng.NormFloat64()
							}
							if second > 0 {
								k := e.cell % groups
								w := weights[k]
								e.second = k + groups*sort.SearchFloat64s(w, rng.Float64()*w[len(w)-1])
							}
						}
						effect := own.ClusterSD * (own.Workload*sizes[s] + math.Sqrt(1-own.Workload*own.Workload)*talent[v])
						if second > 0 {
							effect += seconds[v][e.second]
						}
						odds := curves[v][e.cell](e.x) * math.Exp(effect)
						e.value = 0
						if rng.Float64()*(1+odds) < odds {
							e.value = own.value(rng)
						}
						visit(v, crew, e, idle)
					}
				}
			}
		}
	}
}

// Resample draws the replicates of data set number under a seed: for each crew
// one multinomial draw, which serves all its cells in every view. Another seed
// gives draws that are independent of these.
func (l League) Resample(seed uint64, number, replicates int) []*stats.Weights {
	var draws []*stats.Weights
	for c, d := range l.Views[0].Crews {
		draws = append(draws, stats.DrawMultinomial(Key(seed, fmt.Sprint("crew ", c), number), d.Clusters, replicates))
	}
	return draws
}
