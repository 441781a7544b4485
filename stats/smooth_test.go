package stats_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"sill/stats"
)

type smoothCase struct {
	X, Y, W []float64
	Lambda  float64 `json:"lambda_reml"`
	Crit    float64
	Fit     []float64
	Fit1    []float64 `json:"fit_lambda_1"`
	Fit100  []float64 `json:"fit_lambda_100"`
	Crit1   float64   `json:"crit_lambda_1"`
	Twice   []float64 `json:"twice_fit"`
	Mgcv    struct {
		Fit        []float64
		MaxAbsDiff float64 `json:"max_abs_diff"`
	}
}

// TestSmootherVectors checks fits and criterion against dense algebra in R and
// against mgcv (REML of the same penalty) on uneven nodes.
func TestSmootherVectors(t *testing.T) {
	var v struct {
		Motorcycle smoothCase `json:"mcycle_means"`
		Nile, Bins smoothCase
	}
	vector(t, "whittaker_reml", &v)
	for name, c := range map[string]smoothCase{"motorcycle": v.Motorcycle, "nile": v.Nile, "bins": v.Bins} {
		s := stats.NewSmoother(c.X, stats.LambdaGrid(2))
		size := 0.0
		for _, y := range c.Y {
			size = max(size, math.Abs(y))
		}
		check := func(what string, got, want []float64, tol float64) {
			t.Helper()
			for i := range want {
				if !(math.Abs(got[i]-want[i]) <= tol*size) {
					t.Errorf("%s %s at %d: got %.15g, want %.15g", name, what, i, got[i], want[i])
				}
			}
		}
		got := make([]float64, len(c.X))
		s.Smooth(c.Lambda, c.Y, c.W, got)
		check("fit", got, c.Fit, 1e-10)
		check("fit by mgcv", got, c.Mgcv.Fit, 1.01*c.Mgcv.MaxAbsDiff/size+1e-10)
		s.Smooth(1, c.Y, c.W, got)
		check("fit at 1", got, c.Fit1, 1e-10)
		s.Smooth(100, c.Y, c.W, got)
		check("fit at 100", got, c.Fit100, 1e-10)
		s.FitAt(c.Lambda, c.Y, c.W, got)
		check("twiced fit", got, c.Twice, 1e-10)
		relative(t, name+" criterion", s.Criterion(c.Lambda, c.Y, c.W), c.Crit, 1e-10)
		relative(t, name+" criterion at 1", s.Criterion(1, c.Y, c.W), c.Crit1, 1e-10)
		// The file's λ is the minimum over all λ, so the grid's argmin is next to it.
		if lambda := s.Fit(c.Y, c.W, got, 0); math.Abs(math.Log10(lambda/c.Lambda)) > .5 {
			t.Errorf("%s: λ on the grid is %g, the minimum at %g", name, lambda, c.Lambda)
		}
	}
}

// dense is the smoother by dense linear algebra: no band, no differences.
type dense struct {
	p *mat.SymDense
	b int
	x []float64
}

func newDense(x []float64) dense {
	b := len(x)
	d := mat.NewDense(b-2, b, nil)
	for i := range b - 2 {
		h1, h2 := x[i+1]-x[i], x[i+2]-x[i+1]
		c := math.Sqrt((h1 + h2) / 2)
		d.Set(i, i, c*2/(h1*(h1+h2)))
		d.Set(i, i+1, -c*2/(h1*h2))
		d.Set(i, i+2, c*2/(h2*(h1+h2)))
	}
	var p mat.Dense
	p.Mul(d.T(), d)
	s := mat.NewSymDense(b, nil)
	for i := range b {
		for j := i; j < b; j++ {
			s.SetSym(i, j, p.At(i, j))
		}
	}
	return dense{s, b, x}
}

// fit returns Sy and log|W + λP|.
func (d dense) fit(lambda float64, y, w []float64) (*mat.VecDense, float64) {
	a := mat.NewSymDense(d.b, nil)
	rhs := mat.NewVecDense(d.b, nil)
	for i := range d.b {
		for j := i; j < d.b; j++ {
			a.SetSym(i, j, lambda*d.p.At(i, j))
		}
		a.SetSym(i, i, a.At(i, i)+w[i])
		rhs.SetVec(i, w[i]*y[i])
	}
	var c mat.Cholesky
	if !c.Factorize(a) {
		panic("not positive definite")
	}
	var z mat.VecDense
	if err := c.SolveVecTo(&z, rhs); err != nil {
		if _, ok := err.(mat.Condition); !ok {
			panic(err)
		}
	}
	return &z, c.LogDet()
}

// criterion takes y less its weighted line first, which changes nothing but the
// rounding.
func (d dense) criterion(lambda float64, y, w []float64) float64 {
	a, k := stat.LinearRegression(d.x, y, w, false)
	y = slices.Clone(y)
	for i := range y {
		y[i] -= a + k*d.x[i]
	}
	z, logdet := d.fit(lambda, y, w)
	rss, positive := 0.0, 0
	for i := range y {
		if w[i] > 0 {
			positive++
		}
		rss += w[i] * (y[i] - z.AtVec(i)) * (y[i] - z.AtVec(i))
	}
	nu := float64(positive - 2)
	phi := (rss + lambda*mat.Inner(z, d.p, z)) / nu
	return nu*math.Log(phi) + logdet - float64(d.b-2)*math.Log(lambda)
}

// bins draws uneven nodes, noisy rates and weights; some weights are 0 if gappy.
func bins(t *rapid.T, gappy bool) (x, y, w []float64) {
	b := rapid.IntRange(4, 24).Draw(t, "bins")
	noise := rapid.Float64Range(.001, .2).Draw(t, "noise")
	slope := rapid.Float64Range(-.1, .1).Draw(t, "slope")
	bend := rapid.Float64Range(-.02, .02).Draw(t, "bend")
	at := 0.0
	positive := 0
	for i := range b {
		at += rapid.Float64Range(.4, 1.6).Draw(t, "gap")
		n := float64(rapid.IntRange(1, 800).Draw(t, "weight"))
		if gappy && rapid.IntRange(0, 3).Draw(t, "empty") == 0 && b-i > 4-positive {
			n = 0
		} else {
			positive++
		}
		e := rapid.Float64Range(-1, 1).Draw(t, "error")
		x = append(x, at)
		w = append(w, n)
		y = append(y, .3+slope*at+bend*at*at+noise*e)
	}
	a, k := stat.LinearRegression(x, y, w, false)
	size := 0.0
	for i := range x {
		size = max(size, w[i]*math.Abs(y[i]-a-k*x[i]))
	}
	if size < 1e-6 {
		t.Skip("a straight line: every λ fits")
	}
	return x, y, w
}

// TestLambdaIsTheGridsArgmin compares the search, which works in the space of
// differences and stops early, with dense algebra at every λ of the grid.
func TestLambdaIsTheGridsArgmin(t *testing.T) {
	for _, gappy := range []bool{false, true} {
		rapid.Check(t, func(t *rapid.T) {
			x, y, w := bins(t, gappy)
			grid := stats.LambdaGrid(rapid.IntRange(1, 4).Draw(t, "steps"))
			s, d := stats.NewSmoother(x, grid), newDense(x)
			got := make([]float64, len(x))
			lambda := s.Fit(y, w, got, grid[3])
			best, at, chosen := math.Inf(1), 0.0, 0.0
			for _, l := range grid {
				c := d.criterion(l, y, w)
				if math.Abs(c-s.Criterion(l, y, w)) > 1e-5*max(1, math.Abs(c)) {
					t.Fatalf("criterion at %g: got %.15g, want %.15g", l, s.Criterion(l, y, w), c)
				}
				if c < best {
					best, at = c, l
				}
				if l == lambda {
					chosen = c
				}
			}
			if lambda != at && !(chosen-best < 1e-5) { // dense algebra is good to about that
				t.Fatalf("λ is %g with %.15g, the grid's least is %g with %.15g", lambda, chosen, at, best)
			}
			// Twicing, densely.
			z, _ := d.fit(lambda, y, w)
			rest := make([]float64, len(y))
			for i := range y {
				rest[i] = y[i] - z.AtVec(i)
			}
			r, _ := d.fit(lambda, rest, w)
			for i := range got {
				if math.Abs(got[i]-z.AtVec(i)-r.AtVec(i)) > 1e-6 {
					t.Fatalf("fit at %d: got %.15g, want %.15g", i, got[i], z.AtVec(i)+r.AtVec(i))
				}
			}
		})
	}
}

// TestSearchNeverStopsTooEarly compares the early stop with the same criterion
// at every λ, to the last bit of the choice unless two are within rounding.
func TestSearchNeverStopsTooEarly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := bins(t, false)
		if rapid.Bool().Draw(t, "rough") { // λ small
			for i := range y {
				y[i] += 5 * float64(i%2)
				w[i] *= 1e4
			}
		}
		grid := stats.LambdaGrid(2)
		s := stats.NewSmoother(x, grid)
		lambda := s.Fit(y, w, make([]float64, len(x)), 0)
		best := s.Criterion(lambda, y, w)
		for _, l := range grid {
			if c := s.Criterion(l, y, w); c < best-1e-6*max(1, math.Abs(best)) {
				t.Fatalf("λ = %g has %.12g, below %.12g at the choice %g", l, c, best, lambda)
			}
		}
	})
}

// TestManyNodes: determinants of many pivots neither overflow nor vanish.
func TestManyNodes(t *testing.T) {
	const b = 200
	x, y, w := make([]float64, b), make([]float64, b), make([]float64, b)
	for _, c := range []struct {
		weight, want float64
		y            func(i int) float64
	}{
		{1e9, 1e-4, func(i int) float64 { return float64(i%2) + .1*float64(i%3) }}, // all signal
		{1e-3, 1e7, func(i int) float64 { return .01 * float64(i) * float64(i) / b }},
	} {
		for i := range x {
			x[i], y[i], w[i] = float64(i), c.y(i), c.weight
		}
		s := stats.NewSmoother(x, stats.LambdaGrid(2))
		best, at := math.Inf(1), 0.0
		for _, l := range stats.LambdaGrid(2) {
			if v := s.Criterion(l, y, w); v < best {
				best, at = v, l
			}
		}
		if got := s.Fit(y, w, make([]float64, b), 1); got != at || math.IsInf(best, 0) {
			t.Errorf("weights %g: λ %g, least criterion at %g", c.weight, got, at)
		}
	}
}

// TestSmootherProperties: straight lines are kept, the fit is equivariant, the
// operator is the fit.
func TestSmootherProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, w := bins(t, rapid.Bool().Draw(t, "gappy"))
		s := stats.NewSmoother(x, stats.LambdaGrid(2))
		lambda := math.Pow(10, rapid.Float64Range(-4, 7).Draw(t, "log λ"))
		a, b := make([]float64, len(x)), make([]float64, len(x))
		line := make([]float64, len(x))
		for i := range x {
			line[i] = 2 - 3*x[i]
		}
		s.FitAt(lambda, line, w, a)
		for i := range x {
			if math.Abs(a[i]-line[i]) > 1e-7*60 {
				t.Fatalf("a straight line bends at %d by %g", i, a[i]-line[i])
			}
		}
		s.FitAt(lambda, y, w, a)
		op := s.Operator(lambda, w)
		for i := range x {
			b[i] = 0
			for j := range x {
				b[i] += op[i*len(x)+j] * y[j]
			}
			if math.Abs(a[i]-b[i]) > 1e-6 {
				t.Fatalf("operator and fit differ at %d: %g", i, a[i]-b[i])
			}
		}
	})
}

func TestSmootherEdges(t *testing.T) {
	grid := stats.LambdaGrid(2)
	near(t, "size of the grid", float64(len(grid)), 23, 0)
	near(t, "first", grid[0], 1e-4, 1e-16)
	near(t, "last", grid[22], 1e7, 1e-9)
	for _, y := range [][]float64{{.3}, {.3, .5}} {
		x := []float64{1, 2}[:len(y)]
		got := make([]float64, len(y))
		stats.NewSmoother(x, grid).Fit(y, []float64{5, 7}[:len(y)], got, 1)
		allNear(t, "fewer than 3 nodes", got, y, 0)
	}
	// Three nodes say nothing about λ.
	got := make([]float64, 3)
	near(t, "three nodes", stats.NewSmoother([]float64{1, 2, 3}, grid).Fit([]float64{0, 1, 0}, []float64{1, 1, 1}, got, 10), 10, 0)
	gappy := make([]float64, 5)
	lambda := stats.NewSmoother([]float64{1, 2, 3, 4, 5}, grid).Fit([]float64{0, 0, 1, 0, 0}, []float64{1, 0, 2, 0, 3}, gappy, 10)
	near(t, "three nodes with weight", lambda, 10, 0)
	// All rates alike: any λ fits, and the fit is the rate.
	y, w := []float64{.25, .25, .25, .25, .25}, []float64{5, 6, 7, 8, 9}
	got = make([]float64, 5)
	stats.NewSmoother([]float64{1, 2, 3, 4, 5}, grid).Fit(y, w, got, 1)
	allNear(t, "constant", got, y, 1e-15)
	panics(t, "nodes out of order", func() { stats.NewSmoother([]float64{1, 1}, grid) })
	panics(t, "grid out of order", func() { stats.NewSmoother([]float64{1, 2}, []float64{2, 1}) })
	panics(t, "one node with weight", func() {
		stats.NewSmoother([]float64{1, 2, 3}, grid).Fit(make([]float64, 3), []float64{1, 0, 0}, make([]float64, 3), 1)
	})
}

// TestSmootherTie: of two parameters with the same criterion the smaller is
// taken, whether every node has weight or not. The two are neighbouring floating
// point numbers, and weights are such that both give the same digits.
func TestSmootherTie(t *testing.T) {
	grid := []float64{1, math.Nextafter(1, 2)}
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7}
	y := []float64{.2, .5, .1, .4, .6, .2, .7, .3}
	s := stats.NewSmoother(x, grid)
	ties := 0
	for _, c := range []struct {
		weight float64
		empty  int // node without weight; −1 for none
	}{{1, -1}, {.5, -1}, {1e6, 3}, {3e6, 5}} {
		w := slices.Repeat([]float64{c.weight}, len(x))
		if c.empty >= 0 {
			w[c.empty] = 0
			if s.Criterion(grid[0], y, w) != s.Criterion(grid[1], y, w) {
				continue // the neighbour differs in its last digit: no tie
			}
		}
		ties++
		if got := s.Fit(y, w, make([]float64, len(x)), math.NaN()); got != grid[0] {
			t.Errorf("weight %v, empty node %d: λ is 1 + %g", c.weight, c.empty, got-1)
		}
	}
	if ties < 3 {
		t.Errorf("only %d ties: no test", ties)
	}
}
