package words_test

import (
	"testing"

	"sill/pipeline/render/words"
)

// Limits that leave out 0 beside a difference that is not shown, or the reverse, need
// the q and the number of comparisons.
func TestTold(t *testing.T) {
	num := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		decided  string
		shown    bool
		lo, hi   *float64
		q        *float64
		together int64
		want     string
	}{
		{"not shown to differ", false, num(-3.8), num(-1), num(.14), 96, "not shown to differ after allowing for 96 comparisons, q .140"},
		{"not shown to differ", false, num(1), nil, num(.14), 0, "not shown to differ after allowing for all comparisons of its kind, q .140"},
		{"not shown to differ", false, num(-3.8), num(1), num(.6), 96, "not shown to differ, q .600"},
		{"not shown to differ", false, nil, num(1), num(.6), 96, "not shown to differ, q .600"},
		{"differs", true, num(-3.8), num(-1), num(.0004), 96, "differs, q < .001"},
		{"shown", true, num(-.1), num(1), num(.09), 96, "shown after allowing for 96 comparisons, q .090"},
		{"not estimable", false, nil, nil, nil, 96, "not estimable"},
	} {
		got := words.Plain(words.Told(c.decided, words.Apart(c.lo, c.hi) == c.shown, c.q, c.together))
		if got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
