package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"sill/pipeline/analysis/grade"
	"sill/pipeline/analysis/opponents"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats/calibrate"
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
	skill := skills(rng, gradeBatters, d.batters)
	worth, weights := 0.0, outcome.TheBook()
	for _, h := range gradeHits {
		worth += h.share * weights.Value[h.class]
	}
	nothing := &grade.Yardstick{Name: "none"}
	reader, _ := nothing.Read(nil, 1)
	truths := make([]gradeTruth, d.pitchers)
	var batch []pitch.Pitch
	for p := range d.pitchers {
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
					t := swing(p, -1)
					t.Type, t.Side = kind.kind, []pitch.Side{pitch.LeftSide, pitch.RightSide}[side]
					if rng.Float64() < logistic(logits[0]+skill[rng.IntN(gradeBatters)]) {
						t.Outcome = pitch.SwingingStrike
					}
					batch = append(batch, t)
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
	pop, err := reader.Population("graded", numbers(d.pitchers, 0).Pitchers, outcome.Scoring{Weights: weights})
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

// The measures of grades, by outcome; of rates and gaps also by events, a side.
func rateHeld(m, n int) string { return fmt.Sprintf("%s held, %d events", outcome.Metrics[m].Title, n) }
func gapHeld(m, n int) string {
	return fmt.Sprintf("platoon gap in %s held, %d events a side", outcome.Metrics[m].Title, n)
}
func extremeHeld(m int) string {
	return fmt.Sprintf("%s held, 20 events, of the tenth of the pitchers farthest from the mean", outcome.Metrics[m].Title)
}
func toldApart(m int) string { return "pairs told apart by " + outcome.Metrics[m].Title }
func wrongWay(m int) string {
	return "ranked the wrong way, of the pairs told apart by " + outcome.Metrics[m].Title
}

// grades grades many leagues whose true rates are known.
var grades = study(gradeSeeds, gradeSets, gradeDesigns)

func (d gradeDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	r, truths, err := d.play(seed)
	if err != nil {
		return err
	}
	place := func(pitcher, kind string) (p, k int) {
		_, _ = fmt.Sscanf(pitcher, "p%d", &p)
		for gradeTypes[k].kind.String() != kind {
			k++
		}
		return p, k
	}
	side := map[string]int{"left": 0, "right": 1}
	metric := func(name string) int {
		return slices.IndexFunc(outcome.Metrics, func(m outcome.Metric) bool { return m.Name == name })
	}
	for i := range r.Arsenal {
		a := &r.Arsenal[i]
		p, k := place(a.Pitcher, a.PitchType)
		for m, limits := range [2][2]*float64{{a.WhiffLo, a.WhiffHi}, {a.WOBALo, a.WOBAHi}} {
			in := limits[0] != nil && held(limits[0], limits[1], truths[p][k][side[a.Side]][m])
			if limits[0] != nil {
				s.Hit(rateHeld(m, gradeSizes[p%3]), in)
			}
			if p%3 == 0 && farthest(truths, p, k, side[a.Side], m) {
				s.Hit(extremeHeld(m), in)
			}
		}
	}
	for i := range r.Platoon {
		g := &r.Platoon[i]
		if g.PitchType == "" || g.GapLo == nil {
			continue
		}
		p, k := place(g.Pitcher, g.PitchType)
		m := metric(g.Outcome)
		s.Hit(gapHeld(m, gradeSizes[p%3]), held(g.GapLo, g.GapHi, sign(g.Outcome)*(truths[p][k][1][m]-truths[p][k][0][m])))
	}
	for i := range r.Pairs {
		x := &r.Pairs[i]
		p, a := place(x.Pitcher, x.TypeA)
		_, b := place(x.Pitcher, x.TypeB)
		m, at := metric(x.Outcome), side[x.Side]
		apart := x.Verdict == grade.ABetter
		if s.Hit(toldApart(m), apart); apart {
			s.Hit(wrongWay(m), sign(x.Outcome)*(truths[p][a][at][m]-truths[p][b][at][m]) <= 0)
		}
	}
	return nil
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

// tell averages coverage over leagues, whose pitchers share a pool, so that its error
// is that of leagues.
func (d gradeDesign) tell(t *calibrate.Sheet) {
	covered := func(measure string) {
		f := t.Rates(measure, honest, "")
		if d.spread == 0 {
			f.Bar = calibrate.AtLeast(.92)
			*f = f.MovedFrom(honest, "bb18c5e", "all pitchers are alike in truth, so that an interval which holds one holds them all")
		}
	}
	for m := range outcome.Metrics {
		for _, n := range gradeSizes {
			covered(rateHeld(m, n))
		}
		for _, n := range gradeSizes {
			covered(gapHeld(m, n))
		}
		if d.spread > 0 {
			t.Rates(extremeHeld(m), calibrate.NoBar, "")
		}
		t.Share(toldApart(m), calibrate.NoBar, "")
		if t.Total(wrongWay(m)).Of > 0 {
			t.Share(wrongWay(m), calibrate.AtMost(.05), "")
		}
	}
}

// facedSets is the full number of leagues in which opponents are judged, by design.
const facedSets = 800

// facedDesign is a league of one matchup: two thirds of the events on four-seamers,
// which batters face by chance, a third on sliders, of which a share (favour) goes
// to the third of the batters who are best. Pitchers differ in skill and in work,
// some throw sliders to the best more than others, batters differ in skill and
// playing time, and the better play more.
type facedDesign struct {
	metric   int
	pitchers int
	batters  int
	events   int     // of a pitcher, about
	skill    float64 // SD between batters of the probability
	favour   float64
}

func (d facedDesign) String() string {
	return fmt.Sprintf("%s, %d pitchers of about %d events, %d batters of SD %.3f, %.0f %% of sliders to the best", outcome.Metrics[d.metric].Title,
		d.pitchers, d.events, d.batters, d.skill, 100*d.favour)
}

var facedDesigns = []facedDesign{
	{outcome.Whiff, 60, 120, 300, .05, 0}, {outcome.Whiff, 60, 120, 300, .05, .4},
	{outcome.WOBA, 60, 120, 150, .04, 0}, {outcome.WOBA, 60, 120, 150, .04, .4},
	{outcome.Whiff, 25, 60, 120, .05, .4},
}

// play throws one league's events; it returns the true difference of the batters
// who face sliders from the league's.
func (d facedDesign) play(seed uint64) (pairs []opponents.Pair, truth float64, err error) {
	rng := rand.New(rand.NewPCG(seed, 46))
	skill, playing := skills(rng, d.batters, d.skill), make([]float64, d.batters)
	slices.SortFunc(skill, func(a, b float64) int { // the best first: those who miss least, or hit most
		if (a < b) == (d.metric == outcome.Whiff) {
			return -1
		}
		return 1
	})
	for b := range playing {
		playing[b] = math.Exp(.5*rng.NormFloat64() - .6*float64(b)/float64(d.batters))
	}
	best := d.batters / 3
	mean := func(to int) float64 {
		var n, s float64
		for b := range to {
			n, s = n+playing[b], s+playing[b]*skill[b]
		}
		return s / n
	}
	pick := func(to int) int32 {
		total := 0.0
		for _, w := range playing[:to] {
			total += w
		}
		u := total * rng.Float64()
		for b, w := range playing[:to] {
			if u -= w; u < 0 {
				return int32(b)
			}
		}
		return int32(to - 1)
	}
	c := opponents.NewCounter(1)
	for p := range d.pitchers {
		own, spread := .03*rng.NormFloat64(), 0.0
		if d.favour > 0 {
			spread = .15 * rng.NormFloat64()
		}
		for range int(float64(d.events) * min(max(math.Exp(.6*rng.NormFloat64()), .2), 3)) {
			t := pitch.Pitch{Pitcher: int32(p), Hand: pitch.RightHand, Side: pitch.LeftSide, Type: pitch.FourSeam, Outcome: pitch.Foul}
			rate, to := .3, d.batters
			if rng.IntN(3) == 0 {
				t.Type, rate = pitch.Slider, .38
				if rng.Float64() < d.favour+spread {
					to = best
				}
			}
			t.Batter = pick(to)
			hit := rng.Float64() < rate+own+skill[t.Batter]
			switch {
			case d.metric == outcome.Whiff && hit:
				t.Outcome = pitch.SwingingStrike
			case d.metric == outcome.WOBA && hit:
				t.Outcome, t.Result = pitch.InPlay, pitch.Single
			case d.metric == outcome.WOBA:
				t.Outcome, t.Result = pitch.InPlay, pitch.Out
			}
			if err := c.Add(0, []pitch.Pitch{t}); err != nil {
				return nil, 0, err
			}
		}
	}
	worth := 1.0
	if d.metric == outcome.WOBA {
		worth = outcome.TheBook().Value[outcome.Single]
	}
	return c.Pairs(), worth * d.favour * (mean(best) - mean(d.batters)) * 2 / 3, nil
}

// faced judges opponents whose difference is known.
var faced = study(facedSeeds, facedSets, facedDesigns)

func (d facedDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	scoring := outcome.Scoring{Weights: outcome.TheBook()}
	pairs, truth, err := d.play(seed)
	if err != nil {
		return err
	}
	for _, f := range opponents.Measure(pairs, &scoring, d.pitchers, d.batters) {
		if f.Type == pitch.Slider && f.Metric == d.metric {
			s.Hit("difference held", held(&f.Lo, &f.Hi, truth))
			s.Value("bias of the difference", f.Difference-truth)
			s.Hit("warned of", f.Clear())
		}
	}
	return nil
}

func (d facedDesign) tell(t *calibrate.Sheet) {
	warned := calibrate.NoBar
	if d.favour == 0 {
		warned = calibrate.AtMost(.02)
	}
	t.Share("difference held", honest, "")
	t.Mean("bias of the difference", calibrate.Between(-.0015, .0015), "")
	t.Share("warned of", warned, "")
}
