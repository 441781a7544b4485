package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// league is an invented league in which whiffs rise with velocity everywhere.
type league struct {
	roster   uint64  // who pitches, how fast and how well
	season   uint64  // what was thrown
	prefix   string  // of the pitchers' keys
	pitchers int     // of each hand
	pitches  int     // of each pitcher
	rested   int     // of each hand, who throw nothing
	move     float64 // of the curve of four-seamers in L-v-L, in mph
	talent   float64 // SD of the pitchers' logits
}

func plainLeague() league {
	return league{roster: 1, season: 1, prefix: "p", pitchers: 50, pitches: 400, talent: .25}
}

// play throws the pitches and counts them.
func (l league) play(t testing.TB) *tally.Tally {
	t.Helper()
	who, what := rand.New(rand.NewPCG(l.roster, 1)), rand.New(rand.NewPCG(l.season, l.roster))
	var names tally.Names
	for i := range 2 * l.pitchers {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%s%04d", l.prefix, i))
	}
	i := slices.IndexFunc(shape.Variables, func(v shape.Variable) bool { return v.Name == "velocity" })
	b, err := tally.NewBuilder(shape.Variables[i:i+1], nil, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	var batch []pitch.Pitch
	for p := range 2 * l.pitchers {
		hand := pitch.LeftHand
		if p >= l.pitchers {
			hand = pitch.RightHand
		}
		talent, speed := l.talent*who.NormFloat64(), 2*who.NormFloat64()
		if p%l.pitchers < l.rested {
			continue
		}
		for range l.pitches {
			q := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Pitcher: int32(p), Batter: -1, Venue: -1, Level: -1,
				Hand: hand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.InPlay, Bunt: pitch.No, Result: pitch.Out}
			if what.IntN(2) == 1 {
				q.Side = pitch.RightSide
			}
			if what.IntN(2) == 1 {
				q.Type = pitch.Slider
			}
			for i := range q.Num {
				q.Num[i] = pitch.Missing()
			}
			x := speed + what.NormFloat64()
			q.Num[pitch.Velocity] = math.Round(10*(93+x)) / 10
			if hand == pitch.LeftHand && q.Side == pitch.LeftSide && q.Type == pitch.FourSeam {
				x -= l.move
			}
			if what.Float64() < whiff(x, talent) {
				q.Outcome, q.Result = pitch.SwingingStrike, 0
			}
			batch = append(batch, q)
		}
		if err := b.Add(0, batch); err != nil {
			t.Fatal(err)
		}
		batch = batch[:0]
	}
	out, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// whiff is the chance of a whiff at x mph above 93.
func whiff(x, talent float64) float64 {
	return 1 / (1 + math.Exp(-(math.Log(.22/.78) + .3*x + talent)))
}

// crossings are the true breakpoints of four-seamers against the median line in a
// population of many pitchers: in L-v-L and in each of the other matchups, mph.
// Half of a left-hander's four-seamers are the moved ones, and half of all
// pitchers are left-handed.
func (l league) crossings() (leftLeft, others float64) {
	rng := rand.New(rand.NewPCG(5, 5))
	const population = 4000
	rates := make([]float64, population)
	talents := make([]float64, population)
	for i := range rates {
		talent, speed := l.talent*rng.NormFloat64(), 2*rng.NormFloat64()
		talents[i] = talent
		for range 100 {
			x := speed + rng.NormFloat64()
			moved := x
			if i%2 == 0 {
				moved -= l.move
			}
			rates[i] += (whiff(x, talent) + whiff(moved, talent)) / 200
		}
	}
	slices.Sort(rates)
	line := rates[population/2]
	lo, hi := -10.0, 10.0
	for range 50 { // the curve of all pitchers rises
		mid, sum := (lo+hi)/2, 0.0
		for _, talent := range talents {
			sum += whiff(mid, talent)
		}
		if sum/population < line {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 93 + lo + l.move, 93 + lo
}

// estimated is the version that a run makes of the counts; input stands for the files.
func estimated(t testing.TB, counts *tally.Tally, input string, adjust func(*estimate.Options)) Side {
	t.Helper()
	eo, lo := estimate.DefaultOptions(), locate.DefaultOptions()
	eo.Replicates, lo.Flips, lo.MaxFlips, lo.Contrasts = 300, 999, 999, false
	if adjust != nil {
		adjust(&eo)
	}
	e, err := estimate.New(t.Context(), counts, eo)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := locate.Locate(t.Context(), e, lo)
	if err != nil {
		t.Fatal(err)
	}
	m := thresholds.Manifest{Name: "harbour", Version: "v1.0.0", Algorithm: "1", Seed: eo.Seed, Replicates: eo.Replicates,
		Configuration: []thresholds.Setting{{Key: "estimate.min_pitchers", Value: eo.MinPitchers}},
		Inputs:        []thresholds.Input{{Name: input, SHA256: input}}}
	for _, v := range counts.Variables {
		m.Variables = append(m.Variables, thresholds.Variable{Name: v.Name, Title: v.Name, Unit: v.Unit, Width: v.Width(), Definition: v.Definition})
	}
	return Side{Manifest: m, Tables: tables, Tally: counts}
}

func diffOf(t testing.TB, from, to Side) *Diff {
	t.Helper()
	d, err := Compare(t.Context(), from, to, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// thresholdsOf lists the breakpoints against the median line.
func thresholdsOf(d *Diff) []Row {
	var out []Row
	for _, r := range d.Rows {
		if r.Kind == KindThreshold && r.Reference == estimate.TypeMedian {
			out = append(out, r)
		}
	}
	return out
}

func setting(key string, value any) thresholds.Setting {
	return thresholds.Setting{Key: key, Value: value}
}
