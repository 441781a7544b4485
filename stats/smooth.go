package stats

import "math"

// LambdaGrid returns the smoothing parameters that are tried: 1e-4 … 1e7 with
// the steps given per decade (2 gives 23, 4 gives 45), ascending.
func LambdaGrid(stepsPerDecade int) []float64 {
	if stepsPerDecade < 1 {
		panic("stats: LambdaGrid needs at least one step per decade")
	}
	grid := make([]float64, 11*stepsPerDecade+1)
	for i := range grid {
		grid[i] = math.Pow(10, float64(i)/float64(stepsPerDecade)-4)
	}
	return grid
}

// lanes is how many columns (smoothing parameters, scores) are worked on side by
// side, so that none waits for another.
const lanes = 8

// leastPhi floors the REML estimate of the residual variance.
const leastPhi = 1e-300

// Smoother fits Whittaker–Henderson curves of order 2 on fixed nodes: the z that
// minimises
//
//	Σ w_b(y_b − z_b)² + λ·z'Pz,  P = D'D,
//	row i of D: √((h1+h2)/2)·[2/(h1(h1+h2)), −2/(h1·h2), 2/(h2(h1+h2))]
//
// with h1, h2 the gaps after node i. The fit of y is Sy; a curve is the twiced
// fit Sy + S(y − Sy), which removes most of the smoother's bias. λ minimises the
// restricted likelihood criterion
//
//	(B₊−2)·log φ + log|W+λP| − (B−2)·log λ,  φ = (rss + λ·z'Pz)/(B₊−2)
//
// over a grid, B nodes of which B₊ have weight. Straight lines are fitted
// exactly. A node without weight is interpolated.
//
// Where every node has weight the work is done in the space of differences:
// with v = Dy, Q = D·W⁻¹·D' and M = I/λ + Q, which is pentadiagonal,
//
//	rss + λ·z'Pz = v'M⁻¹v,  |W+λP|·λ^−(B−2) = |W|·|M|,  Sy = y − W⁻¹D'M⁻¹v,
//
// so the criterion takes one pass down the factor LDL' of M, and nothing cancels.
//
// A Smoother holds scratch memory: it belongs to one goroutine.
//
// Source: Whittaker 1923, Proc. Edinburgh Math. Soc. 41:63; Reinsch 1967,
// Numerische Mathematik 10:177 (the space of differences); Wood 2011, JRSSB 73:3
// (REML); Tukey 1977, Exploratory Data Analysis (twicing).
type Smoother struct {
	nodes      int
	x          []float64
	grid       []float64
	d0, d1, d2 []float64 // rows of D
	p0, p1, p2 []float64 // diagonals of P: (b,b), (b,b−1), (b,b−2)
	inverse    [][lanes]float64
	q0, q1, q2 []float64 // diagonals of Q, likewise
	v, g, h    []float64
	f          factor
	z, rest    []float64
}

// NewSmoother prepares nodes x (strictly ascending, in bin widths) and the grid
// of smoothing parameters (ascending, positive). Panics on others.
func NewSmoother(x, grid []float64) *Smoother {
	b := len(x)
	k := max(0, b-2)
	s := &Smoother{nodes: b, x: x, grid: grid,
		d0: make([]float64, k), d1: make([]float64, k), d2: make([]float64, k),
		p0: make([]float64, b), p1: make([]float64, b), p2: make([]float64, b),
		q0: make([]float64, k), q1: make([]float64, k), q2: make([]float64, k),
		v: make([]float64, k), g: make([]float64, k), h: make([]float64, k),
		z: make([]float64, b), rest: make([]float64, b),
		inverse: make([][lanes]float64, (len(grid)+lanes-1)/lanes),
	}
	s.f.grow(b)
	for i := 1; i < b; i++ {
		if !(x[i] > x[i-1]) {
			panic("stats: NewSmoother needs ascending nodes")
		}
	}
	for i := range k {
		h1, h2 := x[i+1]-x[i], x[i+2]-x[i+1]
		c := math.Sqrt((h1 + h2) / 2)
		s.d0[i], s.d1[i], s.d2[i] = c*2/(h1*(h1+h2)), -c*2/(h1*h2), c*2/(h2*(h1+h2))
		s.p0[i] += float64(s.d0[i] * s.d0[i])
		s.p0[i+1] += float64(s.d1[i] * s.d1[i])
		s.p0[i+2] += float64(s.d2[i] * s.d2[i])
		s.p1[i+1] += float64(s.d0[i] * s.d1[i])
		s.p1[i+2] += float64(s.d1[i] * s.d2[i])
		s.p2[i+2] += float64(s.d0[i] * s.d2[i])
	}
	for i := range s.inverse {
		for k := range lanes {
			at := min(i*lanes+k, len(grid)-1)
			if !(grid[at] > 0) || at > 0 && !(grid[at] > grid[at-1]) {
				panic("stats: NewSmoother needs a grid of ascending positive parameters")
			}
			s.inverse[i][k] = 1 / grid[at]
		}
	}
	return s
}

// Fit chooses λ on the grid, writes the twiced fit of y with weights w (≥ 0) to
// dst and returns λ: exactly the grid's argmin, the smaller λ on a tie. Where
// fewer than 4 nodes have weight the criterion says nothing and λ is the
// fallback. Panics unless two nodes have weight, or the only one.
func (s *Smoother) Fit(y, w, dst []float64, fallback float64) (lambda float64) {
	positive := s.positive(w)
	if positive < s.nodes {
		lambda = fallback
		if positive >= 4 {
			lambda = s.searchGappy(y, w, positive)
		}
		s.twiceGappy(lambda, y, w, dst)
		return lambda
	}
	s.dual(y, w)
	lambda = fallback
	if positive >= 4 {
		lambda = s.search()
	}
	s.twice(lambda, y, w, dst)
	return lambda
}

// FitAt writes the twiced fit Sy + S(y − Sy) at λ to dst. Panics as Fit does.
func (s *Smoother) FitAt(lambda float64, y, w, dst []float64) {
	if s.positive(w) < s.nodes {
		s.twiceGappy(lambda, y, w, dst)
		return
	}
	s.dual(y, w)
	s.twice(lambda, y, w, dst)
}

// Operator returns the B×B matrix S(2I − S) at λ by rows: the twiced fit of y is
// its product with y.
func (s *Smoother) Operator(lambda float64, w []float64) []float64 {
	b := s.nodes
	out, unit, col := make([]float64, b*b), make([]float64, b), make([]float64, b)
	for j := range b {
		unit[j] = 1
		s.FitAt(lambda, unit, w, col)
		unit[j] = 0
		for i, v := range col {
			out[i*b+j] = v
		}
	}
	return out
}

// positive counts the nodes with weight.
func (s *Smoother) positive(w []float64) int {
	k := 0
	for _, v := range w {
		if v > 0 {
			k++
		}
	}
	if len(w) != s.nodes || k < min(2, s.nodes) {
		panic("stats: a fit needs two nodes with weight")
	}
	return k
}

// dual fills v = Dy and the diagonals of Q = D·W⁻¹·D'. Every weight is > 0.
func (s *Smoother) dual(y, w []float64) {
	k := len(s.v)
	if k == 0 {
		return
	}
	d0, d1, d2, q0, q1, q2, v := s.d0[:k], s.d1[:k], s.d2[:k], s.q0[:k], s.q1[:k], s.q2[:k], s.v[:k]
	y, w = y[:k+2], w[:k+2]
	i0, i1 := 1/w[0], 1/w[1]
	for i := range v {
		i2 := 1 / w[i+2]
		v[i] = float64(d0[i]*y[i]) + float64(d1[i]*y[i+1]) + float64(d2[i]*y[i+2])
		q0[i] = float64(float64(d0[i]*d0[i])*i0) + float64(float64(d1[i]*d1[i])*i1) + float64(float64(d2[i]*d2[i])*i2)
		q1[i], q2[i] = 0, 0
		if i >= 1 {
			q1[i] = float64(float64(d0[i]*d1[i-1])*i0) + float64(float64(d1[i]*d2[i-1])*i1)
		}
		if i >= 2 {
			q2[i] = float64(float64(d0[i]*d2[i-2]) * i0)
		}
		i0, i1 = i1, i2
	}
}

// search returns the grid's argmin where every node has weight, after dual. It
// goes down from the largest λ and stops where no smaller one can win: φ/λ rises
// as λ falls, and |M|·λ^(B−2) = |I + λQ| is at least 1, so that every criterion
// below λ is at least (B−2)·log(φ/λ).
func (s *Smoother) search() float64 {
	nu := float64(len(s.v))
	best, at := math.Inf(1), 0
	var sum, logdet [lanes]float64
	for i := len(s.inverse) - 1; i >= 0; i-- {
		s.lane(&s.inverse[i], &sum, &logdet)
		bound := 0.0
		for k := lanes - 1; k >= 0; k-- {
			j := i*lanes + k
			if j >= len(s.grid) {
				continue
			}
			fit := float64(nu * math.Log(max(sum[k]/nu, leastPhi)))
			if crit := fit + logdet[k]; crit <= best {
				best, at = crit, j
			}
			bound = fit
		}
		if bound-float64(nu*math.Log(s.grid[i*lanes])) > best+1e-6 { // 1e-6: far above rounding
			break
		}
	}
	return s.grid[at]
}

// lane runs down the factor of M at several λ side by side and returns v'M⁻¹v
// and log|M|. Pivots are multiplied, with the exponent taken out every few rows,
// so that each determinant takes one logarithm.
func (s *Smoother) lane(inverse, sum, logdet *[lanes]float64) {
	var a, b, c, d, g, prod [lanes]float64
	var exponent [lanes]int
	r1, r2, u1, u2 := &a, &b, &c, &d
	for k := range lanes {
		sum[k], prod[k] = 0, 1
	}
	n := len(s.v)
	q0, q1, q2, v := s.q0[:n], s.q1[:n], s.q2[:n], s.v[:n]
	for i := range v {
		q0i, q1i, q2i, vi := q0[i], q1[i], q2[i], v[i]
		for k := range lanes {
			l2 := float64(q2i * r2[k])
			gk := q1i - float64(l2*g[k])
			l1 := float64(gk * r1[k])
			pivot := q0i + inverse[k] - float64(l2*q2i) - float64(l1*gk)
			r := 1 / pivot
			u := vi - float64(l1*u1[k]) - float64(l2*u2[k])
			sum[k] += float64(float64(u*u) * r)
			prod[k] *= pivot
			r2[k], u2[k], g[k] = r, u, gk
		}
		r1, r2, u1, u2 = r2, r1, u2, u1
		if i%8 == 7 {
			for k := range lanes {
				m, e := math.Frexp(prod[k])
				prod[k], exponent[k] = m, exponent[k]+e
			}
		}
	}
	for k := range lanes {
		logdet[k] = math.Log(prod[k]) + float64(float64(exponent[k])*math.Ln2)
	}
}

// searchGappy returns the grid's argmin where some nodes have no weight.
func (s *Smoother) searchGappy(y, w []float64, positive int) float64 {
	s.level(y, w)
	best, at := math.Inf(1), 0
	for j, lambda := range s.grid {
		if crit := s.gappy(lambda, w, positive); crit < best {
			best, at = crit, j
		}
	}
	return s.grid[at]
}

// level fills rest with y less its weighted least-squares line, which changes no
// criterion but keeps what is left of it after cancellation.
func (s *Smoother) level(y, w []float64) {
	var n, nx, ny float64
	for b, v := range w {
		n += v
		nx += float64(v * s.x[b])
		ny += float64(v * y[b])
	}
	mx, my := nx/n, ny/n
	var xx, xy float64
	for b, v := range w {
		d := s.x[b] - mx
		xx += float64(float64(v*d) * d)
		xy += float64(float64(v*d) * (y[b] - my))
	}
	slope := xy / xx
	for b := range w {
		s.rest[b] = y[b] - my - float64(slope*(s.x[b]-mx))
	}
}

// gappy is the criterion by the factor of W + λP itself, after level.
func (s *Smoother) gappy(lambda float64, w []float64, positive int) float64 {
	logdet := s.f.primal(s, lambda, w)
	y, z := s.rest, s.z
	for b := range z {
		z[b] = float64(w[b] * y[b])
	}
	s.f.solve(z)
	rss, rough := 0.0, 0.0
	for b := range z {
		e := y[b] - z[b]
		rss += float64(float64(w[b]*e) * e)
	}
	for i := range s.d0 {
		e := float64(s.d0[i]*z[i]) + float64(s.d1[i]*z[i+1]) + float64(s.d2[i]*z[i+2])
		rough += float64(e * e)
	}
	nu := float64(positive - 2)
	phi := max((rss+float64(lambda*rough))/nu, leastPhi)
	return float64(nu*math.Log(phi)) + logdet - float64(float64(s.nodes-2)*math.Log(lambda))
}

// twiceGappy writes Sy + S(y − Sy) where some nodes have no weight.
func (s *Smoother) twiceGappy(lambda float64, y, w, dst []float64) {
	s.f.primal(s, lambda, w)
	for b := range dst {
		dst[b] = float64(w[b] * y[b])
	}
	s.f.solve(dst)
	for b := range dst {
		s.rest[b] = float64(w[b] * (y[b] - dst[b]))
	}
	s.f.solve(s.rest)
	for b := range dst {
		dst[b] += s.rest[b]
	}
}

// twice writes Sy + S(y − Sy) where every node has weight, after dual: in the
// space of differences that is y − W⁻¹D'M⁻¹QM⁻¹v.
func (s *Smoother) twice(lambda float64, y, w, dst []float64) {
	if s.nodes < 3 {
		copy(dst, y)
		return
	}
	n := len(s.v)
	s.f.fill(s, lambda)
	g, h := s.g, s.h
	copy(g, s.v)
	s.f.solve(g)
	for i := range h {
		sum := float64(s.q0[i] * g[i])
		if i >= 1 {
			sum += float64(s.q1[i] * g[i-1])
		}
		if i >= 2 {
			sum += float64(s.q2[i] * g[i-2])
		}
		if i+1 < n {
			sum += float64(s.q1[i+1] * g[i+1])
		}
		if i+2 < n {
			sum += float64(s.q2[i+2] * g[i+2])
		}
		h[i] = sum
	}
	s.f.solve(h)
	for b := range dst {
		sum := 0.0
		if b < n {
			sum += float64(s.d0[b] * h[b])
		}
		if b >= 1 && b-1 < n {
			sum += float64(s.d1[b-1] * h[b-1])
		}
		if b >= 2 {
			sum += float64(s.d2[b-2] * h[b-2])
		}
		dst[b] = y[b] - sum/w[b]
	}
}

// factor is the LDL' of a symmetric positive definite pentadiagonal matrix.
type factor struct {
	n          int
	a0, a1, a2 []float64 // diagonals: (i,i), (i,i−1), (i,i−2)
	l1, l2     []float64
	inverse    []float64 // 1/d
}

func (f *factor) grow(n int) {
	for _, v := range []*[]float64{&f.a0, &f.a1, &f.a2, &f.l1, &f.l2, &f.inverse} {
		*v = make([]float64, n)
	}
}

// fill factors M = Q + I/λ.
func (f *factor) fill(s *Smoother, lambda float64) {
	f.n = len(s.v)
	for i, q := range s.q0 {
		f.a0[i], f.a1[i], f.a2[i] = q+1/lambda, s.q1[i], s.q2[i]
	}
	f.run()
}

// primal factors W + λP and returns the logarithm of its determinant.
func (f *factor) primal(s *Smoother, lambda float64, w []float64) float64 {
	f.n = s.nodes
	for i := range w {
		f.a0[i] = w[i] + float64(lambda*s.p0[i])
		f.a1[i], f.a2[i] = float64(lambda*s.p1[i]), float64(lambda*s.p2[i])
	}
	return f.run()
}

// run factors and returns the logarithm of the determinant: one, of the product
// of the pivots, with the exponent taken out every few rows.
func (f *factor) run() float64 {
	n := f.n
	a0, a1, a2, l1, l2, inverse := f.a0[:n], f.a1[:n], f.a2[:n], f.l1[:n], f.l2[:n], f.inverse[:n]
	var g, r1, r2 float64 // entry of LD left of the pivot, and 1/d of the two rows before
	prod, exponent := 1.0, 0
	for i := range a0 {
		l2[i] = float64(a2[i] * r2)
		g = a1[i] - float64(l2[i]*g)
		l1[i] = float64(g * r1)
		d := a0[i] - float64(l2[i]*a2[i]) - float64(l1[i]*g)
		r1, r2 = 1/d, r1
		inverse[i] = r1
		prod *= d
		if i%8 == 7 {
			m, e := math.Frexp(prod)
			prod, exponent = m, exponent+e
		}
	}
	return math.Log(prod) + float64(float64(exponent)*math.Ln2)
}

// solve replaces the right-hand side v by the solution.
func (f *factor) solve(v []float64) {
	n := f.n
	v = v[:n]
	l1, l2, inverse := f.l1[:n], f.l2[:n], f.inverse[:n]
	x1, x2 := 0.0, 0.0 // the two values before; l1 and l2 are 0 where there are none
	for i, x := range v {
		x -= float64(l1[i]*x1) + float64(l2[i]*x2)
		v[i] = x
		x1, x2 = x, x1
	}
	x1, x2 = 0, 0
	m1, m2, before := 0.0, 0.0, 0.0 // l1 and l2 of the row after, l2 of the one after that
	for i := n - 1; i >= 0; i-- {
		x := float64(v[i]*inverse[i]) - float64(m1*x1) - float64(before*x2)
		v[i] = x
		x1, x2 = x, x1
		before = m2
		m1, m2 = l1[i], l2[i]
	}
}
