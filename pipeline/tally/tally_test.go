package tally

import (
	"bytes"
	"errors"
	"hash/fnv"
	"maps"
	"math"
	"math/big"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// noFold keeps every log whole.
const noFold = math.MaxInt

func byHeight() []Stratum {
	out, err := StrataNamed([]string{FastballThirds})
	if err != nil {
		panic(err)
	}
	return out
}

func mustBuild(t testing.TB, l *league, strata []Stratum, workers, foldAt int, keep func(*pitch.Pitch) bool) *Tally {
	t.Helper()
	out, err := l.build(shape.Variables, strata, workers, foldAt, keep)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func written(t testing.TB, tally *Tally) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, tally); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// naiveKey and the maps below count in the plainest way there is, to be
// compared with the builder.
type naiveKey struct {
	cell     Cell
	variable int // -1 for totals
	bin      int32
	name     string
}

func naive(l *league, vars []shape.Variable, strata []Stratum) (pitchers map[naiveKey]outcome.Counts, batters map[naiveKey][outcome.Events]int64) {
	pitchers, batters = map[naiveKey]outcome.Counts{}, map[naiveKey][outcome.Events]int64{}
	var p pitch.Pitch
	for i := range l.pitches {
		l.fill(&p, i)
		intentional := slices.Contains([]string{"intentional_ball", "pitchout", "pitchout_missed", "pitchout_fouled",
			"pitchout_in_play", "automatic_ball", "automatic_strike", "no_pitch"}, p.Outcome.String())
		cells := []Cell{{Season: p.Season, Hand: p.Hand, Side: p.Side, Type: p.Type}}
		for _, s := range strata {
			if v := s.Of(&p, &l.names); v != "" && !intentional && slices.Contains(s.Types, p.Type) {
				c := cells[0]
				c.Stratum = s.Name + ":" + v
				cells = append(cells, c)
			}
		}
		swing := outcome.SwingOf(&p)
		class, counted := outcome.ClassOf(p.Result)
		for _, cell := range cells {
			for v := -1; v < len(vars); v++ {
				bin, d := int32(MissingBin), int64(0)
				if v >= 0 {
					if cell.Stratum != "" && !slices.Contains(strata[0].Variables, vars[v].Name) {
						continue
					}
					if x := vars[v].Value(&p); !math.IsNaN(x) && !intentional {
						q := math.Round(x / vars[v].Quantum * (1 + 1e-15))
						w := math.Round(vars[v].Width / vars[v].Quantum)
						bin = int32(math.Floor(q / w))
						d = int64(q - math.Floor(q/w)*w)
					}
				}
				key := naiveKey{cell, v, bin, l.names.Pitchers[p.Pitcher]}
				c := pitchers[key]
				c.Pitches++
				batter := naiveKey{cell, v, bin, l.names.Batters[p.Batter]}
				b := batters[batter]
				if swing != outcome.NoSwing {
					c.Swings++
					c.SwingD += d
					c.SwingD2 += d * d
					switch swing {
					case outcome.Miss:
						c.Whiffs++
						b[outcome.MissEvent]++
					case outcome.Tip:
						c.FoulTips++
						b[outcome.TipEvent]++
					default:
						b[outcome.ContactEvent]++
					}
				}
				if counted {
					c.Results[class]++
					c.ResultD += d
					c.ResultD2 += d * d
					b[outcome.FirstResult+outcome.Event(class)]++
				}
				pitchers[key] = c
				if b != ([outcome.Events]int64{}) {
					batters[batter] = b
				}
			}
		}
	}
	return pitchers, batters
}

// flatten turns a tally into the naive maps.
func flatten(t *Tally) (pitchers map[naiveKey]outcome.Counts, batters map[naiveKey][outcome.Events]int64) {
	pitchers, batters = map[naiveKey]outcome.Counts{}, map[naiveKey][outcome.Events]int64{}
	add := func(cell Cell, v int, bin int32, rows []Row, counts []BatterCount) {
		for _, r := range rows {
			pitchers[naiveKey{cell, v, bin, t.Pitchers[r.Cluster]}] = r.Counts
		}
		for _, b := range counts {
			key := naiveKey{cell, v, bin, t.Batters[b.Batter]}
			n := batters[key]
			n[b.Event()] += b.Count()
			batters[key] = n
		}
	}
	for _, c := range t.Cells {
		add(c.Cell, -1, MissingBin, c.Totals, c.BatterTotals)
		for v := range c.Curves {
			for i, bin := range c.Curves[v].Bins {
				add(c.Cell, v, bin, c.Curves[v].Bin(i), c.Curves[v].BatterBin(i))
			}
		}
	}
	return pitchers, batters
}

func TestBuilderAgainstPlainCount(t *testing.T) {
	l := newLeague(6000, 25, 30)
	got := mustBuild(t, l, byHeight(), 2, noFold, nil)
	pitchers, batters := flatten(got)
	wantPitchers, wantBatters := naive(l, shape.Variables, byHeight())
	sameMaps(t, "pitcher table", pitchers, wantPitchers)
	sameMaps(t, "batter table", batters, wantBatters)
}

// sameMaps reports the first difference of two maps, if there is one.
func sameMaps[V comparable](t *testing.T, what string, got, want map[naiveKey]V) {
	t.Helper()
	for k, w := range want {
		if g := got[k]; g != w {
			t.Errorf("%s, %+v: got %v, want %v", what, k, g, w)
			return
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: %d rows, want %d", what, len(got), len(want))
	}
}

// TestBinsAddUpToTotals: of every curve, the bins and the missing row together
// equal the cell's totals, for each pitcher and each batter.
func TestBinsAddUpToTotals(t *testing.T) {
	got := mustBuild(t, newLeague(20_000, 40, 50), byHeight(), 2, noFold, nil)
	curves, missing := 0, 0
	for _, table := range got.Cells {
		for v := range table.Curves {
			c := &table.Curves[v]
			if len(c.Bins) == 0 {
				continue
			}
			curves++
			missing += c.Known()
			sums := map[int32]outcome.Counts{}
			batters := map[int32][outcome.Events]int64{}
			for i := range c.Bins {
				for _, r := range c.Bin(i) {
					s := sums[r.Cluster]
					if err := s.Add(&r.Counts); err != nil {
						t.Fatal(err)
					}
					s.SwingD, s.SwingD2, s.ResultD, s.ResultD2 = 0, 0, 0, 0
					sums[r.Cluster] = s
				}
				for _, b := range c.BatterBin(i) {
					n := batters[b.Batter]
					n[b.Event()] += b.Count()
					batters[b.Batter] = n
				}
			}
			totals := map[int32]outcome.Counts{}
			for _, r := range table.Totals {
				totals[r.Cluster] = r.Counts
			}
			batterTotals := map[int32][outcome.Events]int64{}
			for _, b := range table.BatterTotals {
				n := batterTotals[b.Batter]
				n[b.Event()] += b.Count()
				batterTotals[b.Batter] = n
			}
			if !maps.Equal(sums, totals) || !maps.Equal(batters, batterTotals) {
				t.Fatalf("%v, %s: bins do not add up", table.Cell, got.Variables[v].Name)
			}
		}
	}
	if curves < 100 || missing < 50 {
		t.Fatalf("only %d curves, %d with a missing row", curves, missing)
	}
}

// TestUnshapedPitches: intentional balls and pitchouts enter no bin but the
// missing one, and no stratum; totals count them (a walk on a pitchout is a
// walk).
func TestUnshapedPitches(t *testing.T) {
	p := pitch.Pitch{Season: 2031, Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam,
		Outcome: pitch.Ball, Result: pitch.Walk}
	p.Num[pitch.Velocity], p.Num[pitch.PlateHeight] = 93, 2.5
	p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 3.4, 1.6
	wide := p
	wide.Outcome = pitch.Pitchout
	waved := p
	waved.Outcome, waved.Result = pitch.IntentionalBall, pitch.Walk|pitch.Intentional
	b, err := NewBuilder(shape.Variables[:1], []Stratum{{Name: "plate_height_third", Of: plateThird}},
		Names{Pitchers: []string{"a"}, Batters: []string{"b"}, Games: []string{"g"}}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, []pitch.Pitch{p, wide, waved}); err != nil {
		t.Fatal(err)
	}
	got, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	cell := Cell{Season: 2031, Hand: pitch.LeftHand, Side: pitch.LeftSide, Type: pitch.FourSeam}
	total := got.Find(cell).Totals[0]
	c := got.Find(cell).Curves[0]
	if total.Pitches != 3 || total.Results[outcome.Walk] != 2 || total.Appearances() != 2 ||
		!slices.Equal(c.Bins, []int32{MissingBin, 93}) || c.Bin(0)[0].Pitches != 2 || c.Bin(1)[0].Pitches != 1 {
		t.Errorf("totals %+v, curve %+v", total, c)
	}
	cell.Stratum = "plate_height_third:middle"
	if s := got.Find(cell).Totals; len(s) != 1 || s[0].Pitches != 1 {
		t.Errorf("stratum %+v", s)
	}
	if got.Notes.Unshaped != 2 || got.Notes.Pitches != 3 {
		t.Errorf("notes %+v", got.Notes)
	}
}

// TestSpinSquares counts ten million pitches in one spin bin and compares Σd
// and Σd² with math/big; Σq² in units of 1e-4 rpm would overflow after 16,000.
func TestSpinSquares(t *testing.T) {
	pitches := 10_000_000
	if testing.Short() {
		pitches = 1_000_000
	}
	spin := shape.Variables[slices.IndexFunc(shape.Variables, func(v shape.Variable) bool { return v.Name == "spin_rate" })]
	b, err := NewBuilder([]shape.Variable{spin}, nil, Names{Pitchers: []string{"a"}, Games: []string{"g"}}, 1)
	if err != nil {
		t.Fatal(err)
	}
	batch := make([]pitch.Pitch, 8000)
	for i := range batch {
		batch[i] = pitch.Pitch{Season: 2031, Batter: -1, Hand: pitch.RightHand, Side: pitch.LeftSide,
			Type: pitch.Slider, Outcome: pitch.SwingingStrike}
	}
	sum, squares := new(big.Int), new(big.Int)
	tenths := new(big.Int)
	rng := rand.New(rand.NewPCG(1, 2))
	for done := 0; done < pitches; done += len(batch) {
		part, partSquares := int64(0), int64(0) // 8,000 × 999² fits
		for i := range batch {
			d := 900 + rng.Int64N(100) // the far end of the bin
			batch[i].Num[pitch.SpinRate] = float64(22000+d) / 10
			part, partSquares = part+d, partSquares+d*d
		}
		sum.Add(sum, tenths.SetInt64(part))
		squares.Add(squares, tenths.SetInt64(partSquares))
		if err := b.Add(0, batch); err != nil {
			t.Fatal(err)
		}
	}
	got, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	c := got.Cells[0].Curves[0]
	row := c.Rows[0]
	if len(c.Bins) != 1 || c.Bins[0] != 22 || int(row.Pitches) != pitches ||
		sum.Cmp(big.NewInt(row.SwingD)) != 0 || squares.Cmp(big.NewInt(row.SwingD2)) != 0 {
		t.Errorf("bins %v, row %+v, want Σd %v, Σd² %v", c.Bins, row, sum, squares)
	}
	mean := new(big.Rat).SetFrac(sum, big.NewInt(int64(pitches)*10))
	want, _ := mean.Add(mean, big.NewRat(2200, 1)).Float64()
	if m := got.Variables[0].Mean(22, int64(pitches), row.SwingD); math.Abs(m-want) > 1e-12*want {
		t.Errorf("mean %v, want %v", m, want)
	}
}

func TestOverflowIsAnError(t *testing.T) {
	for name, c := range map[string]outcome.Counts{
		"pitches": {Pitches: math.MaxUint32}, "swings": {Swings: math.MaxUint32},
		"result":  {Results: [outcome.Classes]uint32{outcome.Triple: math.MaxUint32}},
		"offsets": {SwingD: math.MaxInt64}, "squares": {ResultD2: math.MaxInt64 - 1},
	} {
		sum := c
		if err := sum.Add(&c); !errors.Is(err, outcome.ErrOverflow) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := newBatterCount(0, outcome.MissEvent, maxBatterCount+1); !errors.Is(err, outcome.ErrOverflow) {
		t.Error(err)
	}
	a := outcome.Counts{Pitches: math.MaxUint32 - 1, SwingD2: math.MaxInt64 - 1}
	if err := a.Add(&outcome.Counts{Pitches: 1, SwingD2: 1}); err != nil || a.Pitches != math.MaxUint32 || a.SwingD2 != math.MaxInt64 {
		t.Error(a, err)
	}
}

// TestWorkersAndFolds: the bytes do not depend on the number of workers nor on
// how often a worker counts its log.
func TestWorkersAndFolds(t *testing.T) {
	l := newLeague(12_000, 30, 40)
	want := written(t, mustBuild(t, l, byHeight(), 1, noFold, nil))
	for _, workers := range []int{1, 2, 5} {
		for _, fold := range []int{noFold, 3000} {
			if got := written(t, mustBuild(t, l, byHeight(), workers, fold, nil)); !bytes.Equal(got, want) {
				t.Errorf("%d workers, fold at %d: other bytes", workers, fold)
			}
		}
	}
}

// TestShards: shards by hash(game) merge to the bytes of the whole, in any
// order and grouping.
func TestShards(t *testing.T) {
	l := newLeague(12_000, 30, 40)
	want := written(t, mustBuild(t, l, byHeight(), 2, noFold, nil))
	const n = 3
	shards := make([]*Tally, n)
	for s := range shards {
		shards[s] = mustBuild(t, l, byHeight(), 2, noFold, func(p *pitch.Pitch) bool {
			h := fnv.New32a()
			h.Write([]byte(l.names.Games[p.Game]))
			return h.Sum32()%n == uint32(s)
		})
	}
	before := written(t, shards[1])
	merge := func(tallies ...*Tally) *Tally {
		t.Helper()
		m, err := Merge(tallies...)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	a, b, c := shards[0], shards[1], shards[2]
	for i, m := range []*Tally{merge(a, b, c), merge(c, a, b), merge(merge(a, b), c), merge(a, merge(c, b))} {
		if !bytes.Equal(written(t, m), want) {
			t.Errorf("merge %d: other bytes than the whole", i)
		}
	}
	if !bytes.Equal(written(t, shards[1]), before) {
		t.Error("merge changed its argument")
	}
	var shared *SharedGamesError
	if _, err := Merge(a, b, a); !errors.As(err, &shared) || len(shared.Games) != len(a.Games) {
		t.Errorf("same game twice: %v", err)
	}
}

func TestMergeRefuses(t *testing.T) {
	l := newLeague(900, 5, 5)
	even := mustBuild(t, l, nil, 1, noFold, func(p *pitch.Pitch) bool { return p.Game%2 == 0 })
	gameless := mustBuild(t, l, nil, 1, noFold, func(p *pitch.Pitch) bool { odd := p.Game%2 == 1; p.Game = -1; return odd })
	if _, err := Merge(even, gameless); !errors.Is(err, ErrGameless) {
		t.Errorf("no game ids: %v", err)
	}
	wide, err := shape.WithWidths(shape.Variables, map[string]float64{"velocity": 2})
	if err != nil {
		t.Fatal(err)
	}
	odd, err := l.build(wide, nil, 1, noFold, func(p *pitch.Pitch) bool { return p.Game%2 == 1 })
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Merge(even, odd); err == nil {
		t.Error("merged tallies of other bin widths")
	}
}

// TestPermutedIds: other names in another order give the same counts under the
// new names.
func TestPermutedIds(t *testing.T) {
	l := newLeague(6000, 25, 30)
	a := mustBuild(t, l, nil, 2, noFold, nil)
	perm := rand.New(rand.NewPCG(3, 4)).Perm(l.pitchers)
	b := mustBuild(t, l, nil, 2, noFold, func(p *pitch.Pitch) bool { p.Pitcher = int32(perm[p.Pitcher]); return true })
	rename := map[string]string{}
	for i, to := range perm {
		rename[l.names.Pitchers[to]] = l.names.Pitchers[i]
	}
	pitchersA, battersA := flatten(a)
	pitchersB, battersB := flatten(b)
	back := map[naiveKey]outcome.Counts{}
	for k, c := range pitchersB {
		k.name = rename[k.name]
		back[k] = c
	}
	sameMaps(t, "pitchers", back, pitchersA)
	sameMaps(t, "batters", battersB, battersA)
	if maps.Equal(pitchersA, pitchersB) {
		t.Error("the ids were not permuted")
	}
}

// TestStratumLeavesTheRest: adding a stratum changes no other cell.
func TestStratumLeavesTheRest(t *testing.T) {
	l := newLeague(6000, 25, 30)
	plain := mustBuild(t, l, nil, 2, noFold, nil)
	split := mustBuild(t, l, byHeight(), 2, noFold, nil)
	if !slices.Equal(split.Strata, []string{FastballThirds}) {
		t.Errorf("strata %q", split.Strata)
	}
	split.Strata = nil
	added := len(split.Cells)
	split.Cells = slices.DeleteFunc(split.Cells, func(c CellTable) bool { return c.Cell.Stratum != AllStrata })
	if !bytes.Equal(written(t, plain), written(t, split)) {
		t.Error("other cells changed")
	}
	if added-len(split.Cells) < 30 {
		t.Errorf("%d cells of strata", added-len(split.Cells))
	}
}

func TestPlateThirds(t *testing.T) {
	p := pitch.Pitch{}
	for z, want := range map[float64]string{0: "below", 1.49: "below", 1.5: "lower", 1.99: "lower", 2: "middle",
		2.49: "middle", 2.5: "upper", 3: "upper", 3.01: "above", math.NaN(): ""} {
		p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom], p.Num[pitch.PlateHeight] = 3, 1.5, z
		if got := plateThird(&p, nil); got != want {
			t.Errorf("%v ft: %q, want %q", z, got, want)
		}
	}
	p.Num[pitch.ZoneTop], p.Num[pitch.PlateHeight] = 1.5, 1.5
	if got := plateThird(&p, nil); got != "" {
		t.Errorf("a zone without height: %q", got)
	}
}

// TestComb: data in tenths of a foot make a comb in bins of a quarter and none
// in bins of a fifth.
func TestComb(t *testing.T) {
	vars, err := shape.WithWidths(shape.Variables[8:9], map[string]float64{"extension": .25})
	if err != nil {
		t.Fatal(err)
	}
	vars = append(vars, shape.Variables[8])
	b, err := NewBuilder(vars, nil, Names{Pitchers: []string{"a"}, Games: []string{"g"}}, 2)
	if err != nil {
		t.Fatal(err)
	}
	for w, feet := range []float64{6.1, 6.4} {
		p := pitch.Pitch{Hand: pitch.LeftHand, Side: pitch.LeftSide, Outcome: pitch.Ball, Batter: -1}
		p.Num[pitch.Extension] = feet
		if err := b.Add(w, []pitch.Pitch{p}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	if v := got.Variables; v[0].Step != 1000 || !v[0].Comb() || v[1].Comb() {
		t.Errorf("%+v", v)
	}
}

func TestBuilderRefuses(t *testing.T) {
	vars := slices.Clone(shape.Variables)
	vars[0].Width = .00005
	if _, err := NewBuilder(vars, []Stratum{{Name: "a:b"}}, Names{}, 1); err == nil {
		t.Error("a width below the quantum and a stratum without a function passed")
	}
	b, err := NewBuilder(shape.Variables, nil, Names{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Add(0, []pitch.Pitch{{Hand: pitch.LeftHand, Side: pitch.SwitchSide}}); err == nil {
		t.Error("a pitch without a side passed")
	}
}

// TestValues checks sums under a scoring by hand.
func TestValues(t *testing.T) {
	c := outcome.Counts{Swings: 10, Whiffs: 3, FoulTips: 1}
	c.Results[outcome.Strikeout], c.Results[outcome.Single], c.Results[outcome.HomeRun] = 5, 2, 1
	s := outcome.Scoring{Weights: outcome.TheBook()}
	if n, y, yy := c.Values(outcome.Whiff, &s); n != 10 || y != 3 || yy != 3 {
		t.Error(n, y, yy)
	}
	s.FoulTipsAreWhiffs = true
	if n, y, _ := c.Values(outcome.Whiff, &s); n != 10 || y != 4 {
		t.Error(n, y)
	}
	n, y, yy := c.Values(outcome.WOBA, &s)
	if n != 8 || math.Abs(y-(2*.90+1.95)) > 1e-15 || math.Abs(yy-(2*.81+1.95*1.95)) > 1e-14 {
		t.Error(n, y, yy)
	}
	whiff, woba := &outcome.Metrics[outcome.Whiff], &outcome.Metrics[outcome.WOBA]
	if whiff.Value(outcome.MissEvent, &s) != 1 || whiff.Value(outcome.TipEvent, &s) != 1 || whiff.Value(outcome.ContactEvent, &s) != 0 ||
		woba.Value(outcome.FirstResult+outcome.Event(outcome.HomeRun), &s) != 1.95 || !woba.Counts(outcome.FirstResult) || !whiff.Counts(outcome.TipEvent) ||
		whiff.Counts(outcome.FirstResult) || woba.Counts(outcome.TipEvent) {
		t.Error("values of events")
	}
}

// TestUnseenNames: names that no pitch bears leave no trace in the tally.
func TestUnseenNames(t *testing.T) {
	l := newLeague(1500, 8, 9)
	want := mustBuild(t, l, nil, 1, noFold, nil)
	l.names.Pitchers = append(l.names.Pitchers, "pitcher99999")
	l.names.Batters = append(l.names.Batters, "batter99999")
	l.names.Games = append(l.names.Games, "game99999")
	if got := mustBuild(t, l, nil, 1, noFold, nil); !reflect.DeepEqual(got, want) {
		t.Errorf("another tally; pitchers %v", got.Pitchers)
	}
}
