package stats_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// vector reads reference numbers into a struct. Each file names its source; the
// numbers printed in it carry 15 significant digits.
func vector(t testing.TB, name string, into any) {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("..", "testdata", "vectors", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(src, into); err != nil {
		t.Fatal(err)
	}
}

// near fails unless got equals want within tol of the larger of 1 and |want|.
func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: got %.17g, want %.17g (off by %.2g, allowed %.2g)", what, got, want, got-want, tol)
	}
}

// allNear is near on every element of two slices of the same length.
func allNear(t testing.TB, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d values, want %d", what, len(got), len(want))
	}
	for i := range want {
		near(t, what, got[i], want[i], tol)
	}
}

// panics fails unless f panics.
func panics(t testing.TB, what string, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Errorf("%s: no panic", what)
		}
	}()
	f()
}
