package grade

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// Rates of 70 groups of rats with a tumour (Tarone 1982, see the file): the spread
// averaged over is that of the maximum likelihood fit, a little wider since it is not
// known; limits hold that fit's.
func TestRats(t *testing.T) {
	raw, err := os.ReadFile("../../../testdata/vectors/beta_binomial_rats.json")
	if err != nil {
		t.Fatal(err)
	}
	var v struct {
		Y, N []float64
		ML   struct{ Mu, M float64 }
		Mean float64 `json:"posterior_mean_4_of_14_ml"`
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	var samples []sample
	for i := range v.Y {
		samples = append(samples, sample{v.N[i], v.Y[i], v.Y[i]})
	}
	p := newShares(samples)
	near(t, "mean", &p.mean, v.ML.Mu, .005)
	e := p.shrink(sample{n: 14, y: 4})
	near(t, "4 of 14", &e.X, v.Mean, .01)
	_, lo, hi := posterior(stats.BetaBinomial{Mu: v.ML.Mu, M: v.ML.M}, 4, 14)
	if !(e.Lo < lo+.005 && e.Hi > hi-.005 && e.Hi-e.Lo < 1.15*(hi-lo)) {
		t.Errorf("limits %g to %g, with the spread as known %g to %g", e.Lo, e.Hi, lo, hi)
	}
}

// posterior is the beta distribution of a rate given k successes of n, its mean and
// 95 % limits, where the spread is known.
func posterior(b stats.BetaBinomial, k, n float64) (mean, lo, hi float64) {
	d := distuv.Beta{Alpha: k + b.Mu*b.M, Beta: n - k + (1-b.Mu)*b.M}
	return d.Mean(), d.Quantile(.025), d.Quantile(.975)
}

// Of very many pitchers the spread is known, and the average is its beta posterior.
func TestManyShares(t *testing.T) {
	rng := rand.NewPCG(1, 2)
	law := distuv.Beta{Alpha: 12, Beta: 48, Src: rng}
	var samples []sample
	k, n := []int{}, []int{}
	for i := range 4000 {
		trials := 20 + i%100
		y := distuv.Binomial{N: float64(trials), P: law.Rand(), Src: rng}.Rand()
		samples = append(samples, sample{float64(trials), y, y})
		k, n = append(k, int(y)), append(n, trials)
	}
	fit, err := stats.FitBetaBinomial(k, n)
	if err != nil {
		t.Fatal(err)
	}
	p := newShares(samples)
	for _, c := range [][2]float64{{0, 12}, {5, 20}, {30, 100}, {400, 1000}} {
		e := p.shrink(sample{n: c[1], y: c[0]})
		mean, lo, hi := posterior(fit, c[0], c[1])
		near(t, "mean", &e.X, mean, .0015)
		near(t, "lo", &e.Lo, lo, .003)
		near(t, "hi", &e.Hi, hi, .003)
	}
}

// Where pitchers differ no more than chance, the maximum likelihood spread is none and
// its intervals are points; ours are not.
func TestNoSpread(t *testing.T) {
	var samples []sample
	for range 20 {
		samples = append(samples, sample{100, 20, 20})
	}
	e := newPool(outcome.Whiff, samples).shrink(sample{n: 100, y: 30})
	if !(e.Lo < .2 && e.Hi > .21 && e.X > .2 && e.X < .24) {
		t.Errorf("%+v", e)
	}
}

// With one spread as plausible a posterior is (k + μM)/(n + M), with a beta's variance
// and what μ's own adds: of 4 of 10 under μ = .2 and M = 50, 14/60 and
// (14/60)(46/60)/61 + (50/60)²·.0004.
func TestMixed(t *testing.T) {
	e := mixed([]share{{mu: .2, m: 50, muVar: .0004, weight: 1}}, 4, 10)
	near(t, "mean", &e.X, 14./60, 1e-12)
	near(t, "sd", &e.sd, math.Sqrt(14./60*46/60/61+.0004*25/36), 1e-12)
}

// The pools are of those with ten events, and need twelve of them who differ at all.
func TestPools(t *testing.T) {
	many := slices.Repeat([]sample{{20, 4, 4}}, 11)
	if newPool(outcome.Whiff, append(many, sample{9, 3, 3})) != nil {
		t.Error("a pool of eleven")
	}
	if p := newPool(outcome.Whiff, append(many, sample{10, 3, 3}, sample{9, 9, 9})); p == nil || p.pitchers != 12 {
		t.Error("no pool of twelve")
	}
	if newPool(outcome.Whiff, slices.Repeat([]sample{{20, 0, 0}}, 20)) != nil || newPool(outcome.WOBA, slices.Repeat([]sample{{20, 0, 0}}, 20)) != nil {
		t.Error("a pool without a whiff")
	}
}

// Σ(yy − y²/n)/Σ(n−1) of the values (0, 2) and (1, 1, 4): (2 + 6)/(1 + 2).
func TestWithinVariance(t *testing.T) {
	got := withinVariance([]sample{{2, 2, 4}, {3, 6, 18}})
	near(t, "variance", &got, 8./3, 1e-12)
}

// A mean of many events stays where it is; of ten it moves toward the pool's.
func TestMeans(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var samples []sample
	for range 100 {
		s, own := sample{}, .32+.03*rng.NormFloat64()
		for range 60 {
			y := 0.
			if rng.Float64() < own {
				y = 1
			}
			s.add(sample{1, y, y * y})
		}
		samples = append(samples, s)
	}
	p := newPool(outcome.WOBA, samples)
	near(t, "pool", &p.mean, .32, .02)
	few, lots := p.shrink(sample{n: 10, y: 5}), p.shrink(sample{n: 100000, y: 50000})
	if !(few.X < .36 && few.X > .32 && few.Hi-few.Lo > 4*(lots.Hi-lots.Lo)) || math.Abs(lots.X-.5) > .005 {
		t.Errorf("few %+v, lots %+v", few, lots)
	}
}

// Two pitches that differ by far are told apart, two that are near are not; the rank
// goes by the better outcome for the pitcher.
func TestPairs(t *testing.T) {
	whiffs := func(kind string, mean float64) candidate {
		return candidate{&Arsenal{Who: Who{PitchType: kind}}, &estimate{answer.Estimate{X: mean}, .02}}
	}
	a, b, c := whiffs("slider", .35), whiffs("four_seam", .2), whiffs("sinker", .19)
	rows := compare([]candidate{c, a, b}, outcome.Whiff)
	if len(rows) != 3 || a.row.WhiffRank != 1 || b.row.WhiffRank != 2 || c.row.WhiffRank != 3 ||
		!slices.Equal(a.row.WhiffBetter, []string{"four_seam", "sinker"}) || b.row.WhiffBetter != nil {
		t.Fatalf("%+v %+v %+v %+v", rows, a.row, b.row, c.row)
	}
	// z = .15/√(2·.02²) = 5.3033; .16 has 5.6569; .01 has .3536, p = .7237.
	near(t, "p", &rows[0].P, 2*distuv.UnitNormal.Survival(.15/(.02*math.Sqrt2)), 1e-15)
	near(t, "p of the near ones", &rows[2].P, .72367, 1e-5)
	near(t, "Holm", &rows[0].Holm, 2*rows[0].P, 1e-12)
	near(t, "lo", &rows[0].Lo, .15-1.959963985*.02*math.Sqrt2, 1e-9)
	if rows[0].Verdict != ABetter || rows[2].Verdict != NotToldApart || rows[2].TypeA != "four_seam" {
		t.Errorf("%+v", rows)
	}
	// By wOBA-against the lowest ranks first.
	compare([]candidate{c, a, b}, outcome.WOBA)
	if a.row.WOBARank != 3 || c.row.WOBARank != 1 || !slices.Equal(c.row.WOBABetter, []string{"slider"}) {
		t.Errorf("%+v %+v", a.row, c.row)
	}
}

// Three pairs with p of .03 alone are told apart by none after Holm's correction.
func TestHolm(t *testing.T) {
	of := func(mean, sd float64) candidate {
		return candidate{&Arsenal{}, &estimate{answer.Estimate{X: mean}, sd}}
	}
	for _, p := range compare([]candidate{of(.2, .02), of(.262, .02), of(.2001, .02)}, outcome.Whiff) {
		if p.Verdict != NotToldApart {
			t.Errorf("%+v", p)
		}
	}
}

// A ranking in which none is told apart says how near the clearest pair comes, after
// allowing for all of them.
func TestRankingTold(t *testing.T) {
	who := Who{Pitcher: "7", Hand: "left"}
	row := func(kind string, rank int64) Arsenal {
		w := who
		w.PitchType = kind
		return Arsenal{Who: w, Side: "left", WhiffRank: rank}
	}
	pair := func(a, b string, holm float64) Pair {
		return Pair{Pitcher: "7", Hand: "left", Side: "left", Outcome: "whiff_rate", TypeA: a, TypeB: b, Holm: holm, Verdict: NotToldApart}
	}
	strange := pair("slider", "sinker", .06)
	strange.Side = "right"
	rows := []Arsenal{row("slider", 1), row("sinker", 2), row("four_seam", 3)}
	pairs := []Pair{pair("slider", "sinker", .3), pair("slider", "four_seam", .09), pair("sinker", "four_seam", 1), strange}
	for _, c := range []struct {
		rows []Arsenal
		want string
	}{
		{rows, "no two of them can be told apart, p .090 or more after allowing for 3 comparisons."},
		{rows[:1], ""},
	} {
		if got := RankOf(c.rows, pairs, "left", "whiff_rate").Verdict; got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if got, want := RankOf(rows[:2], pairs[:1], "left", "whiff_rate").Verdict, "the two cannot be told apart, p .300."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	rows[0].WhiffBetter, pairs[1].Verdict = []string{"four_seam"}, ABetter
	if got, want := RankOf(rows, pairs, "left", "whiff_rate").Verdict,
		"the slider beats the four-seam. No other two can be told apart, p .300 or more after allowing for 3 comparisons."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// The gap is in the pitcher's favour: more whiffs, and less wOBA, against his own hand.
func TestGap(t *testing.T) {
	tw := twin{same: sample{20, 8, 8}, opposite: sample{10, 2, 2}}
	if tw.gap(1) != .2 || tw.gap(-1) != -.2 || !tw.enough() {
		t.Error(tw.gap(1))
	}
	y := yardstick(t)
	var rows []some
	for i := range 30 {
		rows = append(rows, some{i, pitch.LeftSide, pitch.FourSeam, 93, 200, 60, 10, 40}, some{i, pitch.RightSide, pitch.FourSeam, 93, 200, 40, 20, 30})
	}
	p := read(t, y, thrown(rows...))
	got := 0
	for _, g := range Grade(y, p, p).Platoon {
		want, verdict := .1, BetterSame
		if g.Outcome == "woba_against" {
			want = .18
		}
		got++
		near(t, g.Outcome, g.GapSeen, want, 1e-12)
		near(t, g.Outcome+" expected", g.Gap, want, 1e-6)
		if g.Verdict != verdict || g.Hand != "left" || g.PitchType != "" && g.PitchType != "four_seam" {
			t.Errorf("%+v", g)
		}
	}
	if got != 30*2*2 {
		t.Errorf("%d gaps", got)
	}
}
