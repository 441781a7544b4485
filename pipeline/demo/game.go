package demo

import (
	"math/rand/v2"

	"sill/pipeline/pitch"
)

// fixture is one game to be played.
type fixture struct {
	season, number int
	day            int32
	kind           GameKind
	home, away     int
}

// team is one club's state within a game.
type team struct {
	lineup  [9]*batter
	next    int
	staff   *club
	pitcher *pitcher
	used    map[*pitcher]bool
	thrown  int // by the current pitcher
	limit   int
	score   int
}

// game plays one fixture.
type game struct {
	m      *model
	r      *rand.Rand
	f      fixture
	teams  [2]team // away, home
	inning int
	half   int // 0 top, 1 bottom
	outs   int
	bases  int // bit 0 first, bit 1 second, bit 2 third
	turn   int // plate appearances so far
	rows   []Thrown
}

// playGame returns the rows of one game in order.
func playGame(m *model, clubs []club, seed uint64, f fixture) []Thrown {
	g := &game{m: m, f: f, r: stream(seed, m.Name, "game", f.season, f.number)}
	g.rows = make([]Thrown, 0, 340)
	for i, c := range []int{f.away, f.home} {
		g.teams[i] = g.assemble(&clubs[c])
	}
	for g.inning = 1; ; g.inning++ {
		g.half = 0
		g.playHalf()
		if g.inning >= 9 && g.teams[1].score > g.teams[0].score {
			break
		}
		g.half = 1
		g.playHalf()
		if g.inning >= 9 && g.teams[0].score != g.teams[1].score || g.inning == 30 {
			break
		}
	}
	return g.rows
}

func (g *game) assemble(c *club) team {
	t := team{staff: c, used: map[*pitcher]bool{}}
	weights := make([]float64, len(c.batters))
	for i, b := range c.batters {
		weights[i] = b.playing
	}
	for i := range t.lineup {
		k := draw(g.r, weights)
		weights[k] = 0
		t.lineup[i] = c.batters[k]
	}
	t.pitcher = pick(g.r, c.starters, t.used)
	t.used[t.pitcher] = true
	t.limit = int(clamp(88+11*g.r.NormFloat64(), 40, 115))
	return t
}

// relieve changes the pitcher where it is time.
func (g *game) relieve() {
	t, other := &g.teams[1-g.half], &g.teams[g.half]
	if t.thrown < t.limit {
		return
	}
	var p *pitcher
	if other.score-t.score >= 9 && g.inning >= 8 && !t.pitcher.fielder && chance(g.r, .6) {
		p = t.lineup[g.r.IntN(9)].pitchesAsField
	} else {
		p = pick(g.r, t.staff.relievers, t.used)
	}
	if p == nil { // nobody is left: he stays
		t.limit += 20
		return
	}
	t.pitcher, t.thrown = p, 0
	t.used[p] = true
	t.limit = int(clamp(19+8*g.r.NormFloat64(), 6, 45))
}

func (g *game) playHalf() {
	g.outs, g.bases = 0, 0
	for g.outs < 3 && !g.walkedOff() {
		g.relieve()
		t := &g.teams[g.half]
		if g.appearance(t.lineup[t.next]) {
			t.next = (t.next + 1) % 9
		}
	}
}

func (g *game) walkedOff() bool {
	return g.half == 1 && g.inning >= 9 && g.teams[1].score > g.teams[0].score
}

// row appends a row with the state before the pitch; its numbers are missing.
func (g *game) row(p *pitcher, b *batter, number, balls, strikes int) *Thrown {
	g.rows = append(g.rows, Thrown{
		Season: g.f.season, Day: g.f.day, Game: int32(g.f.number), Kind: g.f.kind, Home: g.f.home, Away: g.f.away,
		Pitcher: p.id, Fielder: p.fielder, Hand: p.hand, Batter: b.id,
		Side: b.standsAgainst(p.hand), Switch: b.side == pitch.SwitchSide,
		Neutral: pitch.Missing(),
	})
	t := &g.rows[len(g.rows)-1]
	for i := range t.Num {
		t.Num[i] = pitch.Missing()
	}
	t.Num[pitch.Inning] = float64(g.inning)
	t.Num[pitch.Half] = float64(g.half + 1)
	t.Num[pitch.PlateAppearance] = float64(g.turn)
	t.Num[pitch.PitchNumber] = float64(number)
	t.Num[pitch.OutsBefore] = float64(g.outs)
	t.Num[pitch.BallsBefore] = float64(balls)
	t.Num[pitch.StrikesBefore] = float64(strikes)
	t.Num[pitch.Bases] = float64(g.bases)
	t.Num[pitch.ScoreDifference] = float64(g.teams[g.half].score - g.teams[1-g.half].score)
	t.Num[pitch.ZoneTop], t.Num[pitch.ZoneBottom] = b.top, b.bottom
	return t
}

func (b *batter) standsAgainst(h pitch.Hand) pitch.Side {
	if b.side != pitch.SwitchSide {
		return b.side
	}
	if h == pitch.LeftHand {
		return pitch.RightSide
	}
	return pitch.LeftSide
}

// appearance plays one plate appearance and tells whether it was completed (a
// batter whose turn is cut short by the third out on a runner leads off next).
func (g *game) appearance(b *batter) bool {
	g.turn++
	p := g.teams[1-g.half].pitcher
	r := g.r
	lead := g.teams[g.half].score - g.teams[1-g.half].score

	if g.bases&1 == 0 && g.bases != 0 && g.inning >= 6 && lead >= -2 && lead <= 1 && chance(r, .05) {
		g.walkOnPurpose(p, b)
		return true
	}
	bunting := b.bunts && g.outs < 2 && g.bases != 0 && g.bases&4 == 0 && lead >= -2 && lead <= 2 && chance(r, .16)

	balls, strikes := 0, 0
	for number := 1; ; number++ {
		if number == 3 && chance(r, .0006) { // a pitcher hurt in mid-count
			if np := pick(r, g.teams[1-g.half].staff.relievers, g.teams[1-g.half].used); np != nil {
				t := &g.teams[1-g.half]
				t.pitcher, t.thrown, t.limit = np, 0, 20
				t.used[np] = true
				p = np
			}
		}
		t := g.row(p, b, number, balls, strikes)
		g.teams[1-g.half].thrown++
		result := g.pitch(t, p, b, bunting && strikes < 2 && g.outs < 2 && g.bases != 0, &balls, &strikes)
		if result != pitch.NoResult {
			t.Result = result
			g.score(t)
			return true
		}
		if g.stolen(t) {
			t.Result = pitch.NotAppearance
			return false
		}
	}
}

// walkOnPurpose is an intentional walk, with four pitches or with none.
func (g *game) walkOnPurpose(p *pitcher, b *batter) {
	if chance(g.r, .6) {
		t := g.row(p, b, 1, 0, 0)
		t.Outcome, t.Result = pitch.NoPitch, pitch.Walk|pitch.Intentional
		g.advanceForced(t)
		g.score(t)
		return
	}
	for i := range 4 {
		t := g.row(p, b, i+1, i, 0)
		g.teams[1-g.half].thrown++
		st := &p.repertoire[0]
		t.Type = st.kind.Type
		t.Neutral = fly(p.hand, throw{speed: st.speed - 12 + g.r.NormFloat64(), rise: st.rise, run: st.run,
			releaseHeight: p.releaseHeight, releaseSide: p.releaseSide, extension: p.extension,
			plateHeight: 3.5 + .3*g.r.NormFloat64(), plateSide: 3.5 + .3*g.r.NormFloat64()}, &t.Num)
		t.Outcome = pitch.IntentionalBall
		if i == 3 {
			t.Result = pitch.Walk | pitch.Intentional
			g.advanceForced(t)
			g.score(t)
		}
	}
}

// pitch throws one pitch, moves the count and returns the plate appearance's
// result if it ended.
func (g *game) pitch(t *Thrown, p *pitcher, b *batter, bunting bool, balls, strikes *int) pitch.Result {
	r := g.r
	if u := r.Float64(); u < automaticShare { // the clock ran out: no pitch
		if u < automaticShare/2 {
			t.Outcome = pitch.AutomaticBall
			return g.ball(t, balls)
		}
		t.Outcome = pitch.AutomaticStrike
		return g.strike(t, strikes)
	}
	st := g.m.deliver(r, t, p, *balls, *strikes)
	t.Blemish = blemish(r, t)
	if g.bases&1 != 0 && chance(r, .0012) {
		t.Outcome = pitch.Pitchout
		if chance(r, .1) {
			t.Outcome = pitch.SwingingPitchout
			return g.strike(t, strikes)
		}
		return g.ball(t, balls)
	}
	c := g.m.judge(t, p, st, b, *balls, *strikes)
	if bunting {
		return g.bunt(t, &c, balls, strikes)
	}
	c.truth(t, *balls, *strikes)
	switch {
	case chance(r, c.hit):
		t.Outcome = pitch.HitBatter
		g.advanceForced(t)
		return pitch.HitByPitch
	case !chance(r, c.swing):
		if chance(r, c.strike) {
			t.Outcome = pitch.CalledStrike
			return g.strike(t, strikes)
		}
		t.Outcome = pitch.Ball
		return g.ball(t, balls)
	case chance(r, .0002): // the catcher's mitt is struck
		t.Outcome = pitch.InPlay
		g.advanceForced(t)
		return pitch.CatcherInterference
	case chance(r, c.miss):
		t.Outcome = pitch.SwingingStrike
		return g.strike(t, strikes)
	case chance(r, c.tip):
		t.Outcome = pitch.FoulTip
		return g.strike(t, strikes)
	case chance(r, c.foul):
		t.Outcome = pitch.Foul
		if *strikes < 2 {
			*strikes++
		}
		return pitch.NoResult
	}
	t.Outcome = pitch.InPlay
	return g.inPlay(t, c.contact[:])
}

func (g *game) ball(t *Thrown, balls *int) pitch.Result {
	if *balls++; *balls < 4 {
		return pitch.NoResult
	}
	g.advanceForced(t)
	return pitch.Walk
}

func (g *game) strike(t *Thrown, strikes *int) pitch.Result {
	if *strikes++; *strikes < 3 {
		return pitch.NoResult
	}
	if (g.bases&1 == 0 || g.outs == 2) && chance(g.r, .004) { // it got away: he reaches first
		g.advanceForced(t)
		return pitch.Strikeout
	}
	t.Out++
	if g.bases&1 != 0 && g.outs < 2 && chance(g.r, .012) { // the runner is thrown out too
		t.Out++
		g.bases &^= 1
		return pitch.Strikeout | pitch.DoublePlay
	}
	return pitch.Strikeout
}

// bunt plays a pitch that the batter tries to bunt.
func (g *game) bunt(t *Thrown, c *chances, balls, strikes *int) pitch.Result {
	r := g.r
	unhit := 1 - c.hit
	inPlay := unhit * .8 * (1 - buntMissShare - buntFoulShare - buntTipShare)
	t.WhiffChance = c.miss
	t.EndChance = c.hit + inPlay*(1-buntSacrifice)
	t.EndValue = (c.hit*worthHit + inPlay*buntSingle*buntHitsWorth) / t.EndChance
	if *balls == 3 {
		walk := unhit * .2 * (1 - c.strike)
		t.EndValue = (t.EndValue*t.EndChance + walk*worthWalk) / (t.EndChance + walk)
		t.EndChance += walk
	}
	if chance(r, c.hit) {
		t.Outcome = pitch.HitBatter
		g.advanceForced(t)
		return pitch.HitByPitch
	}
	if !chance(r, .8) { // he draws the bat back
		if chance(r, c.strike) {
			t.Outcome = pitch.CalledStrike
			return g.strike(t, strikes)
		}
		t.Outcome = pitch.Ball
		return g.ball(t, balls)
	}
	switch u := r.Float64(); {
	case u < buntMissShare:
		t.Outcome = pitch.MissedBunt
		return g.strike(t, strikes)
	case u < buntMissShare+buntTipShare:
		t.Outcome = pitch.BuntFoulTip
		return g.strike(t, strikes)
	case u < buntMissShare+buntTipShare+buntFoulShare:
		t.Outcome = pitch.FoulBunt
		return g.strike(t, strikes)
	}
	t.Outcome, t.Bunt = pitch.InPlay, true
	switch u := r.Float64(); {
	case u < buntSacrifice-.01:
		t.Out++
		g.advanceAll(t, 1, false)
		return pitch.SacrificeBunt
	case u < buntSacrifice:
		t.Out = 2
		g.bases &= g.bases - 1 // the runner closest to first is put out as well
		return pitch.SacrificeBunt | pitch.DoublePlay
	case u < buntSacrifice+buntSingle:
		g.advanceAll(t, 1, true)
		return pitch.Single
	}
	t.Out++
	return pitch.Out
}

// blemish draws what the provider gets wrong about a tracked pitch.
func blemish(r *rand.Rand, t *Thrown) Blemish {
	u := r.Float64()
	if t.Switch && u > .94 {
		return StanceUnread
	}
	for _, c := range blemishRates {
		if u -= c.rate; u < 0 {
			return c.kind
		}
	}
	return Clean
}

var blemishRates = []struct {
	kind Blemish
	rate float64
}{
	{Untracked, .006}, {Repeated, .0012}, {Conflicting, .00008}, {TooFast, .0003},
	{NotANumber, .0003}, {Endless, .0001}, {Handless, .0001}, {Untyped, .001},
}
