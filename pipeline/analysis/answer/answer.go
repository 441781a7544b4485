// Package answer holds what the answers to all questions are made of: numbers with
// their limits, what an answer is about, the confirmed breakpoints of a version,
// groups of pitches that are compared, families of tests, and the words in common.
//
// It asks no question of its own.
package answer

import (
	"math"

	"sill/stats"
)

// Discovery is the share of false discoveries tolerated among the tests of a family.
const Discovery = .10

// The least sample on each side of a comparison.
const (
	MinPitchers  = 5
	MinEffective = 3 // effective number of pitchers
)

// NaN is a number that is not known.
var NaN = math.NaN()

// Estimate is a number with its 95 % limits: NaN where too few tell, infinite where a
// limit is open.
type Estimate struct{ X, Lo, Hi float64 }

// Unknown is an estimate of which nothing is told.
var Unknown = Estimate{NaN, NaN, NaN}

// Student is x with the limits that Student's t gives a standard error.
func Student(x, se, df float64) Estimate {
	half := float64(stats.TQuantile(.975, df) * se)
	return Estimate{x, x - half, x + half}
}

// Normal is what is known of a number that is normally distributed.
func Normal(n stats.Normal) Estimate {
	lo, hi := n.Limits()
	return Estimate{n.Mean, lo, hi}
}

// Apart tells whether the limits leave out 0.
func (e Estimate) Apart() bool { return e.Lo > 0 || e.Hi < 0 }

// Columns are number and limits as a row has them: null where there is no number.
func (e Estimate) Columns() (x, lo, hi *float64) { return Null(e.X), Null(e.Lo), Null(e.Hi) }

// Null is x, or nil where it is no number.
func Null(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// Or returns *p, or otherwise where it is nil.
func Or(p *float64, otherwise float64) float64 {
	if p == nil {
		return otherwise
	}
	return *p
}

// Family is a family of tests: among those of them that are found, few are false.
type Family struct {
	p []float64
	q []*float64
}

// Add enters a test with its p; q is where Control writes what the family makes of it.
func (f *Family) Add(p float64, q *float64) {
	f.p, f.q = append(f.p, p), append(f.q, q)
}

// Size is how many tests were entered.
func (f *Family) Size() int64 { return int64(len(f.p)) }

// Control writes every test's q: its p after Benjamini-Hochberg.
func (f *Family) Control() {
	for i, q := range stats.BenjaminiHochberg(f.p) {
		*f.q[i] = q
	}
}
