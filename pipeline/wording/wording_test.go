package wording_test

import (
	"testing"

	"sill/pipeline/wording"
)

func TestWording(t *testing.T) {
	for got, want := range map[string]string{
		wording.Number(-1.25, 1):      "−1.2",
		wording.Number(-.004, 2):      "0.00",
		wording.Signed(.5, 1):         "+0.5",
		wording.Signed(-.5, 1):        "−0.5",
		wording.Signed(-.0001, 3):     "0.000",
		wording.Number(-4.25, 1):      "−4.2",
		wording.Number(-.04, 1):       "0.0",
		wording.Number(12, 0):         "12",
		wording.Rate(.2214):           ".221",
		wording.Rate(0):               ".000",
		wording.Rate(1):               "1.000",
		wording.Rate(-1.2):            "−1.200",
		wording.SignedRate(-.02):      "−.020",
		wording.SignedRate(0):         ".000",
		wording.Count(0):              "0",
		wording.Rate(.2345):           ".234",
		wording.Rate(1.5):             "1.500",
		wording.Rate(10.5):            "10.500",
		wording.Rate(-.02):            "−.020",
		wording.SignedRate(.02):       "+.020",
		wording.SignedRate(-.0002):    ".000",
		wording.Count(999):            "999",
		wording.Count(1000):           "1,000",
		wording.Count(-1234567):       "−1,234,567",
		wording.Count(-100):           "−100",
		wording.Plural(1, "pitch"):    "1 pitch",
		wording.Plural(1200, "swing"): "1,200 swings",
		wording.Spaced("four_seam"):   "four seam",
		wording.Sentence("whiff"):     "Whiff",
		wording.Sentence("wOBA"):      "wOBA",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
