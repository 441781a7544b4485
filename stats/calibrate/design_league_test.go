package calibrate

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sill/stats"
)

// twoCrews is a league of 60 and 180 clusters whose cells differ, with run
// values of the same trials and a second season.
func twoCrews() League {
	crew := func(clusters int, a, b Curve) Design {
		d := Default(a)
		d.Clusters, d.Cells = clusters, []Cell{{a, .3, .1}, {b, .7, 0}}
		d.Second, d.SecondSD, d.Workload = 250, .28, .5
		return d
	}
	l := NewLeague(crew(60, Mono, Tick), crew(180, Two, Mono))
	l = l.With(-.5, func(_ int, d *Design) { d.Kind, d.EventShare = stats.Mean, .26 })
	l = l.Then(.8, func(_ int, d *Design) { d.Cells[0].Curve = Band })
	l.Turnover, l.Idle = .3, 1
	return l
}

func TestLeagueDrawIsKeyed(t *testing.T) {
	l := twoCrews()
	if !reflect.DeepEqual(l.Draw(7, 3), l.Draw(7, 3)) {
		t.Error("the same key gave two data sets")
	}
	if reflect.DeepEqual(l.Draw(7, 3), l.Draw(7, 4)) || reflect.DeepEqual(l.Draw(7, 3), l.Draw(8, 3)) {
		t.Error("another key gave the same data set")
	}
	if reflect.DeepEqual(l.Resample(7, 3, 50), l.Resample(8, 3, 50)) {
		t.Error("another seed gave the same draws")
	}
}

// Tables, idle tables and totals hold the same events, and those of second
// clusters too.
func TestLeagueDrawCounts(t *testing.T) {
	for v, crews := range twoCrews().Draw(1, 0) {
		for c, crew := range crews {
			var events, sums float64
			for i, table := range crew.Tables {
				for _, same := range []*stats.Table{table, crew.Second[i], crew.Idle[i][0]} {
					stats.NewFlipTest(same, [32]byte{}) // refuses a table that is not well formed
					n, y := same.Sums()
					a, b := table.Sums()
					if math.Abs(total(n)-total(a)) > 1e-9 || math.Abs(total(y)-total(b)) > 1e-6 {
						t.Errorf("view %d, crew %d, cell %d: %v events of sum %v, want %v of %v", v, c, i, total(n), total(y), total(a), total(b))
					}
				}
				n, y := table.ByCluster()
				events, sums = events+total(n), sums+total(y)
			}
			if events != total(crew.Events) || math.Abs(sums-total(crew.Sums)) > 1e-6 {
				t.Errorf("view %d, crew %d: %v events in tables, %v by cluster", v, c, events, total(crew.Events))
			}
		}
	}
}

// With sides a second cluster is met in one cell only, by both crews.
func TestLeagueSides(t *testing.T) {
	l := twoCrews()
	l.Sides = true
	for v, crews := range l.Draw(1, 0) {
		for c, crew := range crews {
			for i, table := range crew.Second {
				if table.Active() < 100 {
					t.Errorf("view %d, crew %d, cell %d: %d second clusters", v, c, i, table.Active())
				}
				for _, j := range table.Cluster {
					if int(j)%2 != i {
						t.Fatalf("view %d, crew %d, cell %d meets second cluster %d", v, c, i, j)
					}
				}
			}
		}
	}
}

func total(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}

// Curves and lines of every view are what very many drawn clusters show, and so
// are the correlations and the turnover.
func TestLeagueTruthIsTheLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("a large population")
	}
	l := twoCrews()
	truth, median := make([][]*Truth, 3), make([]float64, 3)
	for v := range l.Views {
		truth[v], median[v] = l.Truth(v, PooledLine, 1), l.Truth(v, MedianLine, 1)[0].Line
	}
	for v := range l.Views {
		for c := range l.Views[v].Crews {
			l.Views[v].Crews[c].Clusters *= 40
			l.Views[v].Crews[c].Second = 8000
		}
	}
	sample := l.Draw(99, 0)
	for v, crews := range sample {
		kind := l.Views[v].Crews[0].Kind
		var n, y float64
		var rates []float64
		for c, crew := range crews {
			for i, table := range crew.Tables {
				for b := range table.X {
					bin := table.Bin(b, kind, crew.Second[i])
					half := (bin.Hi - bin.Lo) / 2 / bin.T
					if got, want := bin.Rate, truth[v][c].At(i, table.X[b]); bin.N > 5000 && math.Abs(got-want) > 4*half+.001 {
						t.Errorf("view %d, crew %d, cell %d at %.2f: drawn %.4f ± %.4f, truth %.4f", v, c, i, table.X[b], got, half, want)
					}
				}
			}
			n, y = n+total(crew.Events), y+total(crew.Sums)
			for p, k := range crew.Events {
				if k >= 25 {
					rates = append(rates, crew.Sums[p]/k)
				}
			}
		}
		near(t, "pooled line", truth[v][0].Line, y/n, .004)
		near(t, "median line", median[v], stats.Quantile(slices.Sorted(slices.Values(rates)), .5), .004)
		if v != 1 && truth[v][0].Line-median[v] < .008 {
			t.Errorf("view %d: talent goes with workload, yet the lines are %.4f apart", v, truth[v][0].Line-median[v])
		}
	}
	// By cluster over the views: rates of clusters with many events correlate a
	// little less than effects do, as x and chance stand between.
	var rates [3][]float64
	alone, both := 0, 0
	for p := range sample[0][1].Events {
		has := 0
		for _, v := range []int{0, 2} {
			if sample[v][1].Events[p] > 0 {
				has++
			}
		}
		switch has {
		case 1:
			alone++
		case 2:
			both++
		}
		if min(sample[0][1].Events[p], sample[1][1].Events[p], sample[2][1].Events[p]) > 120 {
			for v := range rates {
				rates[v] = append(rates[v], sample[v][1].Sums[p]/sample[v][1].Events[p])
			}
		}
	}
	near(t, "turnover", float64(alone)/float64(alone+both), .3, .02)
	if r := stat.Correlation(rates[0], rates[2], nil); r < .4 || r > .8 {
		t.Errorf("rates of two seasons correlate by %.3f", r)
	}
	if r := stat.Correlation(rates[0], rates[1], nil); r > -.15 || r < -.5 {
		t.Errorf("rates of two kinds correlate by %.3f", r)
	}
}

// A league of one crew is a design: the same law, so the same truth.
func TestLeagueOfOneCrew(t *testing.T) {
	d := big()
	for _, r := range []Reference{PooledLine, MedianLine} {
		a, b := d.Truth(r, 1), NewLeague(d).Truth(0, r, 1)[0]
		near(t, "line", b.Line, a.Line, .0012)
		for c := range a.Edges {
			for i := range a.Edges[c] {
				near(t, "edge", b.Edges[c][i].X, a.Edges[c][i].X, .1)
			}
		}
	}
}

func TestLeagueLineIsJoint(t *testing.T) {
	l := NewLeague(big())
	g := &dataset{law: l, crews: l.Draw(3, 0)}
	crews, draws := g.crews[0], l.Resample(3, 0, 200)
	line := g.line(0, PooledLine, draws)
	var n, y float64
	for _, table := range crews[0].Tables {
		a, b := table.Sums()
		n, y = n+total(a), y+total(b)
	}
	near(t, "value", line.Value, y/n, 1e-12)
	for r, got := range line.Rep {
		var n, y float64
		for p, k := range draws[0].Row(r) {
			n += float64(k) * crews[0].Events[p]
			y += float64(k) * crews[0].Sums[p]
		}
		near(t, "replicate", got, y/n, 1e-12)
	}
}

func TestLeagueValidate(t *testing.T) {
	if err := twoCrews().Validate(); err != nil {
		t.Error(err)
	}
	for what, spoil := range map[string]func(l *League){
		"needs a view":     func(l *League) { l.Views = nil },
		"sides need":       func(l *League) { l.Sides, l.Views[2].Crews[1].Second = true, 1 },
		"turnover":         func(l *League) { l.Turnover = 2 },
		"crews of the":     func(l *League) { l.Views[1].Crews = l.Views[1].Crews[:1] },
		"trials of its":    func(l *League) { l.Views[1].Of = 2 },
		"correlation of":   func(l *League) { l.Views[1].Effect = 1.5 },
		"the same cluster": func(l *League) { l.Views[2].Crews[0].Clusters++ },
		"same cells":       func(l *League) { l.Views[1].Crews[0].X = AngleLike },
		"share of events":  func(l *League) { l.Views[1].Crews[0].EventShare = 0 },
	} {
		l := twoCrews()
		spoil(&l)
		if err := l.Validate(); err == nil || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
	}
}
