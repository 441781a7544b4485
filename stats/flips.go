package stats

// FlipTest tests whether a curve is flat by flipping the signs of whole
// clusters. It belongs to one goroutine.
type FlipTest struct{}

// FlipResult is the outcome of a flip test.
type FlipResult struct {
	P      float64 // combined: min of the two, calibrated on the same flips
	PShape float64 // three orthonormal polynomials
	PCut   float64 // largest of the cuts
	Shape  float64 // Q
	Cut    float64 // largest S_c²/V_c
	Flips  int     // sign vectors, without the data's own unless exact
	Exact  bool    // all sign vectors were listed
}

// NewFlipTest prepares the scores of a table. The stream of signs is that of
// the seed.
func NewFlipTest(t *Table, seed [32]byte) *FlipTest { panic("todo") }

// Run returns the result at the number of flips given, reusing those already
// made. All sign vectors are listed instead where they are no more than that.
func (f *FlipTest) Run(flips int) FlipResult { panic("todo") }

// EnoughFlips returns the smallest of 9,999, 99,999 and 999,999 flips whose
// smallest p can pass Benjamini–Hochberg at q in a family of so many tests with
// room to spare: 1/(R+1) ≤ q/(2·tests); 999,999 where none is enough.
func EnoughFlips(tests int, q float64) int { panic("todo") }
