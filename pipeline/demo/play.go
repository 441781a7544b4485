package demo

import (
	"context"
	"fmt"
	"runtime"

	"golang.org/x/sync/errgroup"

	"sill/pipeline/parallel"
)

// block is how many games are played at once.
const block = 16

// springGames is how many games precede a season, which do not count.
const springGames = 24

// pitchesPerGame is about how many pitches a game has, to spread a season over
// its days.
const pitchesPerGame = 292

// seasonDays is how long a season lasts, from its first day.
const seasonDays = 196

// Play plays the seasons of a scenario and hands them over game by game, in
// order. The slice is the receiver's to keep. The season depends on the
// scenario, the seed and the number of pitches alone: games are drawn from
// streams of their own, whoever plays them.
func Play(ctx context.Context, s Scenario, o Options, emit func([]Thrown) error) error {
	if err := o.Validate(); err != nil {
		return fmt.Errorf("play season: %w", err)
	}
	pitches := o.Pitches
	if pitches == 0 {
		pitches = s.Pitches
	}
	m := newModel(&s)
	for k := range o.Seasons {
		if err := playSeason(ctx, m, o.Seed, k, pitches, emit); err != nil {
			return fmt.Errorf("play season %d: %w", s.FirstYear+k, err)
		}
	}
	return nil
}

// playSeason plays until the regular season has its pitches: the last game is
// played to its end. The next block of games is played while one is received.
func playSeason(ctx context.Context, m *model, seed uint64, season, pitches int, emit func([]Thrown) error) error {
	clubs := roster(m.Scenario, seed, season)
	g, ctx := errgroup.WithContext(ctx)
	blocks := make(chan [][]Thrown, 1)
	done := make(chan struct{})
	g.Go(func() error {
		defer close(blocks)
		for from := 0; ; from += block {
			games := make([][]Thrown, block)
			err := parallel.Each(ctx, runtime.GOMAXPROCS(0), block, func(_, i int) error {
				games[i] = playGame(m, clubs, seed, schedule(m.Scenario, season, from+i, pitches))
				return nil
			})
			if err != nil {
				return err
			}
			select {
			case blocks <- games:
			case <-done:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		}
	})
	g.Go(func() error {
		defer close(done)
		thrown := 0
		for games := range blocks {
			for _, rows := range games {
				if err := emit(rows); err != nil {
					return err
				}
				if rows[0].Kind != Regular {
					continue
				}
				if thrown += len(rows); thrown >= pitches {
					return nil
				}
			}
		}
		return nil
	})
	return g.Wait()
}

// schedule returns the n-th game of a season: spring games, then rounds in
// which every club plays once, three rounds in a row against the same one.
func schedule(s *Scenario, season, n, pitches int) fixture {
	perRound := len(s.Clubs) / 2
	f := fixture{season: s.FirstYear + season, number: n}
	opening := days(f.season, 4, 2)
	if n < springGames {
		f.kind = Spring
		if n%6 == 5 {
			f.kind = Exhibition
		}
		f.day = opening - 30 + int32(n)
		f.home, f.away = pairing(len(s.Clubs), n/perRound+1, n%perRound)
		return f
	}
	k := n - springGames
	round := k / perRound
	rounds := max(1, pitches/pitchesPerGame/perRound)
	f.day = opening + int32(min(round, rounds)*seasonDays/rounds)
	f.home, f.away = pairing(len(s.Clubs), round/3, k%perRound)
	if (round/3/(len(s.Clubs)-1))%2 == 1 {
		f.home, f.away = f.away, f.home
	}
	return f
}

// pairing returns the i-th pair of a round by the circle method: one club
// stays, the others move round it.
func pairing(clubs, round, i int) (home, away int) {
	n := clubs - 1
	at := func(place int) int {
		if place == 0 {
			return clubs - 1
		}
		return (place - 1 + round) % n
	}
	home, away = at(i), at(n-i)
	if (round+i)%2 == 1 {
		home, away = away, home
	}
	return home, away
}
