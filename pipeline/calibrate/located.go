package calibrate

import (
	"context"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/located"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// locatedSets is the full number of leagues in which location is held, by design.
const locatedSets = 200

// locatedDesign is a league of four-seamers in one matchup whose approach angle goes
// with height (slope .45 deg a foot, pitchers differ by SD .35, .3 within). Whiffs
// come of the angle, of height, along a straight line as no place of those by which
// location is held has it, or of both; pitchers differ in skill and in work, batters
// in skill.
type locatedDesign struct {
	name          string
	angle, height float64 // in whiff rate, up and down; of height a foot
	wrong         []string
}

func (d locatedDesign) String() string { return d.name }

var locatedDesigns = []locatedDesign{
	{"the angle alone", .08, 0, []string{located.Partly, located.IsLocation}},
	{"height alone", 0, .12, []string{located.Holds}},
	{"both", .06, .08, []string{located.IsLocation}},
}

const (
	locatedPitchers = 120
	locatedBatters  = 200
	locatedMiddle   = -5. // deg, where the angle begins to gain
	locatedHeight   = 2.5 // ft, mean
	locatedSkill    = .03 // SD of pitchers' own rates
	locatedBatter   = .04 // of batters'
)

// rate is the true whiff rate of a pitch by an ordinary pitcher.
func (d locatedDesign) rate(x, z float64) float64 {
	return .24 + float64(d.angle*math.Tanh((x-locatedMiddle)/.4)) + float64(d.height*min(max(z-locatedHeight, -1.2), 1.2))
}

// throw draws angle and height.
func (d locatedDesign) throw(rng *rand.Rand, own float64) (x, z float64) {
	z = locatedHeight + .7*rng.NormFloat64()
	return locatedMiddle + .45*(z-locatedHeight) + own + .3*rng.NormFloat64(), z
}

// pitches throws one league's swings.
func (d locatedDesign) pitches(seed uint64) (*tally.Held, error) {
	rng := rand.New(rand.NewPCG(seed, 47))
	h := &tally.Held{Listed: numbers(locatedPitchers, locatedBatters)}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"vertical_approach_angle"}); err != nil {
		return nil, err
	}
	batters := skills(rng, locatedBatters, locatedBatter)
	for p := range locatedPitchers {
		own, skill := .35*rng.NormFloat64(), locatedSkill*rng.NormFloat64()
		for range work(rng, 140, .8, 15, 700) {
			t := swing(p, rng.IntN(locatedBatters))
			x, z := d.throw(rng, own)
			t.Num[pitch.VerticalApproachAngle], t.Num[pitch.PlateHeight], t.Num[pitch.PlateSide] = x, z, .7*rng.NormFloat64()
			t.Num[pitch.ZoneTop], t.Num[pitch.ZoneBottom] = 3.4, 1.6
			if rng.Float64() < d.rate(x, z)+skill+batters[t.Batter] {
				t.Outcome = pitch.SwingingStrike
			}
			h.List = append(h.List, t)
		}
	}
	return h, nil
}

// population is what very many pitchers throw: by bin of the angle its events, their
// whiffs, and their whiffs by the angle's own part. That part and height's add up, so
// with location held the angle's is what is left of a gain.
type population struct {
	width         float64
	n, whiffs, by map[int]float64
}

func (d locatedDesign) population() population {
	rng := rand.New(rand.NewPCG(1, 48))
	p := population{width: .25, n: map[int]float64{}, whiffs: map[int]float64{}, by: map[int]float64{}}
	alone := locatedDesign{angle: d.angle}
	for range 1_000_000 {
		x, z := d.throw(rng, .35*rng.NormFloat64())
		k := int(math.Floor(x / p.width))
		p.n[k]++
		p.whiffs[k] += d.rate(x, z)
		p.by[k] += alone.rate(x, z)
	}
	return p
}

// gains are the true gains above a breakpoint over below it, as thrown and with
// location held; bins lie on the side that their middle lies on.
func (p population) gains(at float64) (thrown, held float64) {
	var events, whiffs, by [2]float64
	for _, b := range slices.Sorted(maps.Keys(p.n)) {
		side := 0
		if (float64(b)+.5)*p.width >= at {
			side = 1
		}
		events[side] += p.n[b]
		whiffs[side] += p.whiffs[b]
		by[side] += p.by[b]
	}
	return whiffs[1]/events[1] - whiffs[0]/events[0], by[1]/events[1] - by[0]/events[0]
}

// line is the median of the true rates of very many pitchers.
func (d locatedDesign) line() float64 {
	rng := rand.New(rand.NewPCG(1, 49))
	rates := make([]float64, 20_001)
	for p := range rates {
		own := .35 * rng.NormFloat64()
		const throws = 100
		for range throws {
			rates[p] += d.rate(d.throw(rng, own)) / throws
		}
		rates[p] += locatedSkill * rng.NormFloat64()
	}
	slices.Sort(rates)
	return rates[len(rates)/2]
}

// breakpoints are where the true rate of pitches of an angle passes the line, as thrown
// and over all heights alike. The angle and height are jointly normal.
func (d locatedDesign) breakpoints() (thrown, moved float64) {
	line := d.line()
	variance := float64(.45*.45*.7*.7) + .35*.35 + .3*.3
	slope := .45 * .7 * .7 / variance // of height on the angle
	rest := math.Sqrt(.7*.7 - float64(slope*slope*variance))
	over := func(x, mean, sd float64) float64 {
		return overNormal(.05, func(z float64) float64 { return d.rate(x, mean+float64(sd*z)) })
	}
	at := func(rate func(x float64) float64) float64 {
		return passes(locatedMiddle-2, locatedMiddle+2, line, rate)
	}
	return at(func(x float64) float64 { return over(x, locatedHeight+float64(slope*(x-locatedMiddle)), rest) }),
		at(func(x float64) float64 { return over(x, locatedHeight, .7) })
}

// holdings holds location where its part is known.
func holdings(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var designs []locatedTruth
	for _, d := range locatedDesigns {
		t := locatedTruth{locatedDesign: d, all: d.population()}
		t.thrown, t.moved = d.breakpoints()
		designs = append(designs, t)
	}
	return study(locatedSeeds, locatedSets, designs)(ctx, o)
}

// locatedTruth is a design with what is true of it.
type locatedTruth struct {
	locatedDesign
	all           population
	thrown, moved float64 // its breakpoints, as thrown and over all heights alike
}

// The measures of location.
const (
	gainThrown     = "gain as thrown held"
	gainHeld       = "gain with location held held"
	gainLost       = "what is location held"
	belied         = "verdict that the truth belies"
	answered       = "enough data to answer"
	movedConfirmed = "breakpoint with location held confirmed"
	movedHeld      = "breakpoint with location held held"
	movedPinned    = "breakpoint with location held pinned on both sides"
	shiftHeld      = "shift of the breakpoint held"
)

func (d locatedTruth) judge(ctx context.Context, i int, seed uint64, s calibrate.Scores) error {
	h, err := d.pitches(seed)
	if err != nil {
		return err
	}
	options := located.DefaultOptions()
	options.Variables = []string{"vertical_approach_angle"}
	options.Estimate.Seed = uint64(i)
	options.Estimate.Replicates, options.Locate.Flips, options.Locate.MaxFlips, options.Locate.Workers = 200, 199, 199, 1
	r, err := located.Measure(ctx, h, options)
	if err != nil {
		return err
	}
	var b *located.Breakpoint // the last of whiffs
	for _, x := range r.Body().Breakpoints {
		if x.Outcome == outcome.Metrics[outcome.Whiff].Name && x.Above && x.Gain != nil {
			b = &x
		}
	}
	if b == nil {
		return nil
	}
	if s.Hit(answered, b.Held != nil); b.Held == nil {
		return nil
	}
	plain, standard := d.all.gains(b.X)
	s.Hit(gainThrown, held(b.GainLo, b.GainHi, plain))
	s.Hit(gainHeld, held(b.HeldLo, b.HeldHi, standard))
	s.Hit(gainLost, held(b.LossLo, b.LossHi, plain-standard))
	s.Hit(belied, slices.Contains(d.wrong, b.Verdict))
	known := b.MovedLo != nil || b.MovedHi != nil
	if s.Hit(movedConfirmed, known); known {
		s.Hit(movedHeld, (b.MovedLo == nil || *b.MovedLo <= d.moved) && (b.MovedHi == nil || d.moved <= *b.MovedHi))
		s.Hit(movedPinned, b.MovedLo != nil && b.MovedHi != nil)
	}
	if b.ShiftLo != nil {
		s.Hit(shiftHeld, held(b.ShiftLo, b.ShiftHi, d.moved-d.thrown))
	}
	return nil
}

func (d locatedTruth) tell(t *calibrate.Sheet) {
	t.Share(gainThrown, honest, "")
	t.Share(gainHeld, honest, "")
	t.Share(gainLost, honest, "")
	t.Share(belied, calibrate.AtMost(.05), "")
	t.Share(answered, calibrate.NoBar, "")
	if d.angle > 0 { // else no curve passes the line
		t.Share(movedConfirmed, calibrate.NoBar, "")
		t.Share(movedHeld, calibrate.Between(.93, .98), "")
		t.Share(movedPinned, calibrate.NoBar, "")
		t.Share(shiftHeld, honest, "")
	}
}
