package calibrate

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"

	"sill/pipeline/analysis/trial"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
	"sill/stats"
	"sill/stats/calibrate"
)

// trialSets is the full number of leagues in which a claim is tried, by design.
const trialSets = 500

// trialDesign is a small league of one pitch type in one matchup whose whiffs take
// a step at the claim's cutoff. Pitchers differ in velocity (SD 2 mph, .8 within),
// in skill (logit SD .25) and in work, batters in skill; none of these go together.
type trialDesign struct {
	pitchers int
	batters  float64 // logit SD between batters
	gain     float64 // of whiff rate at the step
}

func (d trialDesign) String() string {
	return fmt.Sprintf("%d pitchers, batters' logit SD %g, true gain %.3f", d.pitchers, d.batters, d.gain)
}

var trialDesigns = []trialDesign{
	{40, 0, 0}, {40, .35, 0}, {120, .2, 0},
	{40, 0, .02}, {40, .35, .02}, {120, .2, .02},
}

const (
	trialCutoff  = 93.
	trialLevel   = -1.3 // logit of a whiff below the cutoff
	trialSkill   = .25
	trialWithin  = .8 // SD of a pitcher's velocity, mph
	trialBatters = 200
)

// step is the jump in logit at which the whiff rate over all pitchers and batters
// rises by the gain: both are normal, so the rate is an integral over one normal.
func (d trialDesign) step() float64 {
	sd := math.Hypot(trialSkill, d.batters)
	rate := func(logit float64) float64 {
		return overNormal(.01, func(z float64) float64 { return logistic(logit + sd*z) })
	}
	return passes(0, 2, d.gain, func(step float64) float64 { return rate(trialLevel+step) - rate(trialLevel) })
}

// thrower is a pitcher of a league.
type thrower struct {
	speed, logit float64 // mean velocity, logit of a whiff below the cutoff
	swings       int
}

func (d trialDesign) pitcher(rng *rand.Rand) thrower {
	return thrower{trialCutoff + 2*rng.NormFloat64(), trialLevel + trialSkill*rng.NormFloat64(), work(rng, 75, 1.1, 5, 750)}
}

// play throws one league's swings and counts them.
func (d trialDesign) play(seed uint64) (*tally.Tally, error) {
	rng := rand.New(rand.NewPCG(seed, 44))
	skill, step := skills(rng, trialBatters, d.batters), d.step()
	var batch []pitch.Pitch
	for p := range d.pitchers {
		who := d.pitcher(rng)
		for range who.swings {
			t := swing(p, rng.IntN(trialBatters))
			x := who.speed + trialWithin*rng.NormFloat64()
			t.Num[pitch.Velocity] = x
			logit := who.logit + skill[t.Batter]
			if x >= trialCutoff {
				logit += step
			}
			if rng.Float64() < logistic(logit) {
				t.Outcome = pitch.SwingingStrike
			}
			batch = append(batch, t)
		}
	}
	return counted(numbers(d.pitchers, trialBatters), batch)
}

// try tries the claim in a league.
func (d trialDesign) try(seed uint64) (*trial.Trial, error) {
	counts, err := d.play(seed)
	if err != nil {
		return nil, err
	}
	claim := trial.Claim{Type: pitch.FourSeam, Hand: pitch.RightHand, Side: pitch.RightSide, Variable: "velocity",
		Region: trial.Region{Kind: trial.AtLeast, A: trialCutoff}, Smallest: .02}
	league := trial.League{Tally: counts, Scoring: outcome.Scoring{Weights: outcome.TheBook()}, Batters: true}
	return trial.Try([]trial.Claim{claim}, league), nil
}

// trials tries a claim whose truth is known in many small leagues.
var trials = study(trialSeeds, trialSets, trialDesigns)

func (d trialDesign) judge(_ context.Context, _ int, seed uint64, s calibrate.Scores) error {
	tried, err := d.try(seed)
	if err != nil {
		return err
	}
	r := &tried.Rows[0]
	if r.Advantage != nil {
		s.Hit("difference held", held(r.AdvantageLo, r.AdvantageHi, d.gain))
	}
	if r.WithinD != nil {
		s.Hit("difference within pitchers held", held(r.WithinLo, r.WithinHi, d.gain))
	}
	s.Hit("said to hold, where there is no gain", slices.Contains([]string{"holds", "holds_clearly", "real_but_small"}, r.Verdict))
	s.Hit("said not to hold or to be small, where the gain is the smallest of interest",
		slices.Contains([]string{"does_not_hold", "real_but_small"}, r.Verdict))
	return nil
}

func (d trialDesign) tell(t *calibrate.Sheet) {
	t.Share("difference held", calibrate.Between(.93, .98), ".94–.96")
	t.Share("difference within pitchers held", calibrate.Between(.93, .98), "")
	if d.gain == 0 {
		t.Share("said to hold, where there is no gain", calibrate.AtMost(.05), "")
	} else {
		t.Share("said not to hold or to be small, where the gain is the smallest of interest", calibrate.AtMost(.05), "")
	}
}

// needSets is the full number of leagues of a size in which it is asked what would
// settle a question.
const needSets = 200

// largestNeed is the largest number of pitchers at which an answer is tried out.
const largestNeed = 1500

// promised is the chance with which a stated number of pitchers promises to settle;
// the bar leaves room for a pattern that was seen larger than it is.
const promised = .70

// need is a question that some leagues leave open, saying how many pitchers would
// settle it.
type need struct {
	name   string
	design trialDesign
	// ask plays a league: whether the question is settled and, where it is open, how
	// many pitchers it is said to need, NaN where it says that none in reach would do.
	ask func(ctx context.Context, d trialDesign, seed uint64) (settled bool, pitchers float64, err error)
}

func needQuestions() []need {
	return []need{
		{"trial, no verdict yet", trialDesign{30, .2, .04}, trialNeed},
		{"trial, no verdict yet, faint", trialDesign{60, .2, .03}, trialNeed},
		{"inconclusive", trialDesign{30, .2, .04}, verdictNeed(locate.Inconclusive)},
		{"edge unresolved", trialDesign{60, .2, .05}, verdictNeed(locate.EdgeUnresolved)},
	}
}

// trialNeed tries the claim of the study of trials.
func trialNeed(_ context.Context, d trialDesign, seed uint64) (bool, float64, error) {
	tried, err := d.try(seed)
	if err != nil {
		return false, 0, err
	}
	if !tried.Unsettled() {
		return true, math.NaN(), nil
	}
	if n := tried.Rows[0].NeedPitcher; n != nil {
		return false, *n, nil
	}
	return false, math.NaN(), nil
}

// wouldSettle reads the number of pitchers out of what a verdict says.
var wouldSettle = regexp.MustCompile(`^if the .* is real, about (\d+) pitchers`)

// verdictNeed publishes a table and looks at the verdict on whiffs by velocity: a
// verdict leaves it open, and anything that says more settles it.
func verdictNeed(open string) func(context.Context, trialDesign, uint64) (bool, float64, error) {
	return func(ctx context.Context, d trialDesign, seed uint64) (bool, float64, error) {
		counts, err := d.play(seed)
		if err != nil {
			return false, 0, err
		}
		tables, err := publish(ctx, counts, seed)
		if err != nil {
			return false, 0, err
		}
		i := slices.IndexFunc(tables.Verdicts, func(v thresholds.Verdict) bool {
			return v.Variable == "velocity" && v.Outcome == outcome.Metrics[outcome.Whiff].Name &&
				v.Reference == estimate.TypeMedian && v.Stratum == ""
		})
		if i < 0 {
			return false, 0, fmt.Errorf("no verdict on whiffs by velocity")
		}
		v := &tables.Verdicts[i]
		settled := v.Verdict == locate.Found || open == locate.Inconclusive && v.Verdict == locate.EdgeUnresolved
		if m := wouldSettle.FindStringSubmatch(v.Settle); m != nil && v.Verdict == open {
			n, err := strconv.ParseFloat(m[1], 64)
			return false, n, err
		}
		return settled, math.NaN(), nil
	}
}

// needs asks leagues what would settle an open question, and tries the median answer
// out in leagues of that size.
func needs(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	const now, then, pitchers = "settled at once", "settled with as many pitchers", "pitchers stated, median"
	var out []calibrate.Finding
	for k, n := range needQuestions() {
		first := 0
		ask := func(d trialDesign, settled string) (*calibrate.Sheet, error) {
			r, err := o.Gather(ctx, needSets, func(i int, s calibrate.Scores) error {
				yes, stated, err := n.ask(ctx, d, seed(o, needSeeds, k<<12+first+i))
				s.Hit(settled, yes)
				if !math.IsNaN(stated) {
					s.Value(pitchers, stated)
				}
				return err
			})
			first += len(r)
			return r.Sheet(n.name + ", " + n.design.String()), err
		}
		t, err := ask(n.design, now)
		if err != nil {
			return nil, err
		}
		stated, settled := t.Values(pitchers), t.Total(now)
		t.Share(now, calibrate.NoBar, "")
		t.Add(calibrate.ShareFinding(t.Design, "a number of pitchers is stated, of those left open",
			calibrate.Share{Hits: len(stated), Of: settled.Of - settled.Hits}, calibrate.NoBar, ""))
		if len(stated) > 0 {
			larger := n.design
			larger.pitchers = int(min(largestNeed, math.Round(t.Median(pitchers).Value)))
			u, err := ask(larger, then)
			if err != nil {
				return nil, err
			}
			t.Add(*u.Share(then, calibrate.AtLeast(promised), ""))
		}
		out = append(out, t.Findings...)
	}
	return out, nil
}

// lineSets is the full number of leagues whose lines are held against the truth, by
// design.
const lineSets = 600

// lineDesign is a league of the study of trials with its true lines: what an endless
// number of pitchers like those of the league would show.
type lineDesign struct {
	trialDesign
	median, rate float64 // of those who qualify, and of all pitches
}

var lineDesigns = []trialDesign{{25, .2, .02}, {60, .2, .02}, {120, 0, .02}, {120, .35, .02}}

// lines holds the intervals of the lines that are published against the truth.
func lines(ctx context.Context, o calibrate.Options) ([]calibrate.Finding, error) {
	var designs []lineDesign
	for k, d := range lineDesigns {
		designs = append(designs, d.lines(seed(o, lineSeeds, k<<12)))
	}
	return study(lineSeeds, lineSets, designs)(ctx, o)
}

// lines works out the true lines. A pitcher's whiffs are binomial in his own rate over
// batters and velocities; 400,000 pitchers are drawn (error of the median about .0001).
func (d trialDesign) lines(seed uint64) lineDesign {
	rng := rand.New(rand.NewPCG(seed, 53))
	step, qualify := d.step(), outcome.Metrics[outcome.Whiff].QualifyEvents
	type node struct{ z, weight float64 }
	var nodes []node // of a normal distribution of batters
	total := 0.0
	for z := -4.; z <= 4; z += .5 {
		nodes = append(nodes, node{z, math.Exp(-z * z / 2)})
		total += math.Exp(-z * z / 2)
	}
	var rates []float64
	var whiffs, swings float64
	for range 400_000 {
		p := d.pitcher(rng)
		fast := .5 * math.Erfc((trialCutoff-p.speed)/trialWithin/math.Sqrt2)
		own := 0.0
		for _, n := range nodes {
			at := p.logit + d.batters*n.z
			own += n.weight / total * ((1-fast)*logistic(at) + fast*logistic(at+step))
		}
		whiffs, swings = whiffs+own*float64(p.swings), swings+float64(p.swings)
		if p.swings < qualify {
			continue
		}
		y := 0
		for range p.swings {
			if rng.Float64() < own {
				y++
			}
		}
		rates = append(rates, float64(y)/float64(p.swings))
	}
	slices.Sort(rates)
	return lineDesign{d, stats.Quantile(rates, .5), whiffs / swings}
}

func (d lineDesign) judge(ctx context.Context, _ int, seed uint64, s calibrate.Scores) error {
	counts, err := d.play(seed + 1) // the truth has the first
	if err != nil {
		return err
	}
	e, _ := settings(seed + 1)
	est, err := estimate.New(ctx, counts, e)
	if err != nil {
		return err
	}
	for _, l := range est.Lines() {
		switch {
		case l.Metric != outcome.Whiff || l.Stratum != "":
		case l.Name == estimate.TypeMedian:
			s.Hit("line held, "+l.Name, held(&l.Lo, &l.Hi, d.median))
			s.Value("median line less the true one", l.Value-d.median)
		case l.Name == estimate.TypeRate:
			s.Hit("line held, "+l.Name, held(&l.Lo, &l.Hi, d.rate))
		}
	}
	return nil
}

func (d lineDesign) tell(t *calibrate.Sheet) {
	t.Share("line held, "+estimate.TypeMedian, calibrate.AtLeast(.92), ".923–.954")
	t.Share("line held, "+estimate.TypeRate, calibrate.AtLeast(.92), ".923–.954")
	t.Mean("median line less the true one", calibrate.Between(-.0015, .0015), "≤ .0010")
}
