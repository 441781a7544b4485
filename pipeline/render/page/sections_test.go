package page

import (
	"reflect"
	"testing"

	"sill/pipeline/render/curve"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// TestContrastsOfSplits demands that comparisons of splits are neither counted
// nor shown among those over all pitches.
func TestContrastsOfSplits(t *testing.T) {
	tables, m := fixture()
	want := tellContrasts(tables.Contrasts, &m, thresholds.HeadlineReference)
	if len(want.Edges) != 2 || want.NotEstimable != 1 || len(want.Levels) != 1 {
		t.Fatalf("over all pitches: %+v", want)
	}
	for _, c := range tables.Contrasts {
		c.Stratum = "fastball_height_third:upper"
		tables.Contrasts = append(tables.Contrasts, c)
	}
	if got := tellContrasts(tables.Contrasts, &m, thresholds.HeadlineReference); !reflect.DeepEqual(got, want) {
		t.Errorf("with those of a split: %+v, want %+v", got, want)
	}
}

// TestHandsAndFacing demands what splits, travels, or stands out in a row of its
// own, the rest in a count, and nothing of splits.
func TestHandsAndFacing(t *testing.T) {
	tables, m := fixture()
	for _, c := range tables.Contrasts {
		c.Stratum = "fastball_height_third:upper"
		tables.Contrasts = append(tables.Contrasts, c)
	}
	h := tellHands(tables.Contrasts, &m)
	if h.All != 3 || h.Splits != 1 || h.Travels != 1 || h.Untold != 1 || len(h.Rows) != 2 {
		t.Fatalf("across hands: %+v", h)
	}
	want := []gap{{"90.9", "−.020", "−.040\u00a0to\u00a0.000"}, {"92.9", ".000", "−.020\u00a0to\u00a0+.020"}, {"94.9", "+.020", ".000\u00a0to\u00a0+.040"}}
	if r := h.Rows[0]; !reflect.DeepEqual(r.Thirds, want) || r.Means != "same-handed" || r.Change.By != "+.047" {
		t.Errorf("what splits: %+v", r)
	}
	f := tellFacing(tables.Opponents)
	if f.Told != 3 || f.Clear != 2 || len(f.Rows) != 2 || f.Rows[0].Batters != "worse" || f.Rows[1].Batters != "better" || f.Rows[1].By != "+.031" {
		t.Errorf("who was facing: %+v", f)
	}
}

// TestSentencesAgree: where the interval leaves out 0 and nothing is shown, q and the
// number of comparisons stand beside it.
func TestSentencesAgree(t *testing.T) {
	c := thresholds.Contrast{Kind: "breakpoint", HandA: "left", SideA: "left", TypeA: "four_seam", HandB: "left", SideB: "right", TypeB: "four_seam",
		Variable: "velocity", Outcome: "whiff_rate", Reference: thresholds.HeadlineReference, Estimate: num(-1.8), Lo: num(-3.8), Hi: num(-1),
		Q: num(.14), Together: 96, Verdict: "not_shown_to_differ"}
	sure, open := c, c
	sure.Verdict, sure.Q = "differs", num(.02)
	open.Hi = num(1)
	var got []string
	for _, e := range tellContrasts([]thresholds.Contrast{c, sure, open}, &thresholds.Manifest{}, thresholds.HeadlineReference).Edges {
		got = append(got, words.Plain(e.Verdict))
	}
	if want := []string{"not shown to differ after allowing for 96 comparisons, q .140", "differs, q .020", "not shown to differ, q .140"}; !reflect.DeepEqual(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	p := panel{slope: &thresholds.Slope{Shown: "between", Together: 896, Within: num(.027), WithinLo: num(.001), WithinHi: num(.053), WithinQ: num(.14),
		Between: num(.033), BetweenLo: num(.026), BetweenHi: num(.041), BetweenQ: num(.001)}}
	q := curve.Quality{Width: 1}
	if got, want := words.Plain(p.slopes(q).Within), "+.027 (+.001 to +.053), not shown after allowing for 896 comparisons, q .140"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := p.slopes(q).Between, "+.033 (+.026 to +.041)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	changed := change{DifferenceLo: num(-3.8), DifferenceHi: num(-1), Q: num(.14), Together: 96}
	if got, want := words.Plain(changed.not("no move shown")), "no move shown after allowing for 96 comparisons, q .140"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	changed.DifferenceHi = num(1)
	if got := changed.not("no move shown"); got != "no move shown" {
		t.Errorf("%q", got)
	}
}

// TestSplits: the sentence counts by the page's line only, and names what ran out.
func TestSplits(t *testing.T) {
	row := func(stratum, verdict string) thresholds.Verdict {
		return thresholds.Verdict{Key: thresholds.Key{Stratum: stratum}, Reference: "pitch_type_median", Verdict: verdict}
	}
	other := row("count:even", "too_few")
	other.Reference = "pitch_type_rate"
	got := tellSplits([]thresholds.Verdict{row("", "too_few"), row("count:ahead", "too_few"), row("count:ahead", "found"), row("count:ahead", "too_few"),
		row("count:two_strikes", "found"), row("count:two_strikes", "too_few"), other, row("season:2031", "inconclusive")}, "pitch_type_median")
	want := []string{"Split by count: too few pitches or pitchers in 3 of 5 cells. Ran out of data: ahead (2 of 3).",
		"Split by season: too few pitches or pitchers in 0 of 1 cell."}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %q", got)
	}
}
