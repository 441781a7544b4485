package opponents

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

var book = outcome.Scoring{Weights: outcome.TheBook()}

// swing is one pitch that was swung at, or that ended a plate appearance.
func swing(pitcher, batter int32, t pitch.Type, miss bool) pitch.Pitch {
	p := pitch.Pitch{Pitcher: pitcher, Batter: batter, Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: t, Outcome: pitch.Foul}
	if miss {
		p.Outcome = pitch.SwingingStrike
	}
	return p
}

// league throws swings: batters differ by skill, and on sliders the first share of
// the batters bats the more.
func league(seed uint64, pitchers, known, each int, skill, favour float64) (list []pitch.Pitch, skills []float64) {
	rng := rand.New(rand.NewPCG(seed, 6))
	skills = make([]float64, known)
	for b := range skills {
		skills[b] = skill * rng.NormFloat64()
	}
	slices.Sort(skills)
	for p := range pitchers {
		own := .02 * rng.NormFloat64()
		for i := range each {
			t, level := pitch.FourSeam, .2
			b := rng.IntN(known)
			if i%3 == 0 {
				t, level = pitch.Slider, .35
				if rng.Float64() < favour {
					b = rng.IntN(known / 3) // those who miss least
				}
			}
			list = append(list, swing(int32(p), int32(b), t, rng.Float64() < level+own+skills[b]))
		}
	}
	return list, skills
}

func pairsOf(list []pitch.Pitch, workers int) []Pair {
	c := NewCounter(workers)
	for i := range list {
		c.Add(i%workers, list[i:i+1])
	}
	return c.Pairs()
}

func TestPairs(t *testing.T) {
	list := []pitch.Pitch{swing(1, 4, pitch.Slider, true), swing(1, 4, pitch.Slider, false), swing(0, 4, pitch.Slider, true), swing(1, 4, pitch.FourSeam, true)}
	list[1].Outcome, list[1].Result = pitch.InPlay, pitch.Double // a swing and a counted appearance
	list = append(list, swing(1, -1, pitch.Slider, true), swing(1, 4, pitch.Slider, true))
	list[5].Outcome = pitch.Ball
	got := pairsOf(list, 2)
	if len(got) != 3 || got[0].Type != pitch.FourSeam || got[1].Pitcher != 0 || got[2].Pitcher != 1 {
		t.Fatalf("%+v", got)
	}
	n, y, _ := got[2].values(outcome.Whiff, &book)
	m, z, zz := got[2].values(outcome.WOBA, &book)
	if n != 2 || y != 1 || m != 1 || math.Abs(z-1.24) > 1e-12 || math.Abs(zz-1.24*1.24) > 1e-12 {
		t.Errorf("%g misses of %g, %g of %g", y, n, z, m)
	}
	slices.Reverse(list)
	if again := pairsOf(list, 3); !slices.Equal(got, again) {
		t.Error("pairs depend on the order of pitches or on workers")
	}
}

// TestWithout holds the fast leave-one-out against counting again without the
// pitcher, and the whole difference against adding up event by event.
func TestWithout(t *testing.T) {
	list, _ := league(3, 12, 40, 300, .08, .5)
	pairs := pairsOf(list, 1)
	b := newBatters(pairs, outcome.Whiff, &book, 40)
	if math.IsInf(b.prior, 1) {
		t.Fatal("batters do not differ: the test sees nothing")
	}
	// slow counts a batter's events against all but a pitcher.
	slow := func(batter, pitcher int32) (n, rate, shrunk float64) {
		s := 0.0
		for i := range list {
			if p := &list[i]; p.Batter == batter && p.Pitcher != pitcher {
				n++
				s -= b.types[p.Type]
				if p.Outcome == pitch.SwingingStrike {
					s++
				}
			}
		}
		return n, s / n, s / (n + b.prior)
	}
	var rate, shrunk, events [2]float64 // of sliders, of all
	for i := range list {
		p := &list[i]
		n, r, k := b.without(&b.duos[b.at[[2]int32{p.Pitcher, p.Batter}]])
		wantN, wantR, wantK := slow(p.Batter, p.Pitcher)
		if n != wantN || math.Abs(r-wantR) > 1e-12 || math.Abs(k-wantK) > 1e-12 {
			t.Fatalf("batter %d without pitcher %d: %g %.9f %.9f, counted again %g %.9f %.9f", p.Batter, p.Pitcher, n, r, k, wantN, wantR, wantK)
		}
		for at, counts := range []bool{p.Type == pitch.Slider, true} {
			if counts {
				rate[at], shrunk[at], events[at] = rate[at]+wantR, shrunk[at]+wantK, events[at]+1
			}
		}
	}
	f := find(t, Measure(pairs, &book, 12, 40), pitch.Slider)
	if want := rate[0]/events[0] - rate[1]/events[1]; math.Abs(f.Difference-want) > 1e-12 {
		t.Errorf("difference %.9f, event by event %.9f", f.Difference, want)
	}
	if want := shrunk[0]/events[0] - shrunk[1]/events[1]; math.Abs(f.Shrunk-want) > 1e-12 {
		t.Errorf("shrunk %.9f, event by event %.9f", f.Shrunk, want)
	}
	if math.Abs(f.Adjusted-(f.Rate-f.Difference)) > 1e-15 || math.Abs(f.Opponents-(f.League+f.Difference)) > 1e-15 {
		t.Errorf("%+v", f)
	}
}

// TestTypesAndBattersTogether holds the fit against its normal equations: no type
// and no batter has a mean residual.
func TestTypesAndBattersTogether(t *testing.T) {
	list, _ := league(3, 12, 40, 300, .08, .8)
	b := newBatters(pairsOf(list, 1), outcome.Whiff, &book, 40)
	types := map[pitch.Type]float64{}
	mean := 0.0
	for i := range list {
		p := &list[i]
		v := -b.types[p.Type] - b.s[p.Batter]/b.n[p.Batter]
		if p.Outcome == pitch.SwingingStrike {
			v++
		}
		types[p.Type] += v
		mean += b.s[p.Batter] / b.n[p.Batter]
	}
	for k, v := range types {
		if math.Abs(v) > 1e-6 {
			t.Errorf("type %v has a residual of %g", k, v)
		}
	}
	if math.Abs(mean) > 1e-6 {
		t.Errorf("batters' rates sum to %g over events", mean)
	}
}

func find(t *testing.T, list []Faced, k pitch.Type) Faced {
	t.Helper()
	for _, f := range list {
		if f.Type == k && f.Metric == outcome.Whiff {
			return f
		}
	}
	t.Fatal("no such cell")
	return Faced{}
}

// Where sliders are thrown to the better batters, they are found better and the
// rate is set right; where they are not, no difference is clear.
func TestPlanted(t *testing.T) {
	for _, favour := range []float64{0, .6} {
		list, skills := league(8, 60, 90, 600, .06, favour)
		f := find(t, Measure(pairsOf(list, 1), &book, 60, 90), pitch.Slider)
		t.Logf("favour %g: %+.4f (%+.4f to %+.4f), rate %.4f, adjusted %.4f", favour, f.Difference, f.Lo, f.Hi, f.Rate, f.Adjusted)
		low := 0.0
		for _, s := range skills[:30] {
			low += s / 30
		}
		all := 0.0
		for _, s := range skills {
			all += s / 90
		}
		// a third of the league's events are sliders, and favour of them go to the first
		want := favour * (low - all) * 2 / 3
		if want < f.Lo || want > f.Hi {
			t.Errorf("favour %g: true difference %+.4f is not in %+.4f to %+.4f", favour, want, f.Lo, f.Hi)
		}
		if f.Clear() != (favour > 0) {
			t.Errorf("favour %g: clear %v", favour, f.Clear())
		}
	}
}

// The mean of shrunk rates falls far short of the truth where batters have few
// events; the difference does not.
func TestShrunkFallsShort(t *testing.T) {
	var shrunk, plain, truth float64
	for seed := range uint64(40) {
		list, skills := league(seed, 40, 120, 90, .06, .8)
		f := find(t, Measure(pairsOf(list, 1), &book, 40, 120), pitch.Slider)
		plain += f.Difference
		shrunk += f.Shrunk
		low, all := 0.0, 0.0
		for i, s := range skills {
			all += s / 120
			if i < 40 {
				low += s / 40
			}
		}
		truth += .8 * (low - all) * 2 / 3
	}
	t.Logf("shrunk %.3f of the truth, the difference %.3f", shrunk/truth, plain/truth)
	if r := plain / truth; r < .9 || r > 1.1 {
		t.Errorf("the difference is %.3f of the truth", r)
	}
	if shrunk/truth > .8 {
		t.Error("the shrunk mean is to fall short: the test sees nothing")
	}
}

// Batters who are all alike differ by nothing.
func TestNoSpread(t *testing.T) {
	c := NewCounter(1)
	for p := range int32(8) {
		for b := range int32(30) {
			for k := range 10 {
				c.Add(0, []pitch.Pitch{swing(p, b, pitch.Slider, k < 3)})
			}
		}
	}
	f := find(t, Measure(c.Pairs(), &book, 8, 30), pitch.Slider)
	if math.Abs(f.Difference) > 1e-12 || f.Clear() || f.Rate != .3 || f.Batters != 30 || f.Pitchers != 8 || f.Events != 2400 || f.Shrunk != 0 {
		t.Errorf("%+v", f)
	}
}

// TestAlong: a bin that holds all pitches tells what the cell tells; bins do not
// depend on the order of the pitches; and a bin whose pitches go to the better
// batters is found.
func TestAlong(t *testing.T) {
	list, _ := league(8, 60, 90, 600, .06, 0)
	rng := rand.New(rand.NewPCG(2, 2))
	for i := range list {
		p := &list[i]
		for k := range p.Num {
			p.Num[k] = pitch.Missing()
		}
		p.Num[pitch.Velocity] = 92 + rng.Float64()
		if p.Batter < 30 && rng.Float64() < .8 {
			p.Num[pitch.Velocity]++ // harder to those who miss least
		}
		p.Num[pitch.Extension] = 6.5
	}
	vars, err := shape.Only(shape.Variables, []string{"velocity", "extension"})
	if err != nil {
		t.Fatal(err)
	}
	held := &tally.Held{List: list, Shapes: vars}
	held.Listed.Pitchers, held.Listed.Batters = make([]string, 60), make([]string, 90)
	cells, along, err := Along(t.Context(), held, vars, &book)
	if err != nil {
		t.Fatal(err)
	}
	f := find(t, cells, pitch.Slider)
	hard, same := false, false
	for i := range along {
		s := &along[i]
		if s.Type != pitch.Slider || s.Metric != outcome.Whiff {
			continue
		}
		if s.Variable.Name == "extension" {
			same = math.Abs(s.Difference-f.Difference) < 1e-12 && math.Abs(s.Lo-f.Lo) < 1e-12 && s.Rate == f.Rate && s.Lower <= 6.5 && 6.5 < s.Upper
		} else if s.Lower == 93 {
			hard = s.Clear() && s.Difference < -.02 && s.Adjusted > s.Rate
			t.Log(s.Sentence())
		}
	}
	if !same {
		t.Error("the bin of all pitches differs from the cell")
	}
	if !hard {
		t.Error("the bin of the better batters is not found")
	}
	rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	_, again, err := Along(t.Context(), held, vars, &book)
	if err != nil {
		t.Fatal(err)
	}
	if len(along) != len(again) {
		t.Fatal("stretches depend on the order of the pitches")
	}
	// What is published holds all that is told.
	readCells, readAlong := FromRows(Rows(cells, along))
	if !reflect.DeepEqual(Rows(readCells, readAlong), Rows(cells, along)) || len(readAlong) != len(along) {
		t.Error("rows read back differ")
	}
	for i := range again {
		if again[i].Difference != along[i].Difference || again[i].Hi != along[i].Hi {
			t.Fatalf("stretch %d depends on the order of the pitches", i)
		}
	}
}
