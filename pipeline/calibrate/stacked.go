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
	"sill/stats/simulate"
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
	h := &tally.Held{}
	var err error
	if h.Shapes, err = shape.Only(shape.Variables, []string{"velocity", "induced_vertical_break"}); err != nil {
		return nil, err
	}
	skill := make([]float64, stackBatters)
	for b := range skill {
		skill[b] = stackSkill * rng.NormFloat64()
		h.Listed.Batters = append(h.Listed.Batters, fmt.Sprintf("b%04d", b))
	}
	swing := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Side: pitch.RightSide, Outcome: pitch.Foul}
	for k := range swing.Num {
		swing.Num[k] = pitch.Missing()
	}
	enlist := func(hand pitch.Hand, kind pitch.Type) pitch.Pitch {
		t := swing
		t.Pitcher, t.Hand, t.Type = int32(len(h.Listed.Pitchers)), hand, kind
		h.Listed.Pitchers = append(h.Listed.Pitchers, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", t.Pitcher), Hand: hand}.String())
		return t
	}
	for range d.pitchers {
		h.List = append(h.List, enlist(pitch.LeftHand, pitch.OtherType))
		t := enlist(pitch.RightHand, pitch.FourSeam)
		speed, ride, own := stackSpeed+2*rng.NormFloat64(), stackRide+2*rng.NormFloat64(), stackSkill*rng.NormFloat64()
		for range int(min(max(math.Exp(math.Log(110)+.9*rng.NormFloat64()), 10), 750)) {
			t.Batter, t.Outcome = int32(rng.IntN(stackBatters)), pitch.Foul
			x, y := speed+rng.NormFloat64(), ride+1.5*rng.NormFloat64()
			t.Num[pitch.Velocity], t.Num[pitch.InducedVerticalBreak] = x, y
			if rng.Float64() < 1/(1+math.Exp(-own-skill[t.Batter]-d.logit[goodOf(x, y)])) {
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
	sd := math.Hypot(stackSkill, stackSkill)
	for half := 1; half <= 2; half++ {
		v, w := chance("velocity", half, stackSpeed, speedSD), chance("induced_vertical_break", half, stackRide, rideSD)
		for i := range 4 {
			for j := range 4 {
				mass := v[i>>1][i&1] * w[j>>1][j&1] * halves[2-half] // the other half is held against these zones
				k := i&1 + j&1
				share[k] += mass
				y[k] += float64(mass * meanLogistic(d.logit[i>>1+j>>1], sd))
			}
		}
	}
	all := share[0] + share[1] + share[2]
	for k := range rate {
		rate[k], share[k] = y[k]/share[k], share[k]/all
	}
	return rate, share
}

// meanLogistic is the mean of 1/(1 + e^−x) over a normal x.
func meanLogistic(mean, sd float64) float64 {
	sum, weight := 0.0, 0.0
	for z := -6.; z <= 6; z += .05 {
		w := math.Exp(-z * z / 2)
		sum += w / (1 + math.Exp(-mean-float64(sd*z)))
		weight += w
	}
	return sum / weight
}

// stacks stacks two qualities whose working together is known, in many small
// leagues.
func stacks(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range stackDesigns {
		rows := make([]*stackRow, o.Sets(stackSets))
		err := o.Each(ctx, len(rows), func(i int) error {
			h, err := d.pitches(seed(o, stackSeeds, k<<12+i))
			if err != nil {
				return err
			}
			options := stacked.DefaultOptions()
			options.Estimate.Seed = uint64(i)
			options.Estimate.Replicates, options.Locate.Flips, options.Locate.MaxFlips = 200, 199, 199
			options.Locate.Workers = 1
			r, err := stacked.Measure(ctx, h, options)
			if err != nil {
				return err
			}
			for _, row := range r.Body().Stacks {
				if row.Outcome == outcome.Metrics[outcome.Whiff].Name && len(row.Levels) == 3 {
					rows[i] = &stackRow{row, shares(h, options.Estimate.Seed)}
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		out = append(out, d.findings(rows)...)
	}
	return out, nil
}

// stackRow is what was found, and how much of the right-handers' swings each half saw.
type stackRow struct {
	stacked.Row
	halves [2]float64
}

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

func (d stackDesign) findings(rows []*stackRow) []calibrate.Finding {
	var stackable, none, step, level, slope, wrong simulate.Share
	for _, r := range rows {
		stackable.Add(r != nil)
		if r == nil {
			continue
		}
		rate, share := d.truth(r.Good, r.Open, r.halves)
		for _, l := range r.Levels {
			if l.Rate != nil {
				level.Add(*l.Lo <= rate[l.Good] && rate[l.Good] <= *l.Hi)
			}
		}
		for _, c := range r.Comparisons {
			switch {
			case c.Gain == nil:
			case c.Of == stacked.None:
				none.Add(held(c.Lo, c.Hi, rate[c.Good]-rate[0]))
			case c.Of == stacked.Step && c.Good == 2:
				step.Add(held(c.Lo, c.Hi, rate[2]-rate[1]))
			}
		}
		if r.Gain != nil {
			slope.Add(held(r.GainLo, r.GainHi, slopeOf(rate, share)))
		}
		bad := false
		for _, v := range d.wrong {
			bad = bad || r.Verdict == v
		}
		wrong.Add(bad)
	}
	tell := func(measure string, s simulate.Share, bar calibrate.Bar) calibrate.Finding {
		return calibrate.ShareFinding(d.String(), measure, s, bar, "")
	}
	return []calibrate.Finding{
		tell("both halves find a zone of both qualities", stackable, calibrate.NoBar),
		tell("rate held, by number of qualities", level, calibrate.Between(.92, .98)),
		tell("gain on none held", none, calibrate.Between(.92, .98)),
		tell("gain of both on one held", step, calibrate.Between(.92, .98)),
		tell("gain for each further quality held", slope, calibrate.Between(.92, .98)),
		tell("verdict that the truth belies", wrong, calibrate.AtMost(.05)),
	}
}

func held(lo, hi *float64, truth float64) bool { return *lo <= truth && truth <= *hi }

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
