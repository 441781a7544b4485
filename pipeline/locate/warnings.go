package locate

import (
	"sill/pipeline/thresholds"
	"sill/stats"
)

// The codes of caveats.
const (
	WarnDominated      = "dominated"
	WarnThin           = "thin"
	WarnGap            = "gap"
	WarnWidth          = "width_vs_sd"
	WarnComb           = "comb"
	WarnBunts          = "bunts_unknown"
	WarnWeak           = "weak"
	WarnBatters        = "batters_unknown"
	WarnRateMedian     = "rate_above_median"
	WarnUnknownShare   = "unknown_share"
	WarnFlipsExhausted = "flips_exhausted"
	WarnExceptions     = "exceptions"
	WarnOnePitcher     = "one_pitcher"
	WarnSeasonShift    = "season_shift"
	WarnOpponents      = "opponents"
	WarnVenueOffset    = "venue_offset"
)

// Warnings lists every code with its grade and meaning, for the dictionary of tables.
func Warnings() []thresholds.Warning {
	reading := func(code, meaning string) thresholds.Warning {
		return thresholds.Warning{Code: code, Grade: thresholds.Reading, Meaning: meaning}
	}
	background := func(code, meaning string) thresholds.Warning {
		return thresholds.Warning{Code: code, Grade: thresholds.Background, Meaning: meaning}
	}
	return []thresholds.Warning{
		reading(WarnDominated, "one pitcher throws so many of the events that fewer than two effective pitchers (in a bin), or a quarter of the events (in a cell), speak for the rest"),
		reading(WarnThin, "an inner bin, or half or more of what decides a verdict, holds too few events or pitchers to show a rate; the smooth curve still uses them"),
		background(WarnGap, "two or more empty bins in a row: no breakpoint is confirmed inside them"),
		background(WarnWidth, "bins are wider than half the standard deviation of the variable: a sharp edge is covered less often than stated"),
		background(WarnComb, "the bin width is no multiple of the step to which the data are rounded: neighbouring bins hold different numbers of steps"),
		background(WarnBunts, "the source does not say of 1 % of the balls in play or more whether they were bunted: some swings may be bunts"),
		reading(WarnWeak, "a breakpoint was confirmed at low power, and on neither side of it is any value certain: it says about where the line is passed, and no pitch can be graded by it"),
		reading(WarnBatters, "fewer than nine tenths of the events have a known batter: intervals account for pitchers alone and are too narrow where batters differ"),
		background(WarnRateMedian, "the pooled rate and the median pitcher differ by more than .010: talent goes with workload, and an ordinary cell lies off the median line"),
		reading(WarnOnePitcher, "without the one pitcher who draws it most, a breakpoint is gone or moves more than half the way to one of its 95 % limits: it rests on him"),
		reading(WarnOpponents, "the batters faced are clearly better or worse than those whom pitchers of this hand face from this side, by .010 or more: see the opponents resource, which gives the rate against the league's batters too"),
		reading(WarnSeasonShift, "between two of the seasons that are put together the same pitchers' pitches shifted in common by as much as the smallest change of interest: the instrument may have changed"),
		reading(WarnVenueOffset, "at one venue or more the same pitchers' pitches of this type read otherwise than elsewhere, by more than 1 mph, 1 in or 0.25 deg, and so many were thrown there that a pitch of the type is off by a quarter of that on average: the instrument there may differ; quality.json names the venue"),
		background(WarnUnknownShare, "the variable is unknown for more than a tenth of the cell's pitches"),
		background(WarnFlipsExhausted, "the tests are so many that even the largest number of sign flips cannot reach their strictest limit"),
		reading(WarnExceptions, "the cell beats (or never beats) the line over its central nine tenths, yet a confirmed zone outside them does the opposite"),
	}
}

// hints tells whether an edge is no more than a hint: confirmed at low power, and
// nothing is certain in the zones on either side of it.
func hints(zones []stats.Zone, edges []stats.Edge) bool {
	firm := make([]bool, len(edges))
	for _, z := range zones {
		for _, s := range []stats.Side{z.Lower, z.Upper} {
			if s.Edge >= 0 && len(z.Certain) > 0 {
				firm[s.Edge] = true
			}
		}
	}
	for k, e := range edges {
		if e.Weak && !firm[k] {
			return true
		}
	}
	return false
}
