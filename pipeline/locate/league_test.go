package locate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// league is a made-up league with a planted truth.
type league struct {
	pitchers, batters int // of each hand and side
	pitches           int // of each pitcher, on average
	types             []pitch.Type
	variables         []string
	seasons           int
	seed              uint64
	prefix            string // of the pitchers' ids
	unknownBatters    bool
	spread            float64 // SD of the batters' logits
	// whiff is the logit of a whiff at a velocity relative to the pitch type's
	// mean, before pitcher and batter.
	whiff func(hand pitch.Hand, side pitch.Side, kind pitch.Type, x float64) float64
	edit  func(p *pitch.Pitch)
	strat []tally.Stratum
}

// smallLeague has the same rising curve in every cell: whiffs are at 22 % at
// the mean velocity.
func smallLeague() league {
	return league{pitchers: 60, batters: 80, pitches: 400, types: []pitch.Type{pitch.FourSeam, pitch.Slider},
		variables: []string{"velocity", "induced_vertical_break"}, seasons: 1, seed: 7, prefix: "p", spread: .2,
		whiff: func(_ pitch.Hand, _ pitch.Side, _ pitch.Type, x float64) float64 {
			return math.Log(.22/.78) + .25*x
		}}
}

const meanVelocity = 93

// play throws the pitches and counts them.
func (l league) play(t testing.TB) *tally.Tally {
	t.Helper()
	rng := rand.New(rand.NewPCG(l.seed, 1))
	var names tally.Names
	for i := range 2 * l.pitchers {
		names.Pitchers = append(names.Pitchers, fmt.Sprintf("%s%04d", l.prefix, i))
	}
	if !l.unknownBatters {
		for i := range 2 * l.batters {
			names.Batters = append(names.Batters, fmt.Sprintf("b%04d", i))
		}
	}
	var vars []shape.Variable
	for _, v := range shape.Variables {
		if slices.Contains(l.variables, v.Name) {
			vars = append(vars, v)
		}
	}
	bt := make([]float64, 2*l.batters)
	for i := range bt {
		bt[i] = l.spread * rng.NormFloat64()
	}
	b, err := tally.NewBuilder(vars, l.strat, names, 1)
	if err != nil {
		t.Fatal(err)
	}
	batch := make([]pitch.Pitch, 0, 8192)
	send := func() {
		if err := b.Add(0, batch); err != nil {
			t.Fatal(err)
		}
		batch = batch[:0]
	}
	for p := range 2 * l.pitchers {
		hand := pitch.LeftHand
		if p >= l.pitchers {
			hand = pitch.RightHand
		}
		talent, speed := .25*rng.NormFloat64(), 2*rng.NormFloat64()
		n := int(float64(l.pitches) * (.3 + 1.4*rng.Float64()))
		for range n {
			batter := rng.IntN(2 * l.batters)
			side := pitch.LeftSide
			if batter >= l.batters {
				side = pitch.RightSide
			}
			kind := l.types[rng.IntN(len(l.types))]
			x := speed + rng.NormFloat64()
			q := pitch.Pitch{Season: int16(2031 + rng.IntN(l.seasons)), Date: pitch.NoDate, Game: -1, Pitcher: int32(p), Batter: int32(batter),
				Venue: -1, Level: -1, Hand: hand, Side: side, Type: kind, Outcome: pitch.Ball, Bunt: pitch.No}
			if l.unknownBatters {
				q.Batter = -1
			}
			for i := range q.Num {
				q.Num[i] = pitch.Missing()
			}
			q.Num[pitch.Velocity] = math.Round(10*(meanVelocity+x)) / 10
			q.Num[pitch.InducedVerticalBreak] = math.Round(10*(14+3*rng.NormFloat64())) / 10
			logit := l.whiff(hand, side, kind, x) + talent + bt[batter]
			missed := rng.Float64() < 1/(1+math.Exp(-logit))
			switch u := rng.Float64(); {
			case u < .48 && missed:
				q.Outcome = pitch.SwingingStrike
				if rng.Float64() < .3 {
					q.Result = pitch.Strikeout
				}
			case u < .48:
				q.Outcome = pitch.InPlay
				q.Result = [...]pitch.Result{pitch.Out, pitch.Out, pitch.Out, pitch.Single, pitch.Double, pitch.HomeRun}[rng.IntN(6)]
			case u < .55:
				q.Result = pitch.Walk
			}
			if l.edit != nil {
				l.edit(&q)
			}
			if batch = append(batch, q); len(batch) == cap(batch) {
				send()
			}
		}
	}
	send()
	out, err := b.Tally()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// quick are options that keep tests short.
func quick() (estimate.Options, Options) {
	e, o := estimate.DefaultOptions(), DefaultOptions()
	e.Replicates, o.Flips, o.MaxFlips = 300, 999, 999
	return e, o
}

func locateAll(t testing.TB, counts *tally.Tally, eo estimate.Options, o Options) *thresholds.Tables {
	t.Helper()
	e, err := estimate.New(t.Context(), counts, eo)
	if err != nil {
		t.Fatal(err)
	}
	out, err := Locate(t.Context(), e, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// the keys of the tests
func key(hand, side, kind, variable, metric string) thresholds.Key {
	return thresholds.Key{Hand: hand, Side: side, PitchType: kind, Variable: variable, Outcome: metric}
}

func verdictOf(t testing.TB, tables *thresholds.Tables, k thresholds.Key, line string) thresholds.Verdict {
	t.Helper()
	for _, v := range tables.Verdicts {
		if v.Key == k && v.Reference == line {
			return v
		}
	}
	t.Fatalf("no verdict on %+v against %s", k, line)
	return thresholds.Verdict{}
}

func zonesOf(tables *thresholds.Tables, k thresholds.Key, line string) []thresholds.Zone {
	var out []thresholds.Zone
	for _, z := range tables.Zones {
		if z.Key == k && z.Reference == line {
			out = append(out, z)
		}
	}
	return out
}
