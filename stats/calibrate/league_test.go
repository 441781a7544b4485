package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sill/stats"
)

// narrow puts the data themselves in place of three replicates in four, which
// halves every standard error.
func narrow(g *dataset) {
	narrowDraws(g.draws, 4)
	narrowDraws(g.apart, 4)
}

// narrowDraws leaves one replicate in so many as it is, and puts the data themselves
// in place of the others.
func narrowDraws(draws []*stats.Weights, left int) {
	for c, w := range draws {
		count := slices.Clone(w.Count)
		for i := range count {
			if i/w.Clusters%left != 0 {
				count[i] = 1
			}
		}
		draws[c] = stats.NewWeights(w.Clusters, count)
	}
}

// crowd counts every event of a part 25 times, as if limits knew five times as well
// where a curve passes the line.
func crowd(tables []*stats.Table) {
	for _, t := range tables {
		for i := range t.Parts.N {
			t.Parts.N[i], t.Parts.Y[i] = 25*t.Parts.N[i], 25*t.Parts.Y[i]
		}
	}
}

func crowded(g *dataset) {
	for _, crews := range g.crews {
		for _, crew := range crews {
			crowd(crew.Tables)
		}
	}
}

// flattered makes shares a sixteenth larger and run values a sixteenth smaller than they are,
// but for the line: both outcomes seem to beat it sooner than they do.
func flattered(g *dataset) {
	for _, crews := range g.crews {
		for _, crew := range crews {
			for _, t := range crew.Tables {
				k := 17. / 16
				if t.YY != nil {
					k = 15. / 16
				}
				for i := range t.Y {
					t.Y[i] *= k
				}
				for i := range t.Parts.Y {
					t.Parts.Y[i] *= k
				}
			}
		}
	}
}

// scatter gives the entries of every bin to other clusters, as if what a cluster
// does in one bin said nothing of what it does in the next.
func scatter(g *dataset) {
	rng := rand.New(rand.NewPCG(g.seed, uint64(g.number)))
	for _, crews := range g.crews {
		for _, crew := range crews {
			for i, t := range crew.Tables {
				for _, t := range append([]*stats.Table{t}, crew.Idle[i]...) {
					for b := range t.X {
						lo, hi := t.Start[b], t.Start[b+1]
						for k, c := range rng.Perm(t.Clusters)[:hi-lo] {
							t.Cluster[lo+int32(k)] = int32(c)
						}
						slices.Sort(t.Cluster[lo:hi])
						rng.Shuffle(int(hi-lo), func(a, b int) {
							t.N[int(lo)+a], t.N[int(lo)+b] = t.N[int(lo)+b], t.N[int(lo)+a]
							t.Y[int(lo)+a], t.Y[int(lo)+b] = t.Y[int(lo)+b], t.Y[int(lo)+a]
						})
					}
				}
			}
		}
	}
}

// Every study must miss its bars, by more than chance explains, when what it
// judges is broken.
func TestLeagueStudiesNotice(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	for _, c := range []struct {
		fault  func(g *dataset)
		study  func(context.Context, Options) ([]Finding, error)
		scale  float64
		misses string // a measure that must miss its bar in some design
	}{
		{crowded, pooled, .04, "median line: covered"},
		{crowded, edges, .04, "edge covered"},
		{narrow, edges, .04, "band of the curve"},
		{narrow, levelContrast, .04, "proportions, one crew: covered"},
		{narrow, platoonGap, .04, "gap covered"},
		{crowded, breakpointContrast, .04, "two crews: covered"},
		{narrow, seasons, .04, "level: covered"},
		{crowded, strata, .04, "median line: covered"},
		{crowded, fixedLine, .04, "clusters: covered"},
		{func(g *dataset) { flattered(g); narrow(g); crowded(g) }, jointZones, .05, "inside the true zone"},
		{narrow, fewRuns, .04, "level, two crews: covered"},
		{crowded, workload, .04, "median line: covered"},
		{scatter, publishedTable, .06, "false"},
	} {
		findings, err := c.study(context.Background(), Options{Scale: c.scale, Workers: 2, Seed: 3, replicates: 120, spoil: c.fault})
		if err != nil {
			t.Fatal(err)
		}
		missed := 0
		for _, f := range findings {
			if strings.Contains(f.Measure, c.misses) && f.Verdict(3.5) == Missed {
				missed++
			}
		}
		if missed == 0 {
			t.Errorf("no %q missed its bar: %v", c.misses, findings)
		}
	}
}

// Draws that are apart where the clusters are the same make the interval of a
// difference too wide, and too narrow where the edges have opposite directions.
func TestLeagueDrawsApart(t *testing.T) {
	if testing.Short() {
		t.Skip("simulation")
	}
	findings, err := breakpointContrast(context.Background(), Options{Scale: .08, Workers: 2, Seed: 3, replicates: 150})
	if err != nil {
		t.Fatal(err)
	}
	at := func(design, measure string) float64 {
		for _, f := range findings {
			if f.Design == design && f.Measure == measure {
				return f.Value
			}
		}
		t.Fatalf("%s: no %s", design, measure)
		return 0
	}
	same := at("equal edges", "one crew, drawn apart: covered") - at("equal edges", "one crew: covered")
	opposite := at("opposite directions", "one crew, drawn apart: covered") - at("opposite directions", "one crew: covered")
	if !(same >= 0 && opposite < 0) {
		t.Errorf("drawn apart less joint: %.3f in one direction, %.3f in opposite ones", same, opposite)
	}
}

// Findings do not depend on how many leagues are judged at a time.
func TestLeagueWorkers(t *testing.T) {
	var seen []string
	for _, workers := range []int{1, 3} {
		findings, err := workload(context.Background(), Options{Scale: .005, Workers: workers, Seed: 3, replicates: 20})
		if err != nil {
			t.Fatal(err)
		}
		var text strings.Builder
		for _, f := range findings {
			move := f.Moved
			f.Moved = nil // a pointer: told by itself
			fmt.Fprintln(&text, f)
			if move != nil {
				fmt.Fprintln(&text, *move)
			}
		}
		seen = append(seen, text.String())
	}
	if seen[0] != seen[1] {
		t.Errorf("one worker: %s\nthree: %s", seen[0], seen[1])
	}
}

func TestScoresEdges(t *testing.T) {
	s := NewScores()
	truth := []TrueEdge{{X: 10, Up: true}, {X: 20, Up: false}}
	s.edges("edge", []stats.Edge{
		{X: 11, Lo: 9.5, Hi: 12, Up: true},           // covers
		{X: 13, Lo: 12.5, Hi: math.Inf(1), Up: true}, // does not
		{X: 10, Lo: 9, Hi: 11, Up: false},            // holds an edge of the other direction only
	}, truth)
	r := Results{s, NewScores()}.Sheet("")
	if got := r.Rate("edge covered"); got != 1./3 {
		t.Errorf("covered %v", got)
	}
	if got := r.Rate("edge confirmed"); got != 1 {
		t.Errorf("confirmed %v", got)
	}
	if got := r.Root("edge error", NoBar, "").Value; math.Abs(got-math.Sqrt((1+9+100)/3.)) > 1e-12 {
		t.Errorf("root mean square error %v", got)
	}
}

// A finding's error grows with how alike the counts of a league are.
func TestClustered(t *testing.T) {
	var alike, mixed Results
	for i := range 40 {
		a, b := NewScores(), NewScores()
		for k := range 10 {
			a.Hit("m", i%2 == 0)
			b.Hit("m", k%2 == 0)
		}
		alike, mixed = append(alike, a), append(mixed, b)
	}
	low, high := mixed.Sheet("").Clustered("m", AtLeast(.5), ""), alike.Sheet("").Clustered("m", AtLeast(.5), "")
	if want := math.Sqrt(.25 / 400); low.SE != want || !(math.Abs(high.SE-want*math.Sqrt(10)) < .06*high.SE) {
		t.Errorf("errors %v and %v, want %v and √10 times it", low.SE, high.SE, want)
	}
	gap := alike.Sheet("").Gap("", "m", "m", AtLeast(.03), "")
	if gap.Value != 0 || gap.SE != 0 {
		t.Errorf("a measure less itself: %v ± %v", gap.Value, gap.SE)
	}
	all := Results{NewScores(), NewScores()}
	for _, s := range all {
		s.Count("m", Share{5, 5})
	}
	if f := all.Sheet("").Clustered("m", AtMost(.95), ""); math.Abs(f.SE-math.Sqrt(.95*.05/2)) > 1e-12 {
		t.Errorf("error of an even share %v", f.SE)
	}
}
