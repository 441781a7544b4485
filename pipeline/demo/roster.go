package demo

import (
	"fmt"
	"math"
	"math/rand/v2"

	"sill/pipeline/pitch"
)

// pitcher is one pitcher in one season.
type pitcher struct {
	id       int64
	fielder  bool
	hand     pitch.Hand
	starter  bool
	workload float64 // how readily he is called on
	height   float64 // ft
	armAngle float64 // deg above horizontal
	// release point and extension, ft, and their spread from pitch to pitch
	releaseHeight, releaseSide, extension float64
	misses                                float64 // logit of a whiff
	hits                                  float64 // how hard he is hit
	repertoire                            []stuff
	share                                 [2][]float64 // of the repertoire: [same side, opposite side]
}

// stuff is one pitch type of one pitcher.
type stuff struct {
	kind             *Kind
	speed, rise, run float64 // means
	spin, axisGap    float64
	misses           float64
}

// batter is one batter in one season.
type batter struct {
	id             int64
	side           pitch.Side // SwitchSide stands opposite the pitcher
	top, bottom    float64    // strike zone, ft
	misses, hits   float64
	swings         float64 // logit of a swing
	bunts          bool
	playing        float64 // how often he starts
	pitchesAsField *pitcher
}

// club is one club's people in one season.
type club struct {
	starters, relievers []*pitcher
	batters             []*batter
}

const battersPerClub = 14

// Players' numbers. Those of a slot are a block of their own, dealt to the leagues in
// turn: no number is that of two players, of one league or of two. Who comes after the
// last of a league's turns, ten seasons on at the least, has a longer number.
const (
	numbers     = 21 // of a slot
	leagues     = 3
	longer      = 1_000_000
	firstBatter = 100_000_000
)

// number is that of a slot's n-th player, the first of whom is 0; the numbers of a slot
// are dealt in an order of its own.
func (s *Scenario) number(slot, n int) int64 {
	const turns = numbers / leagues
	dealt := stream(0, "", "numbers", slot).Perm(numbers)
	return int64(slot*numbers + dealt[n%turns*leagues+s.Turn] + n/turns*longer)
}

// slotOf is the slot whose player has a number.
func slotOf(number int64) int { return int(number % longer / numbers) }

// ID is what the leagues' files call the player of a number: p0123 a pitcher, b0123
// one of the others.
func ID(number int64) string {
	if number < firstBatter {
		return fmt.Sprintf("p%04d", number)
	}
	return fmt.Sprintf("b%04d", number-firstBatter)
}

// roster draws the clubs of one season. A slot keeps its player from season to
// season unless he leaves; those who stay change a little every season.
func roster(s *Scenario, seed uint64, season int) []club {
	clubs := make([]club, len(s.Clubs))
	for slot := range s.Pitchers {
		c := &clubs[slot%len(clubs)]
		order := slot / len(clubs)
		p := drawPitcher(s, seed, season, slot, order < 6)
		if p.starter {
			c.starters = append(c.starters, p)
		} else {
			c.relievers = append(c.relievers, p)
		}
	}
	for slot := range len(clubs) * battersPerClub {
		c := &clubs[slot%len(clubs)]
		c.batters = append(c.batters, drawBatter(s, seed, season, slot))
	}
	return clubs
}

// generation returns how many players have left a slot before a season.
func generation(s *Scenario, seed uint64, what string, season, slot int) (n int) {
	for k := 1; k <= season; k++ {
		if chance(stream(seed, s.Name, what+" leaves", slot, k), .12) {
			n++
		}
	}
	return n
}

// handOf is the hand of a slot's pitchers. The share of left hands is exact over
// the slots, in an order that mixes them over clubs and roles.
func handOf(s *Scenario, slot int) pitch.Hand {
	if k := (slot*137 + 61) % s.Pitchers; float64(k) < s.LeftShare*float64(s.Pitchers) {
		return pitch.LeftHand
	}
	return pitch.RightHand
}

func drawPitcher(s *Scenario, seed uint64, season, slot int, starter bool) *pitcher {
	n := generation(s, seed, "pitcher", season, slot)
	r := stream(seed, s.Name, "pitcher", slot, n)
	p := &pitcher{id: s.number(slot, n), starter: starter, hand: handOf(s, slot)}
	hand := int(p.hand) - 1

	talent := r.NormFloat64()
	p.misses = s.PitcherSpread * talent
	p.hits = .10*r.NormFloat64() - .03*talent
	fast := s.FastballSpeed[hand] + 1.9*(.25*talent+.97*r.NormFloat64())
	if !starter {
		fast += .8
	}
	// Workloads are unequal, and better and harder throwers get more.
	p.workload = math.Exp(.75*r.NormFloat64() + .08*talent + .03*(fast-s.FastballSpeed[hand]))
	p.height = clamp(6.2+.2*r.NormFloat64(), 5.6, 6.9)
	p.armAngle = clamp(42+12*r.NormFloat64(), 2, 72)
	slope := p.armAngle / degree
	p.releaseHeight = .70*p.height + 2.1*math.Sin(slope) + .12*r.NormFloat64()
	p.releaseSide = 2.3*math.Cos(slope) + .3*r.NormFloat64()
	p.extension = 6.4 + .38*r.NormFloat64()

	// Harder throwers get more ride and a little more run.
	ride := .35 * (fast - s.FastballSpeed[hand])
	// A lower arm trades rise for run.
	tilt := (p.armAngle - 42) / 12

	weights := make([]float64, len(s.Kinds))
	for i, k := range s.Kinds {
		weights[i] = k.Popularity
	}
	count := 3 + draw(r, []float64{.25, .4, .35})
	for len(p.repertoire) < count {
		i := draw(r, weights)
		if len(p.repertoire) == 0 && i > 1 { // the first is a fastball: four-seam or sinker
			continue
		}
		weights[i] = 0
		k := &s.Kinds[i]
		st := stuff{kind: k,
			speed:   fast + k.SpeedGap + k.Between[0]*r.NormFloat64(),
			rise:    k.Rise + k.Between[1]*r.NormFloat64(),
			run:     k.Run + k.Between[2]*r.NormFloat64(),
			spin:    k.Spin + 130*r.NormFloat64(),
			axisGap: 12 * r.NormFloat64(),
			misses:  s.RepertoireSpread * r.NormFloat64(),
		}
		if k.Rise > 0 {
			st.rise += ride + 1.1*tilt
		}
		st.run -= .9 * tilt * sign(k.Run)
		usage := k.Usage * math.Exp(.4*r.NormFloat64())
		if len(p.repertoire) == 0 {
			usage = max(usage, .35)
		}
		p.repertoire = append(p.repertoire, st)
		p.share[0] = append(p.share[0], usage*k.SameSide)
		p.share[1] = append(p.share[1], usage*k.OppositeSide)
	}
	// Seasons change a pitcher a little: a speed of his own and new shapes.
	for k := 1; k <= season; k++ {
		c := stream(seed, s.Name, "pitcher ages", slot, n, k)
		p.workload *= math.Exp(.3 * c.NormFloat64())
		ageing := -.15 + .55*c.NormFloat64()
		for i := range p.repertoire {
			st := &p.repertoire[i]
			st.speed += ageing + .15*c.NormFloat64()
			st.rise += .5 * c.NormFloat64()
			st.run += .5 * c.NormFloat64()
		}
	}
	return p
}

func drawBatter(s *Scenario, seed uint64, season, slot int) *batter {
	n := generation(s, seed, "batter", season, slot)
	r := stream(seed, s.Name, "batter", slot, n)
	b := &batter{
		id:      firstBatter + s.number(slot, n),
		side:    []pitch.Side{pitch.RightSide, pitch.LeftSide, pitch.SwitchSide}[draw(r, []float64{.55, .35, .10})],
		top:     clamp(3.4+.12*r.NormFloat64(), 3, 3.8),
		bottom:  clamp(1.6+.08*r.NormFloat64(), 1.35, 1.85),
		misses:  s.BatterSpread * r.NormFloat64(),
		hits:    .16 * r.NormFloat64(),
		swings:  .22 * r.NormFloat64(),
		bunts:   chance(r, .25),
		playing: math.Exp(.5 * r.NormFloat64()),
	}
	b.pitchesAsField = &pitcher{
		id: b.id, fielder: true, hand: pitch.RightHand, height: 6, armAngle: 45,
		releaseHeight: 5.7, releaseSide: 1.6, extension: 5.4, misses: -.9, hits: .5,
		repertoire: []stuff{
			{kind: &lob, speed: 60 + 4*r.NormFloat64(), rise: 6, run: 5, spin: 1300},
			{kind: &fielderFastball, speed: 76 + 4*r.NormFloat64(), rise: 12, run: 7, spin: 1900},
		},
		share: [2][]float64{{.4, .6}, {.4, .6}},
	}
	return b
}

// What position players throw.
var (
	lob = Kind{Type: eephus(), Within: [3]float64{3, 2, 2}, AimHeight: 2.5, Miss: [4]float64{-2, -2, -2, -2}}

	fielderFastball = Kind{Type: pitch.FourSeam, Within: [3]float64{2, 2, 2}, AimHeight: 2.5, Miss: [4]float64{-2, -2, -2, -2}}
)

// eephus is a pitch type that the league's profile declares.
func eephus() pitch.Type {
	t, err := pitch.NamedType(declared)
	if err != nil {
		panic("demo: " + err.Error())
	}
	return t
}

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }

func sign(x float64) float64 { return math.Copysign(1, x) }

// pick returns one of the pitchers not yet used, by workload, or nil.
func pick(r *rand.Rand, from []*pitcher, used map[*pitcher]bool) *pitcher {
	weights := make([]float64, len(from))
	left := false
	for i, p := range from {
		if !used[p] {
			weights[i], left = p.workload, true
		}
	}
	if !left {
		return nil
	}
	return from[draw(r, weights)]
}
