package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/stacked"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats/calibrate"
)

// stackSets is the full number of leagues in which qualities are stacked, by
// design.
const stackSets = 240

// stackDesign is a small league of one pitch type in one matchup. Pitchers differ
// in velocity (SD 2 mph, 1 within), in ride (SD 2 in, 1.5 within), in skill (logit
// SD .25) and in work, batters in skill (logit SD .25); none of these go together.
// Both qualities are good from the middle up. They are right-handed; the ids between
// theirs are those of left-handers, who throw one pitch of another type and are dealt
// into halves too.
type stackDesign struct {
	name     string
	pitchers int
	logit    [3]float64 // of a whiff by how many of the two are good
	wrong    []string   // verdicts that the design belies
}

func (d stackDesign) String() string { return fmt.Sprintf("%s, %d pitchers", d.name, d.pitchers) }

var stackDesigns = []stackDesign{
	{"one is enough", 240, [3]float64{-1.7, -.8, -.8}, []string{stacked.EachAdds, stacked.TakesMore, stacked.AllNeeded, stacked.NoGain}},
	{"each adds", 160, [3]float64{-1.7, -1.2, -.7}, []string{stacked.OneIsEnough, stacked.TakesMore, stacked.AllNeeded, stacked.NoGain}},
	{"both are needed", 200, [3]float64{-1.7, -1.7, -.7}, []string{stacked.OneIsEnough, stacked.NoGain}},
	{"each adds", 320, [3]float64{-1.7, -1.2, -.7}, []string{stacked.OneIsEnough, stacked.TakesMore, stacked.AllNeeded, stacked.NoGain}},
}

const (
	stackSpeed, stackRide = 93., 17.
	stackSkill            = .25
	stackBatters          = 200
)

// pitches throws one league's swings.
func (d stackDesign) pitches(seed uint64) (*tally.Held, error) {
	rng := rand.New(rand.NewPCG(seed, 45))
	h := &tally.Held{Listed: numbers(0, stackBatters)}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"velocity", "induced_vertical_break"}); err != nil {
		return nil, err
	}
	skill := skills(rng, stackBatters, stackSkill)
	enlist := func(hand pitch.Hand, kind pitch.Type) pitch.Pitch {
		t := swing(len(h.Listed.Pitchers), 0)
		t.Hand, t.Type = hand, kind
		h.Listed.Pitchers = append(h.Listed.Pitchers, named(int(t.Pitcher), hand))
		return t
	}
	for range d.pitchers {
		h.List = append(h.List, enlist(pitch.LeftHand, pitch.OtherType))
		t := enlist(pitch.RightHand, pitch.FourSeam)
		speed, ride, own := stackSpeed+2*rng.NormFloat64(), stackRide+2*rng.NormFloat64(), stackSkill*rng.NormFloat64()
		for range work(rng, 110, .9, 10, 750) {
			t.Batter, t.Outcome = int32(rng.IntN(stackBatters)), pitch.Foul
			x, y := speed+rng.NormFloat64(), ride+1.5*rng.NormFloat64()
			t.Num[pitch.Velocity], t.Num[pitch.InducedVerticalBreak] = x, y
			if rng.Float64() < logistic(own+skill[t.Batter]+d.logit[goodOf(x, y)]) {
				t.Outcome = pitch.SwingingStrike
			}
			h.List = append(h.List, t)
		}
	}
	return h, nil
}

// goodOf is how many of a pitch's two qualities are truly good.
func goodOf(speed, ride float64) int {
	k := 0
	if speed >= stackSpeed {
		k++
	}
	if ride >= stackRide {
		k++
	}
	return k
}

// truth is the whiff rate by how many qualities lie in the zones that a league's
// halves found, with the share of pitches in each, over all the pitchers there
// could be, the two halves throwing as much as they did: each quality is normal, and
// so are a pitcher's and a batter's skill.
func (d stackDesign) truth(zones, open []stacked.GoodZone, halves [2]float64) (rate, share [3]float64) {
	speedSD, rideSD := math.Hypot(2, 1), math.Hypot(2, 1.5)
	// chance returns the probability of a normal quality below and above its cut,
	// inside and outside a half's zones: [truly good][in a zone]; a value in an open
	// zone alone is left out
	chance := func(variable string, half int, mean, sd float64) (p [2][2]float64) {
		const step = .002
		for z := -6.; z < 6; z += step {
			mass := step * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
			x := mean + float64(sd*z)
			within := func(zones []stacked.GoodZone) bool {
				return slices.ContainsFunc(zones, func(g stacked.GoodZone) bool {
					return g.Variable == variable && g.Half == half && (g.Lo == nil || x >= *g.Lo) && (g.Hi == nil || x <= *g.Hi)
				})
			}
			good, in := 0, 0
			if z >= 0 {
				good = 1
			}
			switch {
			case within(zones):
				in = 1
			case within(open):
				continue
			}
			p[good][in] += mass
		}
		return p
	}
	var y [3]float64
	whiff := func(logit float64) float64 {
		return overNormal(.05, func(z float64) float64 { return logistic(logit + float64(math.Hypot(stackSkill, stackSkill)*z)) })
	}
	for half := 1; half <= 2; half++ {
		v, w := chance("velocity", half, stackSpeed, speedSD), chance("induced_vertical_break", half, stackRide, rideSD)
		for i := range 4 {
			for j := range 4 {
				mass := v[i>>1][i&1] * w[j>>1][j&1] * halves[2-half] // the other half is held against these zones
				k := i&1 + j&1
				share[k] += mass
				y[k] += float64(mass * whiff(d.logit[i>>1+j>>1]))
			}
		}
	}
	all := share[0] + share[1] + share[2]
	for k := range rate {
		rate[k], share[k] = y[k]/share[k], share[k]/all
	}
	return rate, share
}

// stacks stacks two qualities whose working together is known, in many small
// leagues.
var stacks = study(stackSeeds, stackSets, stackDesigns)

// The measures of stacked qualities.
const (
	stackable  = "both halves find a zone of both qualities"
	levelsHeld = "rate held, by number of qualities"
	noneHeld   = "gain on none held"
	stepHeld   = "gain of both on one held"
	slopeHeld  = "gain for each further quality held"
)

func (d stackDesign) judge(ctx context.Context, i int, seed uint64, s calibrate.Scores) error {
	h, err := d.pitches(seed)
	if err != nil {
		return err
	}
	options := stacked.DefaultOptions()
	options.Estimate.Seed = uint64(i)
	options.Estimate.Replicates, options.Locate.Flips, options.Locate.MaxFlips, options.Locate.Workers = 200, 199, 199, 1
	m, err := stacked.Measure(ctx, h, options)
	if err != nil {
		return err
	}
	rows := m.Body().Stacks
	k := slices.IndexFunc(rows, func(r stacked.Row) bool {
		return r.Outcome == outcome.Metrics[outcome.Whiff].Name && len(r.Levels) == 3
	})
	if s.Hit(stackable, k >= 0); k < 0 {
		return nil
	}
	r := rows[k]
	rate, share := d.truth(r.Good, r.Open, shares(h, options.Estimate.Seed))
	for _, l := range r.Levels {
		if l.Rate != nil {
			s.Hit(levelsHeld, held(l.Lo, l.Hi, rate[l.Good]))
		}
	}
	for _, c := range r.Comparisons {
		switch {
		case c.Gain == nil:
		case c.Of == stacked.None:
			s.Hit(noneHeld, held(c.Lo, c.Hi, rate[c.Good]-rate[0]))
		case c.Of == stacked.Step && c.Good == 2:
			s.Hit(stepHeld, held(c.Lo, c.Hi, rate[2]-rate[1]))
		}
	}
	if r.Gain != nil {
		s.Hit(slopeHeld, held(r.GainLo, r.GainHi, slopeOf(rate, share)))
	}
	s.Hit(belied, slices.Contains(d.wrong, r.Verdict))
	return nil
}

func (d stackDesign) tell(t *calibrate.Sheet) {
	t.Share(stackable, calibrate.NoBar, "")
	t.Share(levelsHeld, honest, "")
	t.Share(noneHeld, honest, "")
	t.Share(stepHeld, honest, "")
	t.Share(slopeHeld, honest, "")
	t.Share(belied, calibrate.AtMost(.05), "")
}

// shares are how much of the right-handers' swings each half saw.
func shares(h *tally.Held, seed uint64) (out [2]float64) {
	half, all := stacked.Halves(h.Listed.Pitchers, seed), 0.
	for i := range h.List {
		if p := &h.List[i]; p.Hand == pitch.RightHand {
			out[half[p.Pitcher]]++
			all++
		}
	}
	for i := range out {
		out[i] /= all
	}
	return out
}

// slopeOf is the least-squares slope of the rate on the number of qualities.
func slopeOf(rate, share [3]float64) float64 {
	var k, y, kk, ky float64
	for i := range rate {
		x := float64(i)
		k += share[i] * x
		y += share[i] * rate[i]
		kk += share[i] * x * x
		ky += share[i] * x * rate[i]
	}
	return (ky - k*y) / (kk - k*k)
}
