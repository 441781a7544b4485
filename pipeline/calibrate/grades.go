package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/grade"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats/calibrate"
	"sill/stats/simulate"
)

// gradeSets is the full number of leagues in which pitchers are graded, by design.
const gradeSets = 100

// gradeDesign is a league of right-handed pitchers who all throw the same types to
// both sides, so often that a third of them is known by 20, 60 or 200 swings and as
// many plate appearances of each. Their true rates are spread; batters differ in
// skill.
type gradeDesign struct {
	pitchers int
	spread   float64 // logit SD of what all of a pitcher's pitches share; of each pitch, and of each side of it, .6 as much
	batters  float64 // logit SD between batters
}

func (d gradeDesign) String() string {
	return fmt.Sprintf("%d pitchers, logit SD %g, batters' %g, over pitchers drawn from that spread", d.pitchers, d.spread, d.batters)
}

// The last two are leagues in which the spread can hardly be seen, or is not there: it
// cannot be known to be so small.
var gradeDesigns = []gradeDesign{{60, .2, .2}, {120, .2, .2}, {120, .4, 0}, {36, .2, .2}, {120, 0, .2}}

var gradeSizes = [3]int{20, 60, 200}

const gradeBatters = 200

// gradeTypes are the types with the logits of a whiff and of reaching base.
var gradeTypes = []struct {
	kind        pitch.Type
	whiff, base float64
}{{pitch.FourSeam, -1.4, -.75}, {pitch.Sinker, -1.9, -.8}, {pitch.Slider, -.7, -.85}, {pitch.Changeup, -.8, -.85}}

// gradeHits is how batters reach base: shares of results, and what they are worth.
var gradeHits = []struct {
	share  float64
	result pitch.Result
	class  outcome.Class
}{{.27, pitch.Walk, outcome.Walk}, {.45, pitch.Single, outcome.Single}, {.16, pitch.Double, outcome.Double}, {.12, pitch.HomeRun, outcome.HomeRun}}

// gradeTruth is one pitcher's true rates by type, side (left first) and outcome.
type gradeTruth [4][2][2]float64

// play throws a league and grades it.
func (d gradeDesign) play(seed uint64) (*grade.Report, []gradeTruth, error) {
	rng := rand.New(rand.NewPCG(seed, 45))
	skill := make([]float64, gradeBatters)
	for b := range skill {
		skill[b] = d.batters * rng.NormFloat64()
	}
	worth, weights := 0.0, outcome.TheBook()
	for _, h := range gradeHits {
		worth += h.share * weights.Value[h.class]
	}
	nothing := &grade.Yardstick{Name: "none"}
	reader, _ := nothing.Read(nil, 1)
	truths := make([]gradeTruth, d.pitchers)
	var names []string
	var batch []pitch.Pitch
	for p := range d.pitchers {
		names = append(names, pitch.PitcherKey{ID: fmt.Sprintf("p%04d", p), Hand: pitch.RightHand}.String())
		var own [2]float64
		for m := range own {
			own[m] = d.spread * rng.NormFloat64()
		}
		n := gradeSizes[p%3]
		for k, kind := range gradeTypes {
			var of [2]float64
			for m := range of {
				of[m] = own[m] + .6*d.spread*rng.NormFloat64()
			}
			for side := range 2 {
				logits := [2]float64{kind.whiff + of[0] + .6*d.spread*rng.NormFloat64(), kind.base + of[1] + .6*d.spread*rng.NormFloat64()}
				if side == 0 { // of the other hand
					logits[0] -= .1
					logits[1] += .1
				}
				for m := range logits {
					for _, s := range skill {
						truths[p][k][side][m] += logistic(logits[m]+s) / gradeBatters
					}
				}
				truths[p][k][side][outcome.WOBA] *= worth
				batch = batch[:0]
				for range n {
					t := gradePitch(p, kind.kind, side)
					t.Outcome = pitch.Foul
					if rng.Float64() < logistic(logits[0]+skill[rng.IntN(gradeBatters)]) {
						t.Outcome = pitch.SwingingStrike
					}
					batch = append(batch, t)
					t = gradePitch(p, kind.kind, side)
					t.Outcome, t.Result = pitch.CalledStrike, pitch.Out
					if rng.Float64() < logistic(logits[1]+skill[rng.IntN(gradeBatters)]) {
						t.Result = hit(rng)
					}
					batch = append(batch, t)
				}
				if err := reader.Add(0, batch); err != nil {
					return nil, nil, err
				}
			}
		}
	}
	pop, err := reader.Population("graded", names, outcome.Scoring{Weights: weights})
	if err != nil {
		return nil, nil, err
	}
	return grade.Grade(nothing, pop, pop), truths, nil
}

func hit(rng *rand.Rand) pitch.Result {
	u := rng.Float64()
	for _, h := range gradeHits {
		if u -= h.share; u < 0 {
			return h.result
		}
	}
	return gradeHits[len(gradeHits)-1].result
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

func gradePitch(p int, kind pitch.Type, side int) pitch.Pitch {
	t := pitch.Pitch{Season: 2031, Date: pitch.NoDate, Game: -1, Venue: -1, Level: -1, Pitcher: int32(p), Batter: -1,
		Hand: pitch.RightHand, Side: []pitch.Side{pitch.LeftSide, pitch.RightSide}[side], Type: kind}
	for k := range t.Num {
		t.Num[k] = pitch.Missing()
	}
	return t
}

// gradeScore is how one league's grades fared.
type gradeScore struct {
	rates, gaps [2][3]simulate.Share // held, by outcome and size
	extreme     [2]simulate.Share    // rates of the tenth of the pitchers farthest from the mean, at 20 events
	pairs       [2]simulate.Share    // told apart, of all pairs
	wrong       [2]simulate.Share    // ranked the wrong way, of those told apart
}

// scoreGrades holds a league's grades against the truth.
func scoreGrades(r *grade.Report, truths []gradeTruth) gradeScore {
	var s gradeScore
	place := func(pitcher, kind string) (p, k int) {
		_, _ = fmt.Sscanf(pitcher, "p%d", &p)
		return p, slices.IndexFunc(gradeTypes, func(t struct {
			kind        pitch.Type
			whiff, base float64
		}) bool {
			return t.kind.String() == kind
		})
	}
	side := func(word string) int { return map[string]int{"left": 0, "right": 1}[word] }
	held := func(to *simulate.Share, lo, hi *float64, truth float64) bool {
		if lo == nil {
			return false
		}
		in := *lo <= truth && truth <= *hi
		to.Add(in)
		return in
	}
	for i := range r.Arsenal {
		a := &r.Arsenal[i]
		p, k := place(a.Pitcher, a.PitchType)
		at := side(a.Side)
		for m, limits := range [2][2]*float64{{a.WhiffLo, a.WhiffHi}, {a.WOBALo, a.WOBAHi}} {
			truth := truths[p][k][at][m]
			in := held(&s.rates[m][p%3], limits[0], limits[1], truth)
			if p%3 == 0 && farthest(truths, p, k, at, m) {
				s.extreme[m].Add(in)
			}
		}
	}
	for i := range r.Platoon {
		g := &r.Platoon[i]
		if g.PitchType == "" {
			continue
		}
		p, k := place(g.Pitcher, g.PitchType)
		m := slices.IndexFunc(outcome.Metrics, func(m outcome.Metric) bool { return m.Name == g.Outcome })
		truth := float64(outcome.Metrics[m].Sign) * (truths[p][k][1][m] - truths[p][k][0][m])
		held(&s.gaps[m][p%3], g.GapLo, g.GapHi, truth)
	}
	for i := range r.Pairs {
		x := &r.Pairs[i]
		p, a := place(x.Pitcher, x.TypeA)
		_, b := place(x.Pitcher, x.TypeB)
		m := slices.IndexFunc(outcome.Metrics, func(m outcome.Metric) bool { return m.Name == x.Outcome })
		at := side(x.Side)
		apart := x.Verdict == grade.ABetter
		s.pairs[m].Add(apart)
		if apart {
			s.wrong[m].Add(float64(outcome.Metrics[m].Sign)*(truths[p][a][at][m]-truths[p][b][at][m]) <= 0)
		}
	}
	return s
}

// farthest tells whether a pitcher's true rate is among the tenth farthest from the
// mean of his like.
func farthest(truths []gradeTruth, p, k, side, m int) bool {
	mean := 0.0
	for i := range truths {
		mean += truths[i][k][side][m] / float64(len(truths))
	}
	nearer := 0
	for i := range truths {
		if math.Abs(truths[i][k][side][m]-mean) < math.Abs(truths[p][k][side][m]-mean) {
			nearer++
		}
	}
	return 10*nearer >= 9*len(truths)
}

// grades grades many leagues whose true rates are known.
func grades(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var out []calibrate.Finding
	for k, d := range gradeDesigns {
		scores := make([]gradeScore, o.Sets(gradeSets))
		err := o.Each(ctx, len(scores), func(i int) error {
			r, truths, err := d.play(seed(o, gradeSeeds, k<<12+i))
			if err == nil {
				scores[i] = scoreGrades(r, truths)
			}
			return err
		})
		if err != nil {
			return nil, err
		}
		out = append(out, d.findings(scores)...)
	}
	return out, nil
}

// findings sums up leagues. Coverage is averaged over leagues, whose pitchers share a
// pool, so that its error is that of leagues.
func (d gradeDesign) findings(scores []gradeScore) []calibrate.Finding {
	honest := calibrate.Between(.92, .98)
	var out []calibrate.Finding
	mean := func(measure string, bar calibrate.Bar, of func(s *gradeScore) simulate.Share) {
		values := make([]float64, len(scores))
		for i := range scores {
			values[i] = of(&scores[i]).Rate()
		}
		f := calibrate.MeanFinding(d.String(), measure, values, bar, "")
		if d.spread == 0 && bar == honest {
			f.Bar = calibrate.AtLeast(.92)
			f = f.MovedFrom(honest, "bb18c5e", "all pitchers are alike in truth, so that an interval which holds one holds them all")
		}
		out = append(out, f)
	}
	for m, metric := range outcome.Metrics {
		for k, n := range gradeSizes {
			mean(fmt.Sprintf("%s held, %d events", metric.Title, n), honest, func(s *gradeScore) simulate.Share { return s.rates[m][k] })
		}
		for k, n := range gradeSizes {
			mean(fmt.Sprintf("platoon gap in %s held, %d events a side", metric.Title, n), honest, func(s *gradeScore) simulate.Share { return s.gaps[m][k] })
		}
		if d.spread > 0 {
			mean(fmt.Sprintf("%s held, 20 events, of the tenth of the pitchers farthest from the mean", metric.Title), calibrate.NoBar, func(s *gradeScore) simulate.Share { return s.extreme[m] })
		}
		var pairs, wrong simulate.Share
		for i := range scores {
			pairs, wrong = pairs.Plus(scores[i].pairs[m]), wrong.Plus(scores[i].wrong[m])
		}
		out = append(out, calibrate.ShareFinding(d.String(), "pairs told apart by "+metric.Title, pairs, calibrate.NoBar, ""))
		if wrong.Of > 0 {
			out = append(out, calibrate.ShareFinding(d.String(), "ranked the wrong way, of the pairs told apart by "+metric.Title, wrong, calibrate.AtMost(.05), ""))
		}
	}
	return out
}
