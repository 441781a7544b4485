package grade

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats"
)

// estimate is what is known of one pitcher's true rate, or of a difference of his
// rates: a mean drawn toward the pool's, the standard deviation of what is still
// unknown, and 95 % limits.
type estimate struct {
	answer.Estimate
	sd float64
}

// normally is an estimate of normal error.
func normally(mean, sd float64) estimate {
	return estimate{answer.Normal(stats.Normal{Mean: mean, SD: sd}), sd}
}

// pool says how the true rates of like pitchers, or the differences of their rates,
// are spread; what of a pitcher it is told by is T.
type pool[T any] struct {
	pitchers int
	mean     float64
	shrink   func(T) estimate
}

// normal is the quantile of 95 % intervals.
const normal = 1.959963984540054

// sample is one pitcher's events: number, sum and sum of squares of their values.
type sample struct{ n, y, yy float64 }

func (s *sample) add(o sample) {
	s.n += o.n
	s.y += o.y
	s.yy += o.yy
}

// ofOutcome are the events of one outcome.
func (o *own) ofOutcome(metric int, s *outcome.Scoring) sample {
	n, y, yy := o.counts.Values(metric, s)
	return sample{float64(n), y, yy}
}

// newPool fits the pool of one outcome to its pitchers with enough events; nil where
// these are too few, or their values do not differ at all.
func newPool(metric int, samples []sample) *pool[sample] {
	var enough []sample
	total := sample{}
	for _, s := range samples {
		if s.n >= minEvents {
			enough = append(enough, s)
			total.add(s)
		}
	}
	if len(enough) < minPool || float64(total.yy*total.n) <= float64(total.y*total.y) {
		return nil
	}
	if outcome.Metrics[metric].Proportion {
		return newShares(enough)
	}
	return newMeans(enough)
}

// newMeans spreads true means normally. A pitcher's sampling variance is that of one
// event about its pitcher's mean, pooled, over his events.
func newMeans(samples []sample) *pool[sample] {
	s2 := withinVariance(samples)
	return newNormal(samples, func(s sample) (y, v float64) { return s.y / s.n, s2 / s.n })
}

// newNormal spreads true values normally (stats.FitNormalNormal): of is a pitcher's
// value and its sampling variance.
func newNormal[T any](list []T, of func(T) (y, v float64)) *pool[T] {
	y, v := make([]float64, len(list)), make([]float64, len(list))
	for i := range list {
		y[i], v[i] = of(list[i])
	}
	m, err := stats.FitNormalNormal(y, v)
	if err != nil {
		return nil
	}
	return &pool[T]{len(list), m.Mu, func(t T) estimate { return normally(m.Shrink(of(t))) }}
}

// withinVariance is Σ(yy − y²/n)/Σ(n − 1).
func withinVariance(samples []sample) float64 {
	ss, df := 0.0, 0.0
	for _, s := range samples {
		ss += s.yy - float64(s.y*s.y)/s.n
		df += s.n - 1
	}
	return ss / df
}

// share is one plausible spread of true shares: a beta distribution of mean mu that
// weighs like m events, mu's sampling variance, and how plausible it is.
type share struct{ mu, m, muVar, weight float64 }

// shares is how many spreads are tried.
const shares = 256

// newShares spreads true shares by a beta distribution and averages over how wide it
// may be, as stats.FitNormalNormal does: with φ = 1/M as known, intervals are too
// narrow where few pitchers tell it, and have no width at all where its estimate
// is 0. Under each φ, tried evenly in ρ = φ/(1+φ), the share of the variance that lies
// between pitchers, the mean is
//
//	μ = Σwk/n / Σw,  w = n/(1 + (n−1)ρ),  Var μ = μ(1−μ)/Σw
//
// and the weight is the beta-binomial likelihood times √Var μ. A pitcher's posterior
// is a mixture of betas; its limits are those of the beta of the same mean and
// variance.
func newShares(samples []sample) *pool[sample] {
	k, n := make([]int, len(samples)), make([]int, len(samples))
	events := 0.0
	for i, s := range samples {
		k[i], n[i] = int(s.y), int(s.n)
		events += s.n
	}
	best, err := stats.FitBetaBinomial(k, n)
	if err != nil {
		return nil
	}
	// φ = scale·u/(1−u): scale is as large as φ itself, or as one can be missed.
	scale := float64(len(samples)) / events
	if best.M > 0 {
		scale += 1 / best.M
	}
	nodes, most := make([]share, shares), math.Inf(-1)
	for i := range nodes {
		u := (float64(i) + .5) / shares
		phi := scale * u / (1 - u)
		rho := phi / (1 + phi)
		w, wy := 0.0, 0.0
		for _, s := range samples {
			of := s.n / (1 + float64((s.n-1)*rho))
			w += of
			wy += float64(of * s.y / s.n)
		}
		at := share{mu: wy / w, m: 1 / phi}
		at.muVar = at.mu * (1 - at.mu) / w
		at.weight = betaBinomial(samples, at.mu, at.m) + math.Log(at.muVar)/2 - 2*math.Log(1+phi) - 2*math.Log(1-u)
		most = max(most, at.weight)
		nodes[i] = at
	}
	total, mean := 0.0, 0.0
	for i := range nodes {
		nodes[i].weight = math.Exp(nodes[i].weight - most)
		total += nodes[i].weight
	}
	for i := range nodes {
		nodes[i].weight /= total
		mean += float64(nodes[i].weight * nodes[i].mu)
	}
	return &pool[sample]{len(samples), mean, func(s sample) estimate { return mixed(nodes, s.y, s.n) }}
}

// betaBinomial is Σ log B(k+α, n−k+β)/B(α, β) with α = μM and β = (1−μ)M.
func betaBinomial(samples []sample, mu, m float64) float64 {
	a, b := mu*m, (1-mu)*m
	at := logBeta(a, b)
	sum := 0.0
	for _, s := range samples {
		sum += logBeta(s.y+a, s.n-s.y+b) - at
	}
	return sum
}

func logBeta(a, b float64) float64 {
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	return la + lb - lab
}

// mixed averages a pitcher's posteriors over the plausible spreads.
func mixed(nodes []share, y, n float64) estimate {
	given := func(s *share) (mean, variance float64) {
		b := s.m / (n + s.m)
		mean = float64(b*s.mu) + float64((1-b)*y/n)
		return mean, mean*(1-mean)/(n+s.m+1) + float64(b*b*s.muVar)
	}
	at, variance := 0.0, 0.0
	for i := range nodes {
		mean, _ := given(&nodes[i])
		at += float64(nodes[i].weight * mean)
	}
	for i := range nodes {
		mean, v := given(&nodes[i])
		variance += float64(nodes[i].weight * (v + float64((mean-at)*(mean-at))))
	}
	size := at*(1-at)/variance - 1
	law := distuv.Beta{Alpha: at * size, Beta: (1 - at) * size}
	return estimate{answer.Estimate{X: at, Lo: law.Quantile(.025), Hi: law.Quantile(.975)}, math.Sqrt(variance)}
}

// twin is one pitcher's events against batters of his own hand and of the other.
type twin struct{ same, opposite sample }

// gap is the difference in the pitcher's favour, same side less opposite.
func (t *twin) gap(sign float64) float64 {
	return sign * (t.same.y/t.same.n - t.opposite.y/t.opposite.n)
}

func (t *twin) enough() bool { return min(t.same.n, t.opposite.n) >= minEvents }

// newGaps spreads true gaps normally; the sampling variance of one event is pooled on
// each side.
func newGaps(sign float64, twins []twin) *pool[twin] {
	var enough []twin
	var same, opposite []sample
	for _, t := range twins {
		if t.enough() {
			enough = append(enough, t)
			same, opposite = append(same, t.same), append(opposite, t.opposite)
		}
	}
	if len(enough) < minPool {
		return nil
	}
	s2, o2 := withinVariance(same), withinVariance(opposite)
	if !(s2 > 0 && o2 > 0) {
		return nil
	}
	return newNormal(enough, func(t twin) (y, v float64) { return t.gap(sign), s2/t.same.n + o2/t.opposite.n })
}

// pools are those of a population: rates by cell and outcome, gaps by hand, type
// (UnknownType for all together) and outcome.
type pools struct {
	rates map[answer.Cell][outcomes]*pool[sample]
	gaps  map[gapKey]*pool[twin]
	twins map[key]*[outcomes]twin
}

type gapKey struct {
	hand    pitch.Hand
	kind    pitch.Type
	outcome int
}

func newPools(p *Population) *pools {
	out := &pools{map[answer.Cell][outcomes]*pool[sample]{}, map[gapKey]*pool[twin]{}, map[key]*[outcomes]twin{}}
	samples := map[answer.Cell]*[outcomes][]sample{}
	for _, k := range sorted(p.owns) {
		o := p.owns[k]
		c := k.Cell
		if samples[c] == nil {
			samples[c] = &[outcomes][]sample{}
		}
		same := k.Matchup().Same()
		for m := range outcomes {
			s := o.ofOutcome(m, &p.Scoring)
			if s.n == 0 {
				continue
			}
			samples[c][m] = append(samples[c][m], s)
			for _, kind := range []pitch.Type{k.Type, pitch.UnknownType} {
				at := key{k.pitcher, answer.Cell{Hand: k.Hand, Type: kind}}
				if out.twins[at] == nil {
					out.twins[at] = &[outcomes]twin{}
				}
				if same {
					out.twins[at][m].same.add(s)
				} else {
					out.twins[at][m].opposite.add(s)
				}
			}
		}
	}
	for c, by := range samples {
		out.rates[c] = [outcomes]*pool[sample]{newPool(outcome.Whiff, by[outcome.Whiff]), newPool(outcome.WOBA, by[outcome.WOBA])}
	}
	byGap := map[gapKey][]twin{}
	for _, at := range sorted(out.twins) {
		for m, t := range out.twins[at] {
			k := gapKey{at.Hand, at.Type, m}
			byGap[k] = append(byGap[k], t)
		}
	}
	for k, twins := range byGap {
		out.gaps[k] = newGaps(float64(outcome.Metrics[k.outcome].Sign), twins)
	}
	return out
}
