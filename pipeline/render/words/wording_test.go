package words_test

import (
	"testing"

	"sill/pipeline/render/words"
)

func TestWording(t *testing.T) {
	for got, want := range map[string]string{
		words.Number(-1.25, 1):      "−1.2",
		words.Number(-.004, 2):      "0.00",
		words.Signed(.5, 1):         "+0.5",
		words.Signed(-.5, 1):        "−0.5",
		words.Signed(-.0001, 3):     "0.000",
		words.Number(-4.25, 1):      "−4.2",
		words.Number(-.04, 1):       "0.0",
		words.Number(12, 0):         "12",
		words.Rate(.2214):           ".221",
		words.Rate(0):               ".000",
		words.Rate(1):               "1.000",
		words.Rate(-1.2):            "−1.200",
		words.SignedRate(-.02):      "−.020",
		words.SignedRate(0):         ".000",
		words.Count(0):              "0",
		words.Rate(.2345):           ".234",
		words.Rate(1.5):             "1.500",
		words.Rate(10.5):            "10.500",
		words.Rate(-.02):            "−.020",
		words.SignedRate(.02):       "+.020",
		words.SignedRate(-.0002):    ".000",
		words.Count(999):            "999",
		words.Count(1000):           "1,000",
		words.Count(-1234567):       "−1,234,567",
		words.Count(-100):           "−100",
		words.Plural(1, "pitch"):    "1 pitch",
		words.Plural(1200, "swing"): "1,200 swings",
		words.Spaced("four_seam"):   "four seam",
		words.Sentence("whiff"):     "Whiff",
		words.Sentence("wOBA"):      "wOBA",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
