package words_test

import (
	"slices"
	"testing"

	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// The outcomes are those of the pipeline, told in its words.
func TestOutcomes(t *testing.T) {
	if len(words.Outcomes) != len(outcome.Metrics) {
		t.Errorf("%d outcomes, want %d", len(words.Outcomes), len(outcome.Metrics))
	}
	for _, m := range outcome.Metrics {
		if o := words.OutcomeOf(m.Name); o.Title != m.Title || o.Sign != m.Sign || o.Events != m.Events || o.Per == "" || o.Did == "" {
			t.Errorf("outcome %+v, want %+v", o, m)
		}
	}
	if got := words.OutcomeOf("ball_rate"); got.Title != "ball rate" || got.Batters(.25) != "ball rate was .250" {
		t.Errorf("an unknown outcome %+v", got)
	}
}

// Each verdict that the pipeline gives has all its words.
func TestVerdicts(t *testing.T) {
	all := []string{locate.Found, locate.AlwaysBeats, locate.NeverBeats, locate.EdgeUnresolved, locate.Inconclusive, locate.TooFew}
	if len(words.Verdicts) != len(all) {
		t.Errorf("%d verdicts, want %d", len(words.Verdicts), len(all))
	}
	for i, word := range all {
		v := words.VerdictOf(word)
		if words.VerdictAt(word) != i || v.Word != word || v.Meaning == "" || v.Legend == "" || v.Short == "" || v.Told == "" {
			t.Errorf("%s is told as %+v", word, v)
		}
	}
	if v := words.VerdictOf("more_or_less"); v.Short != "more or less" || words.VerdictAt(v.Word) != len(all) {
		t.Errorf("an unknown verdict is told as %+v", v)
	}
}

// Where a slope is shown, by the pipeline's words.
func TestSlopesShown(t *testing.T) {
	for code, want := range map[string][2]bool{locate.ShownBoth: {true, true}, locate.ShownOpposite: {true, true}, locate.ShownWithin: {true, false},
		locate.ShownBetween: {false, true}, locate.ShownNeither: {}, locate.ShownNot: {}} {
		if within, between := words.SlopesShown(code); within != want[0] || between != want[1] {
			t.Errorf("%s: %v, %v", code, within, between)
		}
	}
}

// Each word that the pipeline writes into a column has its meaning, and no other.
func TestLists(t *testing.T) {
	want := map[string][]string{
		"reference": {estimate.TypeMedian, estimate.TypeRate, estimate.HandMedian, estimate.HandRate, estimate.MatchupMedian,
			estimate.MatchupRate, estimate.LeagueMedian, estimate.LeagueRate, estimate.StratumMedian, estimate.StratumRate, estimate.Fixed},
		"level_verdict":              {locate.Above, locate.Below, locate.NotShown},
		"trend":                      {locate.Rising, locate.Falling, locate.Turning, locate.Flat},
		"lower_kind, upper_kind":     {"edge", "open", "unresolved"},
		"beyond_lower, beyond_upper": {"keeps_rising", "holds", "falls_back", "cannot_tell"},
		"kind of a bin":              {estimate.Regular, estimate.OpenLow, estimate.OpenHigh, estimate.Missing},
		"kind of a contrast":         {locate.KindLevel, locate.KindBreakpoint, locate.KindPlatoon},
		"verdict of a contrast":      {locate.Differs, locate.NotDiffering, locate.EqualWithin, locate.NotEstimable},
		"verdict of platoon":         {locate.Splits, locate.Travels, locate.CannotTell},
	}
	lists := words.Lists()
	if len(lists) != len(want) {
		t.Errorf("%d lists, want %d", len(lists), len(want))
	}
	for _, l := range lists {
		var got []string
		for _, w := range l.Words {
			got = append(got, w.Word)
			if w.Meaning == "" {
				t.Errorf("%s: %s has no meaning", l.Column, w.Word)
			}
		}
		if !slices.Equal(got, want[l.Column]) {
			t.Errorf("%s: %q, want %q", l.Column, got, want[l.Column])
		}
	}
	if words.AnswerWarnings[0].Word != thresholds.CentralRange {
		t.Errorf("caveat %q, want %q", words.AnswerWarnings[0].Word, thresholds.CentralRange)
	}
}

func TestVocabulary(t *testing.T) {
	for _, m := range pitch.Matchups {
		if got := words.Matchup(m.Hand.String(), m.Side.String()); got != m.String() {
			t.Errorf("matchup %s, want %s", got, m)
		}
	}
	lo, hi, down := 92.6, 93.9, -.5
	number := func(x float64) string { return words.Number(x, 1) }
	for got, want := range map[string]string{
		words.Type("four_seam"):                             "four-seam",
		words.Type("knuckle_curve"):                         "knuckle curve",
		words.Type(""):                                      "",
		words.Matchup("left", ""):                           "L-v-?",
		words.Cell("four_seam", "left", "right"):            "four-seam L-v-R",
		words.Cell("sinker", "", ""):                        "sinker",
		words.Handed("left", "right"):                       "left-handed pitchers against right-handed batters",
		words.PairMatchups("mirror_same"):                   "L-v-L against R-v-R",
		words.PairMatchups("pitch_types"):                   "pitch types",
		words.PairMatchups("odd_pair"):                      "odd pair",
		words.Line("hand_median"):                           "median pitcher of this pitch type within the pitcher's hand",
		words.Line("league_rate"):                           "pooled rate of the league over all pitch types",
		words.Line("league_mode"):                           "league mode",
		words.Line("fixed"):                                 "fixed",
		words.LineOn("matchup_median", "on the sinker"):     "rate of the median pitcher on the sinker in the same matchup",
		words.LineOn("league_rate", "on the sinker"):        "pooled rate over all pitch types",
		words.LineOn("league_mode", "on the sinker"):        "league mode",
		words.LineOn("of_all", "on the sinker"):             "of all",
		words.OutcomeOf("whiff_rate").Batters(.245):         "batters missed .245 of their swings",
		words.OutcomeOf("woba_against").Batters(.31):        "batters' wOBA was .310",
		words.Plain(words.WithUnit("93", "mph")):            "93 mph",
		words.WithUnit("93", ""):                            "93",
		words.OrDash(nil, number):                           "–",
		words.OrDash(&lo, number):                           "92.6",
		words.Interval(&lo, &hi, number):                    "(92.6–93.9)",
		words.Interval(nil, &hi, number):                    "(?–93.9)",
		words.Interval(&down, &hi, number):                  "(−0.5 to 93.9)",
		words.Plain(words.SpanOf(nil, &hi, number)):         "? to 93.9",
		words.SpanOf(&lo, &hi, number):                      "92.6–93.9",
		words.WithLimits(.081, .06, .102, words.SignedRate): "+.081 (+.060 to +.102)",
		words.Plain(words.Probability(.0004)):               "< .001",
		words.Probability(.04):                              ".040",
		words.Plain(words.WholePercent(.004)):               "< 1 %",
		words.Plain(words.WholePercent(.126)):               "13 %",
		words.Ordinal(0):                                    "1st",
		words.Ordinal(11.6):                                 "12th",
		words.Ordinal(52):                                   "52nd",
		words.Ordinal(83.2):                                 "83rd",
		words.Ordinal(100):                                  "99th",
		words.About(1234):                                   "1,300",
		words.About(7.2):                                    "8",
		words.About(7):                                      "7",
		words.Listed([]string{"a"}):                         "a",
		words.Listed([]string{"a", "b"}):                    "a and b",
		words.Listed([]string{"a", "b", "c"}):               "a, b and c",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
