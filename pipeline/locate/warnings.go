package locate

// Warning is a caveat that rows carry by its code.
type Warning struct{ Code, Meaning string }

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

// Warnings lists every code with its meaning, for the dictionary of tables.
func Warnings() []Warning {
	return []Warning{
		{WarnDominated, "one pitcher throws so many of the events that fewer than two effective pitchers (in a bin), or a quarter of the events (in a cell), speak for the rest"},
		{WarnThin, "an inner bin, or half or more of what decides a verdict, holds too few events or pitchers to show a rate; the smooth curve still uses them"},
		{WarnGap, "two or more empty bins in a row: no breakpoint is confirmed inside them"},
		{WarnWidth, "bins are wider than half the standard deviation of the variable: a sharp edge is covered less often than stated"},
		{WarnComb, "the bin width is no multiple of the step to which the data are rounded: neighbouring bins hold different numbers of steps"},
		{WarnBunts, "the source does not say of 1 % of the balls in play or more whether they were bunted: some swings may be bunts"},
		{WarnWeak, "a breakpoint was confirmed at low power: its interval may cover less than it says"},
		{WarnBatters, "fewer than nine tenths of the events have a known batter: intervals account for pitchers alone and are too narrow where batters differ"},
		{WarnRateMedian, "the pooled rate and the median pitcher differ by more than .010: talent goes with workload, and an ordinary cell lies off the median line"},
		{WarnOnePitcher, "without the one pitcher who draws it most, a breakpoint is gone or moves more than half the way to one of its 95 % limits: it rests on him"},
		{WarnOpponents, "the batters faced are clearly better or worse than those whom pitchers of this hand face from this side, by .010 or more: see the opponents resource, which gives the rate against the league's batters too"},
		{WarnSeasonShift, "between two of the seasons that are put together the same pitchers' pitches shifted in common by as much as the smallest change of interest: the instrument may have changed"},
		{WarnVenueOffset, "at one venue or more the same pitchers' pitches of this type read otherwise than elsewhere, by more than 1 mph, 1 in or 0.25 deg: the instrument there may differ; quality.json names the venue"},
		{WarnUnknownShare, "the variable is unknown for more than a tenth of the cell's pitches"},
		{WarnFlipsExhausted, "the tests are so many that even the largest number of sign flips cannot reach their strictest limit"},
		{WarnExceptions, "the cell beats (or never beats) the line over its central nine tenths, yet a confirmed zone outside them does the opposite"},
	}
}
