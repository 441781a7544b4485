package demo

import (
	"math"
	"math/rand/v2"

	"sill/pipeline/pitch"
)

// model is a scenario made ready for use: effects by matchup, type and outcome.
type model struct {
	*Scenario
	effects [4]map[pitch.Type][2][]Effect
}

func newModel(s *Scenario) *model {
	m := &model{Scenario: s}
	for i := range m.effects {
		m.effects[i] = map[pitch.Type][2][]Effect{}
		for _, e := range s.Effects {
			if e.Matchups&(1<<i) != 0 {
				of := m.effects[i][e.Type]
				of[e.Outcome] = append(of[e.Outcome], e)
				m.effects[i][e.Type] = of
			}
		}
	}
	return m
}

// matchupIndex is the place of a matchup in pitch.Matchups.
func matchupIndex(h pitch.Hand, s pitch.Side) int {
	i := 0
	if h == pitch.RightHand {
		i = 2
	}
	if s == pitch.RightSide {
		i++
	}
	return i
}

// Shares of what happens to a ball that is hit, and what it is worth: the
// weights of The Book (Tango, Lichtman, Dolphin 2007), from memory.
const (
	worthWalk, worthHit = .72, .75

	foulTipShare   = .012 // of contact
	buntFoulShare  = .35
	buntMissShare  = .12
	buntTipShare   = .02
	buntSacrifice  = .70 // of bunts in play with a runner on
	buntSingle     = .17
	buntHitsWorth  = .90
	automaticShare = .0004
)

// contact classes in play: out, single, double, triple, home run, error.
var (
	contactLogit = [6]float64{0, -1.21, -2.40, -4.9, -2.90, -4.25}
	contactSlope = [6]float64{0, .6, 1, 1, 1.6, 0}
	contactWorth = [6]float64{0, .90, 1.24, 1.56, 1.95, .92}
)

// contactShares returns the probabilities of the contact classes at a quality
// of contact, and their expected weight, which rises with it.
func contactShares(quality float64) (p [6]float64, worth float64) {
	sum := 0.
	for i := range p {
		p[i] = math.Exp(contactLogit[i] + contactSlope[i]*quality)
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
		worth += p[i] * contactWorth[i]
	}
	return p, worth
}

// swingCount is the logit of a swing by balls and strikes on a pitch in the
// middle, relative to the first pitch; chasing follows with strikes.
var swingCount = [4][3]float64{
	{-.70, .05, .95},
	{-.25, .20, 1.05},
	{-.30, .35, 1.15},
	{-2.60, .15, 1.35},
}

// chances are the probabilities of one pitch, given that the batter does not
// bunt: hit by it, swing, miss, and called a strike if taken.
type chances struct {
	hit, swing, miss, strike, tip, foul float64
	contact                             [6]float64
	worth                               float64
}

// judge computes what can happen on a pitch.
func (m *model) judge(t *Thrown, p *pitcher, st *stuff, b *batter, balls, strikes int) (c chances) {
	x, z := t.Num[pitch.PlateSide], t.Num[pitch.PlateHeight]
	i := matchupIndex(t.Hand, t.Side)

	// Distance from the middle of the zone, 1 at its edge.
	const halfWidth = .83
	centre, half := (b.top+b.bottom)/2, (b.top-b.bottom)/2+.12
	dx, dz := math.Abs(x)/halfWidth, math.Abs(z-centre)/half
	far := math.Sqrt(math.Sqrt(dx*dx*dx*dx + dz*dz*dz*dz))

	// A left-handed batter stands to the catcher's right of the plate; his body
	// begins about 2 ft from its middle.
	inside := x * t.Hand.ArmSide()
	if t.Side == pitch.RightSide {
		inside = -inside
	}
	c.hit = .55 * logistic((inside-2.05)/.12) * logistic((z-.6)/.4)
	c.strike = logistic((1 - math.Max(dx, dz)) / .07)
	c.swing = logistic(1.43 - 3.25*math.Max(far-.55, 0) - .25*math.Max(far-1.8, 0) + swingCount[balls][strikes] + b.swings)

	miss := st.kind.Miss[i] + .02 + p.misses + st.misses + b.misses +
		1.10*math.Max(far-.8, 0) + st.kind.Lift*(z-NeutralHeight)
	if strikes == 2 {
		miss -= .32
	}
	hard := st.kind.Hit[i] + p.hits + b.hits - .25*math.Max(far-.7, 0)
	for _, e := range m.effects[i][t.Type][Whiff] {
		miss += e.Value(t.Value(e.Quality))
	}
	for _, e := range m.effects[i][t.Type][Contact] {
		hard += e.Value(t.Value(e.Quality))
	}
	c.miss = logistic(miss)
	c.tip = foulTipShare
	c.foul = .51
	if strikes == 2 {
		c.foul = .52
	}
	c.contact, c.worth = contactShares(hard)
	return c
}

// truth writes the true chances of a pitch that is not bunted at.
func (c *chances) truth(t *Thrown, balls, strikes int) {
	unhit := 1 - c.hit
	t.SwingChance = unhit * c.swing
	t.WhiffChance = c.miss
	inPlay := unhit * c.swing * (1 - c.miss) * (1 - c.tip) * (1 - c.foul)
	end, worth := c.hit+inPlay, c.hit*worthHit+inPlay*c.worth
	if strikes == 2 {
		end += unhit * (c.swing*(c.miss+(1-c.miss)*c.tip) + (1-c.swing)*c.strike)
	}
	if balls == 3 {
		walk := unhit * (1 - c.swing) * (1 - c.strike)
		end += walk
		worth += walk * worthWalk
	}
	t.EndChance = end
	t.EndValue = worth / end
}

// deliver draws type, shape and place of a pitch.
func (m *model) deliver(r *rand.Rand, t *Thrown, p *pitcher, balls, strikes int) *stuff {
	opposite := 0
	if !t.Matchup().Same() {
		opposite = 1
	}
	st := &p.repertoire[draw(r, p.share[opposite])]
	k := st.kind
	t.Type = k.Type

	aimSide, aimHeight, spread := k.AimSide, k.AimHeight, .735
	switch {
	case strikes == 2: // off the edge, and lower with what breaks
		aimSide *= 1.25
		aimHeight += .45 * (k.AimHeight - NeutralHeight)
	case balls == 3:
		aimSide *= .5
		aimHeight += .5 * (NeutralHeight - aimHeight)
		spread = .50
	}
	// Harder than his own average comes with a little more ride.
	extra := k.Within[0] * r.NormFloat64()
	th := throw{
		speed:         clamp(st.speed+extra, 45, 104.5),
		rise:          st.rise + .3*extra + k.Within[1]*r.NormFloat64(),
		run:           st.run + .15*extra*sign(st.run) + k.Within[2]*r.NormFloat64(),
		releaseHeight: p.releaseHeight + .12*r.NormFloat64(),
		releaseSide:   p.releaseSide + .14*r.NormFloat64(),
		extension:     clamp(p.extension+.14*r.NormFloat64(), 4.5, 8),
		plateHeight:   aimHeight + (spread+.06)*r.NormFloat64(),
		plateSide:     aimSide + spread*r.NormFloat64(),
	}
	t.Neutral = fly(t.Hand, th, &t.Num)
	t.Num[pitch.SpinRate] = clamp(st.spin+70*r.NormFloat64(), 300, 3600)
	// 180 degrees is pure backspin; the break turns clockwise as the pitcher
	// sees it, whose right is the catcher's left.
	turn := math.Atan2(-t.Hand.ArmSide()*th.run, th.rise) * degree
	axis := math.Mod(180+turn+t.Hand.ArmSide()*st.axisGap+6*r.NormFloat64(), 360)
	if axis < 0 {
		axis += 360
	}
	t.Num[pitch.SpinAxis] = axis
	t.Num[pitch.ArmAngle] = clamp(p.armAngle+1.5*r.NormFloat64(), -10, 85)
	t.Num[pitch.PitcherHeight] = p.height
	return st
}
