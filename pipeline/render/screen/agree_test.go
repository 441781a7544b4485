package screen

import (
	"strings"
	"testing"

	"sill/pipeline/locate"
	"sill/pipeline/render/screen/fixture"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// TestSentencesAgree: where limits leave out 0 and q is above .10, or the reverse, the
// sentence names q and how many comparisons it allows for; where they agree it names q.
func TestSentencesAgree(t *testing.T) {
	num := fixture.Num
	v := variableOf("velocity", "mph")
	row := func(kind, verdict string, lo, hi, q float64) thresholds.Contrast {
		return thresholds.Contrast{Kind: kind, Outcome: "whiff_rate", Verdict: verdict, X: num(93), Estimate: num((lo + hi) / 2),
			Lo: num(lo), Hi: num(hi), P: num(q / 2), Q: num(q), Together: 96}
	}
	pair := func(verdict string, lo, hi, q float64) *pairOf {
		c := row(locate.KindLevel, verdict, lo, hi, q)
		return &pairOf{Contrast: c, points: []thresholds.Contrast{c}}
	}
	gap := func(verdict string, lo, hi, q float64) string {
		change := row(locate.KindPlatoon, verdict, lo, hi, q)
		change.X = nil
		rows := []thresholds.Contrast{change}
		for range 3 {
			rows = append(rows, row(locate.KindPlatoon, verdict, lo, hi, q))
		}
		return gapWords(GapsOf(rows)[0], v)
	}
	slopes := func(shown string, lo, hi, q float64) string {
		e := Evidence{Verdict: BoardRow{Verdict: thresholds.Verdict{SD: num(2)}}, Slope: &thresholds.Slope{Shown: shown, Together: 96,
			Within: num((lo + hi) / 2), WithinLo: num(lo), WithinHi: num(hi), WithinQ: num(q), Between: num(0), BetweenLo: num(-1), BetweenHi: num(1), BetweenQ: num(1),
			Difference: num((lo + hi) / 2), DifferenceLo: num(lo), DifferenceHi: num(hi), DifferenceQ: num(q)}}
		e.Slope.Outcome = "whiff_rate"
		return strings.Join(e.slopeWords(v), ". ")
	}
	const allowing = " after allowing for 96 comparisons, q .140"
	for _, c := range []struct{ got, want, never string }{
		{toldOf(row(locate.KindBreakpoint, locate.NotDiffering, -3.8, -1, .14)), "not shown to differ" + allowing, ""},
		{toldOf(row(locate.KindBreakpoint, locate.NotDiffering, -3.8, 1, .14)), "not shown to differ, q .140", "allowing"},
		{toldOf(row(locate.KindBreakpoint, locate.Differs, -3.8, -1, .02)), "differs, q .020", "allowing"},
		{pair(locate.NotDiffering, -.08, -.01, .14).told(v), "not shown to differ" + allowing, "ahead"},
		{pair(locate.NotDiffering, -.08, .01, .14).told(v), "not shown to differ, q .140", "allowing"},
		{pair(locate.Differs, .01, .08, .0004).told(v), "q < .001", "allowing"},
		{pair(locate.Differs, -.01, .08, .04).told(v), "differs over the whole curve, at no single value, q .040", "allowing"},
		{pair(locate.EqualWithin, .001, .008, .3).told(v), "equal but for less than .020, q .300", "allowing"},
		{gap(locate.CannotTell, .002, .085, .14), "a change not shown" + allowing, "worth more"},
		{gap(locate.CannotTell, -.002, .085, .14), "a change not shown, q .140", "worth more"},
		{gap(locate.Splits, .002, .085, .02), "worth more against same-handed batters, +.044 (+.002 to +.085) from low to high, q .020", "not shown"},
		{gap(locate.Splits, -.085, -.002, .02), "worth more against opposite-handed batters", "not shown"},
		{gap(locate.Splits, -.085, .002, .02), "most in the middle third", "worth more"},
		{slopes(locate.ShownBetween, .001, .04, .14), "(+.001 to +.040), not shown" + allowing + ", among", ""},
		{slopes(locate.ShownBetween, .001, .04, .14), "the two are not shown to differ" + allowing, "the two differ"},
		{slopes(locate.ShownWithin, -.001, .04, .09), "(−.001 to +.040), shown after allowing for 96 comparisons, q .090", ""},
		{slopes(locate.ShownWithin, .001, .04, .02), "(+.001 to +.040), shown, q .020", "differ after"},
	} {
		got := words.Plain(c.got)
		if !strings.Contains(got, c.want) || c.never != "" && strings.Contains(got, c.never) {
			t.Errorf("%q does not say %q, or says %q", got, c.want, c.never)
		}
	}
}

// TestOpenLimits: of a breakpoint with an open limit nothing says that it is known how
// far it lies.
func TestOpenLimits(t *testing.T) {
	v := variableOf("velocity", "mph")
	for _, c := range []struct {
		lo, hi *float64
		want   string
	}{
		{fixture.Num(92), fixture.Num(94), "it lies between 92.0 and 94.0 mph, with 95 % confidence"},
		{fixture.Num(92), nil, "it lies above 92.0 mph, with 95 % confidence; how far above is not known"},
		{nil, fixture.Num(94), "it lies below 94.0 mph, with 95 % confidence; how far below is not known"},
		{nil, nil, "it has a limit on neither side: where it lies is not known"},
	} {
		b := breakpoint{at: 93, lo: c.lo, hi: c.hi}
		if got := words.Plain(b.sure(v, .02)[0]); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
		if open := c.lo == nil || c.hi == nil; open != strings.Contains(b.words(v), "?") {
			t.Errorf("%q", b.words(v))
		}
	}
}

// TestUntyped: pitches without a type of their own are told apart, each once, and are
// not among the too few.
func TestUntyped(t *testing.T) {
	row := func(pitchType, side, outcome, verdict string, pitches int64) thresholds.Verdict {
		return thresholds.Verdict{Key: fixture.Key("left", side, pitchType, "velocity", outcome), Reference: thresholds.HeadlineReference, Verdict: verdict, Pitches: pitches}
	}
	fast := row("four_seam", "left", "whiff_rate", locate.Found, 900)
	for _, c := range []struct {
		rows  []thresholds.Verdict
		want  string
		tally string
	}{
		{nil, "", "1 found"},
		{[]thresholds.Verdict{row("", "left", "whiff_rate", locate.TooFew, 300), row("", "left", "woba_against", locate.TooFew, 300), row("", "right", "whiff_rate", locate.TooFew, 200)},
			"500 pitches without a type are in no table", "1 found"},
		{[]thresholds.Verdict{row("", "left", "whiff_rate", locate.TooFew, 1)}, "1 pitch without a type is in no table", "1 found"},
		{[]thresholds.Verdict{row("", "left", "whiff_rate", locate.TooFew, 1200), row("other", "left", "whiff_rate", locate.TooFew, 30), row("eephus", "left", "whiff_rate", locate.TooFew, 3)},
			"1,200 pitches without a type and 30 pitches of other types are in no table",
			"1 found, 1 too few"},
	} {
		rows := append([]thresholds.Verdict{fast}, c.rows...)
		if got := untyped(rows); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
		if got := Tally(&thresholds.Tables{Verdicts: rows}, thresholds.HeadlineReference); got != c.tally {
			t.Errorf("tally %q, want %q", got, c.tally)
		}
	}
}
