package calibrate

import (
	"context"
	"fmt"
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
	"sill/stats/simulate"
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
	h := &tally.Held{}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"vertical_approach_angle"}); err != nil {
		return nil, err
	}
	skills := make([]float64, locatedBatters)
	for b := range skills {
		skills[b] = locatedBatter * rng.NormFloat64()
		h.Listed.Batters = append(h.Listed.Batters, fmt.Sprintf("b%04d", b))
	}
	for p := range locatedPitchers {
		h.Listed.Pitchers = append(h.Listed.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", p), Hand: pitch.RightHand}.String())
		own, skill := .35*rng.NormFloat64(), locatedSkill*rng.NormFloat64()
		for range int(min(max(math.Exp(math.Log(140)+.8*rng.NormFloat64()), 15), 700)) {
			t := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(p), Batter: int32(rng.IntN(locatedBatters)),
				Hand: pitch.RightHand, Side: pitch.RightSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			for k := range t.Num {
				t.Num[k] = pitch.Missing()
			}
			x, z := d.throw(rng, own)
			t.Num[pitch.VerticalApproachAngle], t.Num[pitch.PlateHeight], t.Num[pitch.PlateSide] = x, z, .7*rng.NormFloat64()
			t.Num[pitch.ZoneTop], t.Num[pitch.ZoneBottom] = 3.4, 1.6
			if rng.Float64() < d.rate(x, z)+skill+skills[t.Batter] {
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
		sum, weight := 0.0, 0.0
		for z := -6.; z <= 6; z += .05 {
			w := math.Exp(-z * z / 2)
			sum += w * d.rate(x, mean+float64(sd*z))
			weight += w
		}
		return sum / weight
	}
	passes := func(rate func(x float64) float64) float64 {
		lo, hi := locatedMiddle-2, locatedMiddle+2.
		for range 60 {
			if mid := (lo + hi) / 2; rate(mid) < line {
				lo = mid
			} else {
				hi = mid
			}
		}
		return lo
	}
	return passes(func(x float64) float64 { return over(x, locatedHeight+float64(slope*(x-locatedMiddle)), rest) }),
		passes(func(x float64) float64 { return over(x, locatedHeight, .7) })
}

// holdings holds location where its part is known.
func holdings(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range locatedDesigns {
		rows := make([]*located.Breakpoint, o.Sets(locatedSets))
		err := o.Each(ctx, len(rows), func(i int) error {
			h, err := d.pitches(seed(o, locatedSeeds, k<<12+i))
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
			for _, b := range r.Body().Breakpoints {
				if b.Outcome == outcome.Metrics[outcome.Whiff].Name && b.Above && b.Gain != nil {
					rows[i] = &b
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		var asked, thrown, kept, loss, wrong, confirmed, moved, pinned, shift simulate.Share
		truth := d.population()
		plainAt, heldAt := d.breakpoints()
		for _, b := range rows {
			if b == nil {
				continue
			}
			asked.Add(b.Held != nil)
			if b.Held == nil {
				continue
			}
			plain, standard := truth.gains(b.X)
			thrown.Add(held(b.GainLo, b.GainHi, plain))
			kept.Add(held(b.HeldLo, b.HeldHi, standard))
			loss.Add(held(b.LossLo, b.LossHi, plain-standard))
			bad := false
			for _, v := range d.wrong {
				bad = bad || b.Verdict == v
			}
			wrong.Add(bad)
			known := b.MovedLo != nil || b.MovedHi != nil
			if confirmed.Add(known); known {
				moved.Add((b.MovedLo == nil || *b.MovedLo <= heldAt) && (b.MovedHi == nil || heldAt <= *b.MovedHi))
				pinned.Add(b.MovedLo != nil && b.MovedHi != nil)
			}
			if b.ShiftLo != nil {
				shift.Add(held(b.ShiftLo, b.ShiftHi, heldAt-plainAt))
			}
		}
		type told struct {
			measure string
			share   simulate.Share
			bar     calibrate.Bar
		}
		list := []told{
			{"gain as thrown held", thrown, calibrate.Between(.92, .98)},
			{"gain with location held held", kept, calibrate.Between(.92, .98)},
			{"what is location held", loss, calibrate.Between(.92, .98)},
			{"verdict that the truth belies", wrong, calibrate.AtMost(.05)},
			{"enough data to answer", asked, calibrate.NoBar},
		}
		if d.angle > 0 { // else no curve passes the line
			list = append(list, []told{
				{"breakpoint with location held confirmed", confirmed, calibrate.NoBar},
				{"breakpoint with location held held", moved, calibrate.Between(.93, .98)},
				{"breakpoint with location held pinned on both sides", pinned, calibrate.NoBar},
				{"shift of the breakpoint held", shift, calibrate.Between(.92, .98)},
			}...)
		}
		for _, f := range list {
			out = append(out, calibrate.ShareFinding(d.String(), f.measure, f.share, f.bar, ""))
		}
	}
	return out, nil
}
