package stats

import (
	"encoding/binary"
	"math"
	"math/bits"
	"math/rand/v2"
)

// FlipTest tests whether a curve is flat by flipping the signs of whole clusters.
// With v_pb = Y_pb − r̄·N_pb, r̄ the pooled rate, it takes two statistics:
//
//	shape: Q = S'V⁻¹S, S_p = Σ_b Z_b·v_pb, V = Σ S_p S_p', Z three polynomials of
//	       u_b = 2(cumN_b − N_b/2)/ΣN − 1, orthonormal over events
//	cut:   max over cuts with 5–95 % of events below of S_c²/V_c,
//	       S_pc = Σ_{b ≥ c} v_pb − (share above)·Σ_b v_pb, V_c = Σ S_pc²
//
// Under a flat curve each cluster's scores have mean 0, so all sign vectors are about
// equally likely. Each p is (1 + #flips as large)/(R+1); the combined p ranks
// min(p_shape, p_cut) among the same flips. All scores 0: p = 1. A test keeps its
// statistics, to be carried on to more flips, and belongs to one goroutine.
//
// Source: Cameron, Gelbach & Miller 2008, REStat 90:414 (wild cluster bootstrap);
// Kline & Santos 2012, JoE 168:23 (score form); Westfall & Young 1993 (min-p).
type FlipTest struct {
	columns  int       // shape columns first, each scaled so that its variance is 1
	shapes   int       // number of shape columns, uncorrelated
	clusters int       // with a score
	score    []float64 // clusters × columns
	source   *rand.ChaCha8
	shape    []float64 // statistics: the data's own first, then the flips
	cut      []float64
	exact    bool
}

// FlipResult is the outcome of a flip test.
type FlipResult struct {
	P      float64 // combined
	PShape float64
	PCut   float64
	Shape  float64 // Q
	Cut    float64 // the largest S_c²/V_c; 0 where no cut has 5–95 % of events below
	Flips  int     // sign vectors besides the data's own
	Exact  bool    // these are all there are
}

// NewFlipTest prepares the scores of a table. The stream of signs is that of
// the seed: tests that share it flip the same clusters together only if the same
// clusters have scores.
func NewFlipTest(t *Table, seed [32]byte) *FlipTest {
	t.check()
	shape, cut := scores(t)
	return newFlipTest(shape, cut, t.Clusters, seed)
}

// scores returns the shape and cut columns of a table, each by cluster.
func scores(t *Table) (shape, cut [][]float64) {
	n, y := t.Sums()
	var all, sum float64
	for b := range n {
		all += n[b]
		sum += y[b]
	}
	if all == 0 {
		return nil, nil
	}
	rate := sum / all
	weights := polynomials(n, all)
	shapes := len(weights)
	below := 0.0
	for b := range len(n) - 1 {
		below += n[b]
		share := below / all
		if share < .05 || share > .95 {
			continue
		}
		w := make([]float64, len(n))
		for k := range w {
			w[k] = -(1 - share)
			if k > b {
				w[k] = share
			}
		}
		weights = append(weights, w)
	}
	out := make([][]float64, len(weights))
	for i, w := range weights {
		out[i] = make([]float64, t.Clusters)
		for b := range n {
			for e := t.Start[b]; e < t.Start[b+1]; e++ {
				v := t.Y[e] - float64(rate*t.N[e])
				if math.Abs(v) > 1e-12*t.N[e] { // rounding of an exact 0
					out[i][t.Cluster[e]] += float64(w[b] * v)
				}
			}
		}
	}
	return out[:shapes], out[shapes:]
}

// polynomials returns up to three polynomials of u by bin, orthonormal to the
// constant and each other over events; fewer where the bins are too few.
func polynomials(n []float64, all float64) [][]float64 {
	u, one := make([]float64, len(n)), make([]float64, len(n))
	sum := 0.0
	for b, v := range n {
		u[b] = 2*(sum+v/2)/all - 1
		one[b] = 1
		sum += v
	}
	basis := [][]float64{one}
	for range min(3, len(n)-1) {
		z := make([]float64, len(n))
		for b := range z {
			z[b] = math.Pow(u[b], float64(len(basis)))
		}
		for range 2 { // the second pass removes what rounding left
			for _, q := range basis {
				dot, own := 0.0, 0.0
				for b := range z {
					dot += float64(n[b] * z[b] * q[b])
					own += float64(n[b] * q[b] * q[b])
				}
				for b := range z {
					z[b] -= float64(dot / own * q[b])
				}
			}
		}
		norm := 0.0
		for b := range z {
			norm += float64(n[b] * z[b] * z[b])
		}
		norm = math.Sqrt(norm / all)
		for b := range z {
			z[b] /= norm
		}
		basis = append(basis, z)
	}
	return basis[1:]
}

// newFlipTest scales the columns: shape columns are made uncorrelated, so that Q
// is the sum of their squares, and every cut has variance 1. Columns that hold
// nothing of their own are dropped, clusters without a score too.
func newFlipTest(shape, cut [][]float64, clusters int, seed [32]byte) *FlipTest {
	f := &FlipTest{source: rand.NewChaCha8(seed)}
	dot := func(a, b []float64) float64 {
		s := 0.0
		for i := range a {
			s += float64(a[i] * b[i])
		}
		return s
	}
	var columns [][]float64
	add := func(c []float64, against [][]float64) {
		before := dot(c, c)
		c = append([]float64(nil), c...)
		for range 2 {
			for _, q := range against {
				k := dot(c, q)
				for i := range c {
					c[i] -= float64(k * q[i])
				}
			}
		}
		own := dot(c, c)
		if !(own > 1e-18*before) {
			return
		}
		root := math.Sqrt(own)
		for i := range c {
			c[i] /= root
		}
		columns = append(columns, c)
	}
	for _, c := range shape {
		add(c, columns)
	}
	f.shapes = len(columns)
	for _, c := range cut {
		add(c, nil)
	}
	f.columns = len(columns)
	for g := range clusters {
		some := false
		for _, c := range columns {
			some = some || c[g] != 0
		}
		if some {
			f.clusters++
			for _, c := range columns {
				f.score = append(f.score, c[g])
			}
		}
	}
	sums := make([]float64, f.columns)
	for i, v := range f.score {
		sums[i%f.columns] += v
	}
	var s, m float64
	for i, v := range sums {
		if i < f.shapes {
			s += float64(v * v)
		} else {
			m = max(m, float64(v*v))
		}
	}
	f.shape, f.cut = []float64{s}, []float64{m}
	return f
}

// Run returns the result at the number of flips given, reusing those already
// made: the first flips of a longer run are those of a shorter one. Where there
// are no more sign vectors than flips, all are listed instead.
func (f *FlipTest) Run(flips int) FlipResult {
	if flips < 1 {
		panic("stats: Run needs at least one flip")
	}
	if f.clusters == 0 {
		return FlipResult{P: 1, PShape: 1, PCut: 1, Exact: true}
	}
	if f.clusters < 31 && 1<<f.clusters <= flips && !f.exact {
		f.shape, f.cut, f.exact = f.shape[:1], f.cut[:1], true
		f.list()
	}
	if f.exact {
		flips = 1<<f.clusters - 1
	}
	for len(f.shape) <= flips {
		f.extend(min(flips+1-len(f.shape), flipBlock))
	}
	r := combine(f.shape[:flips+1], f.cut[:flips+1])
	r.Exact = f.exact
	return r
}

// flipBlock is how many flips are made at a time.
const flipBlock = 1 << 14

// list makes every sign vector but the data's own (all signs kept).
func (f *FlipTest) list() {
	last := 1<<f.clusters - 1
	for from := 0; from < last; from += flipBlock {
		k := min(last-from, flipBlock)
		signs := make([]byte, k*f.stride())
		for i := range k {
			binary.LittleEndian.PutUint64(signs[i*f.stride():], uint64(from+i))
		}
		f.apply(signs, k)
	}
}

// extend makes k more random flips: per flip, whole words of the stream.
func (f *FlipTest) extend(k int) {
	signs := make([]byte, k*f.stride())
	for i := 0; i < len(signs); i += 8 {
		binary.LittleEndian.PutUint64(signs[i:], f.source.Uint64())
	}
	f.apply(signs, k)
}

// stride is the number of bytes that hold the signs of one flip.
func (f *FlipTest) stride() int { return (f.clusters + 63) / 64 * 8 }

// apply appends the statistics of k sign vectors, a set bit keeping the sign.
// Eight clusters at a time are looked up: for each of the 256 patterns of their
// signs the sums of eight columns are tabulated once, so that a flip costs an
// eighth of the additions.
//
// Source: the method of Arlazarov, Dinic, Kronrod & Faradzev 1970.
func (f *FlipTest) apply(signs []byte, k int) {
	first := len(f.shape)
	f.shape = append(f.shape, make([]float64, k)...)
	f.cut = append(f.cut, make([]float64, k)...)
	shape, cut := f.shape[first:], f.cut[first:]
	groups, stride := (f.clusters+7)/8, f.stride()
	table := make([]float64, groups*256*lanes)
	for c := 0; c < f.columns; c += lanes {
		f.tabulate(table, c)
		shapes := min(max(f.shapes-c, 0), lanes)
		for i := range k {
			var s [lanes]float64
			lookUp(table, signs[i*stride:i*stride+groups], &s)
			for _, v := range s[:shapes] {
				shape[i] += float64(v * v)
			}
			m := cut[i]
			for _, v := range s[shapes:] {
				m = max(m, float64(v*v))
			}
			cut[i] = m
		}
	}
}

// tabulate fills the sums of eight columns from c for each group of eight
// clusters and each pattern of signs.
func (f *FlipTest) tabulate(table []float64, c int) {
	for p := 0; p < f.clusters; p += 8 {
		group := table[p*32*lanes : (p+8)*32*lanes]
		var s [8][lanes]float64
		for i := range min(8, f.clusters-p) {
			copy(s[i][:], f.score[(p+i)*f.columns+c:(p+i)*f.columns+min(c+lanes, f.columns)])
		}
		for k := range lanes {
			sum := 0.0
			for i := range s {
				sum -= s[i][k]
			}
			group[k] = sum
		}
		for pattern := 1; pattern < 256; pattern++ {
			from := pattern & (pattern - 1) // without the lowest set bit
			add := &s[bits.TrailingZeros(uint(pattern))]
			row, rest := group[pattern*lanes:(pattern+1)*lanes], group[from*lanes:(from+1)*lanes]
			for k := range row {
				row[k] = rest[k] + float64(2*add[k])
			}
		}
	}
}

// lookUp adds up the rows of a table that the signs pick.
func lookUp(table []float64, signs []byte, out *[lanes]float64) {
	var s0, s1, s2, s3, s4, s5, s6, s7 float64
	for g, b := range signs {
		t := (*[lanes]float64)(table[(g<<8|int(b))*lanes:])
		s0 += t[0]
		s1 += t[1]
		s2 += t[2]
		s3 += t[3]
		s4 += t[4]
		s5 += t[5]
		s6 += t[6]
		s7 += t[7]
	}
	*out = [lanes]float64{s0, s1, s2, s3, s4, s5, s6, s7}
}

// tie is how far below the data's own a statistic counts as large as it: the
// same flip summed in another order differs by rounding.
const tie = 1e-9

// combine turns statistics, the data's own first, into p values.
func combine(shape, cut []float64) FlipResult {
	slack := func(v float64) float64 { return tie * max(1, v) }
	count := func(v []float64, least float64) int {
		n := 0
		for _, x := range v {
			if x >= least {
				n++
			}
		}
		return n
	}
	atShape, atCut := shape[0]-slack(shape[0]), cut[0]-slack(cut[0])
	a, b := count(shape, atShape), count(cut, atCut)
	k := min(a, b)
	// A statistic of a flip has a p of at most k/R' where no more than k are as
	// large: where it lies above the (k+1)-th largest.
	if a > k {
		v := kthLargest(shape, k)
		atShape = v + slack(v)
	}
	if b > k {
		v := kthLargest(cut, k)
		atCut = v + slack(v)
	}
	both := 0
	for i := range shape {
		if shape[i] >= atShape || cut[i] >= atCut {
			both++
		}
	}
	total := float64(len(shape))
	return FlipResult{P: float64(both) / total, PShape: float64(a) / total, PCut: float64(b) / total,
		Shape: shape[0], Cut: cut[0], Flips: len(shape) - 1}
}

// kthLargest returns the value that k values precede in descending order.
func kthLargest(v []float64, k int) float64 {
	c := append([]float64(nil), v...)
	pick(c, len(c)-1-k)
	return c[len(c)-1-k]
}

// EnoughFlips returns the smallest of 9,999, 99,999 and 999,999 flips whose
// smallest p, 1/(R+1), is at most q/(2·tests), so that one strong test in a
// family can pass Benjamini–Hochberg at q; 999,999 where none is enough. Under
// BenjaminiBogomolov one strong test alone is held as strictly as one among the
// number of families times the tests of its own.
func EnoughFlips(tests int, q float64) int {
	for _, r := range []int{9_999, 99_999} {
		if 1/float64(r+1) <= q/float64(2*tests) {
			return r
		}
	}
	return 999_999
}
