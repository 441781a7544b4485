package tally

import (
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/pitch"
	"sill/pipeline/shape"
)

// league is an invented season: names and a generator of pitches whose values
// spread around each pitcher's own.
type league struct {
	names                    Names
	pitches, perGame         int
	pitchers, batters, games int
}

func newLeague(pitches, pitchers, batters int) *league {
	l := &league{pitches: pitches, perGame: 300, pitchers: pitchers, batters: batters}
	l.games = pitches/l.perGame + 1
	name := func(kind string, n int) []string {
		out := make([]string, n)
		for i := range out {
			out[i] = fmt.Sprintf("%s%05d", kind, i)
		}
		return out
	}
	l.names = Names{Pitchers: name("pitcher", pitchers), Batters: name("batter", batters), Games: name("game", l.games)}
	return l
}

var leagueTypes = []pitch.Type{pitch.FourSeam, pitch.Sinker, pitch.Cutter, pitch.Slider, pitch.Sweeper,
	pitch.Curveball, pitch.Changeup, pitch.Splitter, declared("eephus"), pitch.OtherType, pitch.UnknownType}

func declared(name string) pitch.Type {
	t, err := pitch.NamedType(name)
	if err != nil {
		panic(err)
	}
	return t
}

// fill writes pitch i of the season. A pitch depends on i alone.
func (l *league) fill(p *pitch.Pitch, i int) {
	rng := rand.New(rand.NewPCG(7, uint64(i)))
	game := i / l.perGame
	*p = pitch.Pitch{Season: 2031, Game: int32(game), Venue: -1, Level: -1}
	p.Pitcher = int32(rng.IntN(l.pitchers))
	p.Batter = int32(rng.IntN(l.batters))
	p.Hand = pitch.RightHand
	if p.Pitcher%3 == 0 {
		p.Hand = pitch.LeftHand
	}
	p.Side = pitch.Side(1 + int(p.Batter)%2)
	// Four or five types for each pitcher.
	own := rand.New(rand.NewPCG(8, uint64(p.Pitcher)))
	kinds := own.Perm(len(leagueTypes))[:4+int(p.Pitcher)%2]
	kind := kinds[rng.IntN(len(kinds))]
	p.Type = leagueTypes[kind]
	p.Outcome = pitch.Outcome(1 + rng.IntN(pitch.Outcomes-1))
	if rng.IntN(20) > 0 {
		p.Outcome = []pitch.Outcome{pitch.Ball, pitch.Ball, pitch.CalledStrike, pitch.SwingingStrike,
			pitch.Foul, pitch.Foul, pitch.InPlay, pitch.InPlay, pitch.FoulTip}[rng.IntN(9)]
	}
	if rng.IntN(4) == 0 {
		for p.Result == pitch.NoResult || !p.Result.Valid() {
			p.Result = pitch.Result(rng.IntN(256))
		}
	}
	center := func(n pitch.Number, mean, between, within float64) {
		c := mean + between*own.NormFloat64() + float64(kind)*between/2
		p.Num[n] = c + within*rng.NormFloat64()
	}
	for n := range p.Num {
		p.Num[n] = math.NaN()
	}
	center(pitch.Velocity, 88, 2, .8)
	center(pitch.InducedVerticalBreak, 8, 5, 2.5)
	center(pitch.HorizontalBreak, 5, 5, 2.5)
	center(pitch.VerticalApproachAngle, -6, .5, .7)
	center(pitch.NeutralApproachAngle, -6, .5, .4)
	center(pitch.HorizontalApproachAngle, 1, .5, .7)
	center(pitch.ReleaseHeight, 5.8, .4, .1)
	center(pitch.ReleaseSide, 1.8, .5, .15)
	center(pitch.Extension, 6.3, .3, .15)
	center(pitch.SpinRate, 2200, 100, 70)
	center(pitch.PlateHeight, 2.4, .1, .8)
	center(pitch.PlateSide, 0, .1, .8)
	center(pitch.SpinAxis, 200, 10, 12)
	center(pitch.ArmAngle, 40, 10, 2)
	p.Num[pitch.ZoneTop], p.Num[pitch.ZoneBottom] = 3.4, 1.6
	if rng.IntN(25) == 0 {
		p.Num[pitch.SpinRate] = math.NaN()
	}
	if rng.IntN(1000) == 0 {
		p.Num[pitch.VerticalApproachAngle] = 1e5 * rng.NormFloat64() // a wild value
	}
}

// build counts the pitches that keep chooses, spread over workers in batches.
func (l *league) build(vars []shape.Variable, strata []Stratum, workers, foldAt int, keep func(*pitch.Pitch) bool) (*Tally, error) {
	b, err := NewBuilder(vars, strata, l.names, workers)
	if err != nil {
		return nil, err
	}
	b.foldAt = foldAt
	batch := make([]pitch.Pitch, 0, 1000)
	worker := 0
	flush := func() error {
		err := b.Add(worker, batch)
		batch = batch[:0]
		worker = (worker + 1) % workers
		return err
	}
	var p pitch.Pitch
	for i := range l.pitches {
		l.fill(&p, i)
		if keep != nil && !keep(&p) {
			continue
		}
		if batch = append(batch, p); len(batch) == cap(batch) {
			if err := flush(); err != nil {
				return nil, err
			}
		}
	}
	if err := flush(); err != nil {
		return nil, err
	}
	return b.Tally()
}
