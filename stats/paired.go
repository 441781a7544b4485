package stats

import "math"

// Paired says how the true values of clusters are spread that are measured twice,
// before and after: each end is the mean of its end, plus a part of the cluster's
// own that stays (variance Stays), plus one that is new at each end (variance New).
// All normal, in the units of y.
type Paired struct {
	Before, After float64 // means of the true values
	Stays, New    float64 // variances, averaged over the plausible ones
	// Shift is After − Before, what the clusters have in common.
	Shift Normal

	nodes []pairing
}

// Normal is a mean with the standard deviation of what is still unknown.
type Normal struct{ Mean, SD float64 }

// Limits are those of the central 95 %.
func (n Normal) Limits() (lo, hi float64) {
	const z = 1.959963984540054
	return n.Mean - float64(z*n.SD), n.Mean + float64(z*n.SD)
}

// pairing is one plausible pair of variances: its posterior weight, and the means
// of both ends under it with their covariance.
type pairing struct {
	stays, new, weight float64
	mu                 [2]float64
	muCov              sym
}

// sym is a symmetric 2×2 matrix.
type sym struct{ aa, ab, bb float64 }

func (m sym) det() float64 { return float64(m.aa*m.bb) - float64(m.ab*m.ab) }

func (m sym) inverse() sym {
	d := m.det()
	return sym{m.bb / d, -m.ab / d, m.aa / d}
}

// pairings is how many values of each variance are tried: the posterior of a
// variance is about √(2/G) wide, relative to it, and shrinking is insensitive to
// less than that.
const pairings = 24

// FitPaired takes the spread of clusters from an estimate before and after, with
// independent sampling variances. Everything is averaged over pairs of variances by
// their restricted likelihood, under priors flat in the standard deviations (flat in
// the variances, intervals hold too much: .98 for .97 with few events), so that a
// variance of change that seems to be 0 by chance makes no interval of no width.
//
// Shrinking both ends jointly removes regression to the mean: a cluster that was lucky
// before is drawn toward the mean of all there, and toward its own value after. Drawing
// each end toward the mean alone would ignore that a cluster stays itself.
//
// Panics on lengths that differ or a variance that is not positive and finite; the
// error is ErrNoConvergence for fewer than four clusters.
//
// Source: Patterson & Thompson 1971, Biometrika 58:545 (restricted likelihood);
// Efron & Morris 1973, JASA 68:117 (shrinking); Gelman 2006, Bayesian Analysis 1:515
// (flat in the standard deviation). From memory.
func FitPaired(y, variance [][2]float64) (Paired, error) {
	if len(y) != len(variance) {
		panic("stats: FitPaired needs one pair of variances per pair of values")
	}
	for _, v := range variance {
		if !(v[0] > 0 && v[1] > 0) || math.IsInf(v[0]+v[1], 1) {
			panic("stats: FitPaired needs positive finite variances")
		}
	}
	if len(y) < 4 {
		return Paired{}, ErrNoConvergence
	}
	scaleStays, scaleNew := pairedScales(y, variance)
	var m Paired
	most := math.Inf(-1)
	for i := range pairings {
		for k := range pairings {
			u, w := (float64(i)+.5)/pairings, (float64(k)+.5)/pairings
			p := pairingAt(y, variance, scaleStays*u/(1-u), scaleNew*w/(1-w))
			// Flat in the standard deviations, not in u and w: dσ ∝ du/(√u·(1−u)^1.5).
			p.weight -= float64(math.Log(u)+3*math.Log(1-u))/2 + float64(math.Log(w)+3*math.Log(1-w))/2
			most = max(most, p.weight)
			m.nodes = append(m.nodes, p)
		}
	}
	const negligible = 1e-9
	total, kept := 0.0, m.nodes[:0]
	for _, p := range m.nodes {
		if p.weight = math.Exp(p.weight - most); p.weight > negligible {
			total += p.weight
			kept = append(kept, p)
		}
	}
	m.nodes = kept
	var shift mixture
	for i := range m.nodes {
		p := &m.nodes[i]
		p.weight /= total
		m.Before += float64(p.weight * p.mu[0])
		m.After += float64(p.weight * p.mu[1])
		m.Stays += float64(p.weight * p.stays)
		m.New += float64(p.weight * p.new)
		shift.add(p.weight, p.mu[1]-p.mu[0], p.muCov.aa+p.muCov.bb-2*p.muCov.ab)
	}
	m.Shift = shift.normal()
	return m, nil
}

// pairedScales are rough sizes of both variances: moments, with the sampling
// variance added so that neither is 0.
func pairedScales(y, variance [][2]float64) (stays, fresh float64) {
	n := float64(len(y))
	var meanA, meanB, inverse float64
	for i, v := range variance {
		meanA += y[i][0] / n
		meanB += y[i][1] / n
		inverse += 1 / (v[0] + v[1])
	}
	sampling := n / inverse
	var product, square, noise float64
	for i, v := range variance {
		a, b := y[i][0]-meanA, y[i][1]-meanB
		product += float64(a*b) / (n - 1)
		square += float64((b-a)*(b-a)) / (n - 1)
		noise += (v[0] + v[1]) / n
	}
	return max(0, product) + sampling, max(0, square-noise)/2 + sampling
}

// pairingAt evaluates one pair of variances; weight is the logarithm of the
// restricted likelihood.
func pairingAt(y, variance [][2]float64, stays, fresh float64) pairing {
	var info sym
	var wa, wb, logs float64
	for i, v := range variance {
		total := sym{stays + fresh + v[0], stays, stays + fresh + v[1]}
		w := total.inverse()
		info = sym{info.aa + w.aa, info.ab + w.ab, info.bb + w.bb}
		wa += float64(w.aa*y[i][0]) + float64(w.ab*y[i][1])
		wb += float64(w.ab*y[i][0]) + float64(w.bb*y[i][1])
		logs += math.Log(total.det())
	}
	p := pairing{stays: stays, new: fresh, muCov: info.inverse()}
	p.mu[0] = float64(p.muCov.aa*wa) + float64(p.muCov.ab*wb)
	p.mu[1] = float64(p.muCov.ab*wa) + float64(p.muCov.bb*wb)
	p.weight = -logs/2 - math.Log(info.det())/2
	for i, v := range variance {
		w := sym{stays + fresh + v[0], stays, stays + fresh + v[1]}.inverse()
		a, b := y[i][0]-p.mu[0], y[i][1]-p.mu[1]
		p.weight -= (float64(w.aa*a*a) + float64(2*w.ab*a*b) + float64(w.bb*b*b)) / 2
	}
	return p
}

// mixture adds up means and variances under several pairs of variances.
type mixture struct{ mean, square float64 }

func (m *mixture) add(weight, mean, variance float64) {
	m.mean += float64(weight * mean)
	m.square += float64(weight * (variance + float64(mean*mean)))
}

func (m *mixture) normal() Normal {
	return Normal{m.mean, math.Sqrt(max(0, m.square-float64(m.mean*m.mean)))}
}

// PairedShrunk is what is known of one cluster.
type PairedShrunk struct {
	Before, After Normal
	Change        Normal // After − Before
	Own           Normal // Change less what the clusters have in common
}

// Shrink returns what is known of a cluster's true values given its estimates and
// their sampling variances, all averaged over the plausible variances.
func (m Paired) Shrink(y, variance [2]float64) PairedShrunk { return m.shrink(y, variance, 1) }

// ShrinkApart is Shrink of a cluster that is known to have become another one: each
// end is drawn toward the mean of all there and neither toward the other. Where it
// did stay itself its interval is wider than need be.
func (m Paired) ShrinkApart(y, variance [2]float64) PairedShrunk { return m.shrink(y, variance, 0) }

// shrink takes tie of what stays in a cluster for common to both its ends.
func (m Paired) shrink(y, variance [2]float64, tie float64) PairedShrunk {
	var before, after, change, own mixture // but own about y, so that squares stay small
	for _, p := range m.nodes {
		c := sym{p.stays + p.new, tie * p.stays, p.stays + p.new}
		w := sym{c.aa + variance[0], c.ab, c.bb + variance[1]}.inverse()
		// k = c·w is what of a cluster's distance from the mean is taken for real
		kaa, kab := float64(c.aa*w.aa)+float64(c.ab*w.ab), float64(c.aa*w.ab)+float64(c.ab*w.bb)
		kba, kbb := float64(c.ab*w.aa)+float64(c.bb*w.ab), float64(c.ab*w.ab)+float64(c.bb*w.bb)
		da, db := y[0]-p.mu[0], y[1]-p.mu[1]
		a, b := float64(kaa*da)+float64(kab*db), float64(kba*da)+float64(kbb*db)
		left := sym{
			c.aa - float64(kaa*c.aa) - float64(kab*c.ab),
			c.ab - float64(kaa*c.ab) - float64(kab*c.bb),
			c.bb - float64(kba*c.ab) - float64(kbb*c.bb),
		}
		// of the mean's error, the part (1 − k) stays in an end, and k in what is own
		along := func(x, z float64) float64 { // variance of x·μ_a + z·μ_b
			return float64(x*x*p.muCov.aa) + float64(2*x*z*p.muCov.ab) + float64(z*z*p.muCov.bb)
		}
		differ := left.aa + left.bb - 2*left.ab
		before.add(p.weight, p.mu[0]+a-y[0], left.aa+along(1-kaa, -kab))
		after.add(p.weight, p.mu[1]+b-y[1], left.bb+along(-kba, 1-kbb))
		change.add(p.weight, p.mu[1]+b-p.mu[0]-a-(y[1]-y[0]), differ+along(kaa-kba-1, 1-kbb+kab))
		own.add(p.weight, b-a, differ+along(kaa-kba, kab-kbb))
	}
	shifted := func(m mixture, by float64) Normal {
		n := m.normal()
		n.Mean += by
		return n
	}
	return PairedShrunk{shifted(before, y[0]), shifted(after, y[1]), shifted(change, y[1]-y[0]), own.normal()}
}
