package stats

import (
	"maps"
	"math"
	"slices"
)

// Thirds compares two curves of joint draws in the lowest, middle and highest third
// of x: how far apart they are, and whether the distance changes along x.
type Thirds struct {
	X             [3]float64  // mean x of the events of each third
	Gap           [3]Interval // sign·(f_a − f_b), pointwise 95 % limits
	Change        Interval    // of the gap, highest less lowest third
	Bend          Interval    // middle third less the mean of the outer two
	DF            float64
	P             float64 // of an unchanging gap: max-|t| over Change and Bend
	Within        float64 // smallest δ such that the 95 % intervals of Change and Bend lie in ±δ
	place, weight [3][]float64
}

// NewThirds compares curves a and b over the range that both cover, in thirds of the
// events of both together; both are averaged over the same places. Standard errors come
// from joint replicates, times √(G/(G−1)) with the smaller number of clusters, plus what
// second clusters add to each curve (sa and sb, nil for one kind; those of the two
// curves are taken as different ones). Intervals use t(min Geff − 1). P is the share of
// replicates, the data counted in, whose larger |t| of Change and Bend about their mean
// is at least the data's, stretched by t_.975(df)/z_.975. Nil where the common range
// holds fewer than five nodes or a third is empty. Panics where the numbers of
// replicates differ.
//
// Within uses the 95 % intervals, not the 90 % that would do for a normal estimate
// (Schuirmann 1987, J Pharmacokinet Biopharm 15:657): a curve that happens to be flat
// has a small error too, which doubles the share of changes said to be smaller than
// they are, by simulation.
//
// Source: Westfall & Young 1993, Resampling-Based Multiple Testing (max-|t|).
func NewThirds(a, b *Curve, sign float64, sa, sb *SecondWay) *Thirds {
	if a.Replicates != b.Replicates || (sa == nil) != (sb == nil) {
		panic("stats: thirds need as many replicates and kinds of clusters on both sides")
	}
	t := &Thirds{DF: min(a.DF(sa), b.DF(sb))}
	if !t.cut(a, b) {
		return nil
	}
	pair := &gapPair{a: a, b: b, sa: sa, sb: sb, sign: sign, scale: max(a.inflate(), b.inflate())}
	wide := a.quantiles.at(.975, t.DF)
	interval := func(share [3]float64) (i Interval, se float64, reps []float64) {
		ca, cb := t.along(a.X, share), t.along(b.X, share)
		i.Estimate, se, reps = pair.at(ca, cb)
		i.Lo, i.Hi = i.Estimate-float64(wide*se), i.Estimate+float64(wide*se)
		return i, se, reps
	}
	for k := range t.Gap {
		var only [3]float64
		only[k] = 1
		t.Gap[k], _, _ = interval(only)
	}
	var own float64
	largest := make([]float64, a.Replicates)
	stretch := wide / normal975
	for _, c := range []struct {
		share [3]float64
		to    *Interval
	}{{[3]float64{-1, 0, 1}, &t.Change}, {[3]float64{-.5, 1, -.5}, &t.Bend}} {
		i, se, reps := interval(c.share)
		*c.to = i
		t.Within = max(t.Within, -i.Lo, i.Hi)
		var m moments
		for _, v := range reps {
			m.add(v)
		}
		if !(m.variance() > 0) {
			continue
		}
		own = max(own, math.Abs(i.Estimate)/se)
		for r, v := range reps {
			largest[r] = max(largest[r], math.Abs(v-m.mean)*stretch/math.Sqrt(m.variance()))
		}
	}
	t.P = maxP(own, largest)
	return t
}

// Over returns the mean of a function in each third, at the places and with the
// weights of the gap.
func (t *Thirds) Over(f func(x float64) float64) (out [3]float64) {
	for k := range out {
		for i, x := range t.place[k] {
			out[k] += float64(t.weight[k][i] * f(x))
		}
	}
	return out
}

// cut shares the events of the common range out into thirds; false where that
// cannot be done.
func (t *Thirds) cut(a, b *Curve) bool {
	lo, hi := max(a.X[0], b.X[0]), min(a.X[len(a.X)-1], b.X[len(b.X)-1])
	events := map[float64]float64{} // by node of either curve
	total := 0.0
	for _, c := range []*Curve{a, b} {
		for i, x := range c.X {
			if x >= lo && x <= hi {
				events[x] += c.N[i]
				total += c.N[i]
			}
		}
	}
	if len(events) < 5 {
		return false
	}
	below := 0.0
	var sum [3]float64
	for _, x := range slices.Sorted(maps.Keys(events)) {
		n := events[x]
		k := min(2, int(3*(below+n/2)/total))
		below += n
		sum[k] += n
		t.place[k], t.weight[k] = append(t.place[k], x), append(t.weight[k], n)
	}
	for k := range sum {
		if sum[k] == 0 {
			return false
		}
		for i := range t.weight[k] {
			t.weight[k][i] /= sum[k]
			t.X[k] += float64(t.weight[k][i] * t.place[k][i])
		}
	}
	return true
}

// along returns the coefficients of a curve's nodes in a sum over thirds.
func (t *Thirds) along(nodes []float64, share [3]float64) []float64 {
	out := make([]float64, len(nodes))
	for k, s := range share {
		for i, x := range t.place[k] {
			b, part, _ := place(nodes, x)
			w := float64(s * t.weight[k][i])
			out[b] += float64(w * (1 - part))
			if part > 0 {
				out[b+1] += float64(w * part)
			}
		}
	}
	return out
}

// gapPair is two curves whose weighted sums are compared.
type gapPair struct {
	a, b        *Curve
	sa, sb      *SecondWay
	sign, scale float64
}

// at returns sign·(Σca·F_a − Σcb·F_b), its standard error and its replicates.
func (g *gapPair) at(ca, cb []float64) (d, se float64, reps []float64) {
	sum := func(c, f []float64) (s float64) {
		for i := range c {
			s += float64(c[i] * f[i])
		}
		return s
	}
	d = g.sign * (sum(ca, g.a.F) - sum(cb, g.b.F))
	reps = make([]float64, g.a.Replicates)
	var m moments
	for r := range reps {
		reps[r] = g.sign * (sum(ca, g.a.RepF[r*len(ca):(r+1)*len(ca)]) - sum(cb, g.b.RepF[r*len(cb):(r+1)*len(cb)]))
		m.add(reps[r])
	}
	v := m.variance() * g.scale
	if g.sa != nil {
		v += g.sa.Along(ca) + g.sb.Along(cb)
	}
	return d, math.Sqrt(v), reps
}
