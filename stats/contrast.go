package stats

import (
	"math"
)

// Interval is an estimate with 95 % limits, infinite where there is none.
type Interval struct{ Estimate, Lo, Hi float64 }

// Mover returns d = e1 − e2 with limits recovered from the two intervals [l, u]
// and the correlation ρ of the two estimates:
//
//	L = d − √((e1−l1)² − 2ρ(e1−l1)(u2−e2) + (u2−e2)²)
//	U = d + √((u1−e1)² − 2ρ(u1−e1)(e2−l2) + (e2−l2)²)
//
// A limit that an infinite one enters is infinite.
//
// Source: Zou 2007, Psychological Methods 12:399 (MOVER).
func Mover(e1, e2 Interval, rho float64) Interval {
	d := e1.Estimate - e2.Estimate
	reach := func(a, b float64) float64 {
		if math.IsInf(a, 0) || math.IsInf(b, 0) {
			return math.Inf(1)
		}
		return math.Sqrt(max(0, float64(a*a)-float64(2*rho*a*b)+float64(b*b)))
	}
	return Interval{Estimate: d,
		Lo: d - reach(e1.Estimate-e1.Lo, e2.Hi-e2.Estimate),
		Hi: d + reach(e1.Hi-e1.Estimate, e2.Estimate-e2.Lo)}
}

// P reads a p value off the 95 % limits of an estimate on df degrees of freedom:
// that of the level at which the interval, drawn in or let out in proportion,
// would just reach 0. It is below .05 exactly where the interval excludes 0; NaN
// where the limit on the side of 0 is infinite, 1 where the estimate is 0.
func (i Interval) P(df float64) float64 {
	reach := i.Hi - i.Estimate
	if i.Estimate > 0 {
		reach = i.Estimate - i.Lo
	}
	switch {
	case math.IsInf(reach, 0) || math.IsNaN(reach):
		return math.NaN()
	case i.Estimate == 0:
		return 1
	}
	t := math.Abs(i.Estimate) / reach * TQuantile(.975, df)
	return 2 * student(df).Survival(t)
}

// EdgeContrast returns confirmed edge e1 of band a less confirmed edge e2 of band b,
// with limits recovered from theirs (Mover). ρ is EdgeCorrelation. A limit that an
// infinite one enters is infinite. Panics where the numbers of replicates differ.
func EdgeContrast(a, b *Band, e1, e2 Edge) (d Interval, rho float64) {
	if a.Curve.Replicates != b.Curve.Replicates {
		panic("stats: a contrast needs as many replicates on both sides")
	}
	rho = EdgeCorrelation(a, b, e1, e2)
	return Mover(Interval{e1.X, e1.Lo, e1.Hi}, Interval{e2.X, e2.Lo, e2.Hi}, rho), rho
}

// EdgeCorrelation is the correlation over joint replicates of D_a at e1 with D_b at
// e2, its sign turned where one edge rises and the other falls: an edge moves against
// D where D rises and with it where D falls. Both bands must come from joint draws,
// or from independent ones that are numbered alike, when it is about 0.
func EdgeCorrelation(a, b *Band, e1, e2 Edge) float64 {
	rho := Correlation(a.RepAt(e1.X), b.RepAt(e2.X))
	if e1.Up != e2.Up {
		return -rho
	}
	return rho
}

// Correlation is Pearson's over replicates that are numbered alike, 0 where one
// of the two does not vary.
func Correlation(a, b []float64) float64 {
	var ma, mb moments
	for i := range a {
		ma.add(a[i])
		mb.add(b[i])
	}
	cross := 0.0
	for i := range a {
		cross += float64((a[i] - ma.mean) * (b[i] - mb.mean))
	}
	if !(ma.sum > 0 && mb.sum > 0) {
		return 0
	}
	return max(-1, min(1, cross/math.Sqrt(float64(ma.sum*mb.sum))))
}

// LevelContrast is the difference of two curves along x.
type LevelContrast struct {
	X, D, SE, Lo, Hi []float64 // sign·(f_a − f_b), pointwise 95 % limits
	DF               float64
	P                float64 // max-|t| p of the whole contrast; 1 where nothing varies
	MaxAbs           float64 // largest |D|
	Within           float64 // smallest δ such that every pointwise interval lies in ±δ
}

// ContrastLevels compares two curves at the points of x, which must lie inside
// both: sign·(f_a − f_b)(x) ± t_.975(min Geff − 1)·se, se from joint replicates
// times √(G/(G−1)), G the smaller number of clusters, plus what the second kind of
// cluster adds to the difference (sa and sb, both nil for one kind). The limits
// are pointwise. P is the share of replicates, the data counted in, whose largest
// |D* − D|/se over x is at least the data's largest |D|/se, the replicates' t being
// stretched by t_.975(df)/z_.975 so that P agrees with the pointwise limits where
// there is one point. Panics where the numbers of replicates differ.
//
// Source: Westfall & Young 1993, Resampling-Based Multiple Testing (max-|t|).
func ContrastLevels(a, b *Curve, x []float64, sign float64, sa, sb *SecondWay) *LevelContrast {
	if a.Replicates != b.Replicates || (sa == nil) != (sb == nil) {
		panic("stats: a contrast needs as many replicates and kinds of clusters on both sides")
	}
	n := len(x)
	c := &LevelContrast{X: x, D: make([]float64, n), SE: make([]float64, n), Lo: make([]float64, n),
		Hi: make([]float64, n), DF: min(a.DF(sa), b.DF(sb))}
	t := a.quantiles.at(.975, c.DF)
	scaled := max(a.inflate(), b.inflate())
	largest := make([]float64, a.Replicates) // max |t*| by replicate
	own := 0.0
	var reps [abreast][]float64
	for k := range reps {
		reps[k] = make([]float64, a.Replicates)
	}
	for from := 0; from < n; from += abreast {
		some := x[from:min(from+abreast, n)]
		ms := differences(a, b, some, sign, &reps)
		for k, at := range some {
			i, m, ra := from+k, &ms[k], reps[k]
			c.D[i] = sign * (a.At(at) - b.At(at))
			first := m.variance() * scaled
			v := first
			if sa != nil {
				v += sa.Difference(sb, at)
			}
			c.SE[i] = math.Sqrt(v)
			half := t * c.SE[i]
			c.Lo[i], c.Hi[i] = c.D[i]-half, c.D[i]+half
			c.MaxAbs = max(c.MaxAbs, math.Abs(c.D[i]))
			c.Within = max(c.Within, math.Abs(c.Lo[i]), math.Abs(c.Hi[i]))
			if !(first > 0) || math.IsInf(first, 1) {
				continue
			}
			own = max(own, math.Abs(c.D[i])/c.SE[i])
			// Replicates hold the first kind of cluster only and spread by √(1/k) too
			// little: they are measured by their own spread.
			scale := t / normal975 / math.Sqrt(m.variance())
			for r, v := range ra {
				if v = math.Abs(v-m.mean) * scale; v > largest[r] {
					largest[r] = v
				}
			}
		}
	}
	c.P = maxP(own, largest)
	return c
}

// maxP returns the share of replicates, the data counted in, whose largest |t| is at
// least the data's; 1 where nothing varies.
func maxP(own float64, largest []float64) float64 {
	if !(own > 0) {
		return 1
	}
	hits := 1
	for _, v := range largest {
		if v >= own {
			hits++
		}
	}
	return float64(hits) / float64(len(largest)+1)
}

// abreast is how many points are gone through side by side, so that none waits for
// the division of another.
const abreast = 4

// differences fills reps with the replicates of sign·(f_a − f_b) at up to abreast
// points, and returns their moments.
func differences(a, b *Curve, x []float64, sign float64, reps *[abreast][]float64) (m [abreast]moments) {
	var ia, ib [abreast]int
	var sa, sb [abreast]float64
	for k := range abreast {
		at := x[min(k, len(x)-1)]
		var in, too bool
		if ia[k], sa[k], in = place(a.X, at); !in {
			sa[k] = math.NaN()
		}
		if ib[k], sb[k], too = place(b.X, at); !too {
			sb[k] = math.NaN()
		}
	}
	na, nb := len(a.X), len(b.X)
	r0, r1, r2, r3 := reps[0], reps[1], reps[2], reps[3]
	for r := range a.Replicates {
		rowA, rowB := a.RepF[r*na:(r+1)*na], b.RepF[r*nb:(r+1)*nb]
		v0 := sign * (blend(rowA, ia[0], sa[0]) - blend(rowB, ib[0], sb[0]))
		v1 := sign * (blend(rowA, ia[1], sa[1]) - blend(rowB, ib[1], sb[1]))
		v2 := sign * (blend(rowA, ia[2], sa[2]) - blend(rowB, ib[2], sb[2]))
		v3 := sign * (blend(rowA, ia[3], sa[3]) - blend(rowB, ib[3], sb[3]))
		r0[r], r1[r], r2[r], r3[r] = v0, v1, v2, v3
		m[0].add(v0)
		m[1].add(v1)
		m[2].add(v2)
		m[3].add(v3)
	}
	return m
}
