// Package thresholds is the public way to read a published version: open it,
// verify every file, walk its rows, look a value up. It uses the standard
// library only, so that a grading tool that imports it pulls in nothing else.
package thresholds

import "sill/pipeline/pitch"

// Every resource is one row type. A field's tags are the resource's only
// description: json and parquet give the column's name in every format, unit
// and doc its meaning. Pointers are columns that may be null. The unit is
// "variable" (that of the row's variable), "outcome" (that of the row's
// outcome), "count", "share" of 1, or none. since is the schema version that
// added the column, where it is not the first: in an older version's rows it is
// null, or 0. decimals is how many a number is published with (see Tables.Round):
// to the nearest such, or the next above it where it says up.

// Key names the curve that a row belongs to.
type Key struct {
	Hand      string `json:"hand" parquet:"hand" doc:"hand of the pitcher: left or right"`
	Side      string `json:"side" parquet:"side" doc:"side of the batter: left or right"`
	PitchType string `json:"pitch_type" parquet:"pitch_type" doc:"pitch type"`
	Stratum   string `json:"stratum" parquet:"stratum" doc:"extra split, empty for all pitches"`
	Variable  string `json:"variable" parquet:"variable" doc:"quality of the pitch"`
	Outcome   string `json:"outcome" parquet:"outcome" doc:"whiff_rate, woba_against, or joint: both at once (without a line or a curve; its sample and rate are those of the whiff rate)"`
}

// Untyped tells whether the pitches have no type of their own, the empty one or the word
// for others: they are counted and never judged, so that their verdict is too_few
// however many they are.
func (k Key) Untyped() bool { return k.PitchType == "" || k.PitchType == pitch.OtherType.String() }

// HeadlineReference is the first of the headline's lines: the median pitcher's rate on
// the pitch type over all matchups.
const HeadlineReference = "pitch_type_median"

// Verdict is one row of the verdicts resource: one per cell × variable ×
// outcome × reference for every cell with an eligible event.
type Verdict struct {
	Key
	Reference         string   `json:"reference" parquet:"reference" doc:"the line compared with: median or rate of the pitch type, of the hand, of the matchup, of the league, or fixed"`
	Headline          bool     `json:"headline" parquet:"headline" doc:"whether the reference is one of the headline ones"`
	Unit              string   `json:"unit" parquet:"unit" doc:"unit of the variable"`
	Pitches           int64    `json:"pitches" parquet:"pitches" unit:"count" doc:"pitches of the cell"`
	Known             int64    `json:"known_pitches" parquet:"known_pitches" unit:"count" doc:"pitches of the cell whose variable is known"`
	Events            int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events with a known variable: swings, or counted plate appearances"`
	Pitchers          int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with an eligible event"`
	EffectivePitchers float64  `json:"effective_pitchers" parquet:"effective_pitchers" unit:"count" decimals:"4" doc:"(Σn)²/Σn² over pitchers"`
	Batters           int64    `json:"batters" parquet:"batters" unit:"count" doc:"batters known to have an eligible event, 0 where fewer than nine tenths of the events have a known batter"`
	EffectiveBatters  *float64 `json:"effective_batters" parquet:"effective_batters,optional" unit:"count" decimals:"4" doc:"(Σn)²/Σn² over batters"`
	LargestShare      float64  `json:"largest_share" parquet:"largest_share" unit:"share" decimals:"5" doc:"share of the events thrown by the pitcher with most of them"`
	SD                *float64 `json:"sd" parquet:"sd,optional" unit:"variable" decimals:"4" since:"1.1" doc:"standard deviation of the variable over the events, to hold against the bin width; null below two events"`
	ThinBins          int64    `json:"thin_bins" parquet:"thin_bins" unit:"count" since:"1.1" doc:"inner bins with too few events or pitchers to show a rate"`
	Qualified         int64    `json:"qualified" parquet:"qualified" unit:"count" doc:"qualified pitchers behind the reference"`
	Rate              float64  `json:"rate" parquet:"rate" unit:"outcome" decimals:"5" doc:"rate of the cell"`
	Line              *float64 `json:"line" parquet:"line,optional" unit:"outcome" decimals:"5" doc:"value of the reference"`
	LineLo            *float64 `json:"line_lo" parquet:"line_lo,optional" unit:"outcome" decimals:"5" doc:"lower 95 % limit of the reference"`
	LineHi            *float64 `json:"line_hi" parquet:"line_hi,optional" unit:"outcome" decimals:"5" doc:"upper 95 % limit of the reference"`
	Level             *float64 `json:"level" parquet:"level,optional" unit:"outcome" decimals:"5" doc:"advantage of the cell over the line, positive is good for the pitcher"`
	LevelLo           *float64 `json:"level_lo" parquet:"level_lo,optional" unit:"outcome" decimals:"5" doc:"lower 95 % limit of the level"`
	LevelHi           *float64 `json:"level_hi" parquet:"level_hi,optional" unit:"outcome" decimals:"5" doc:"upper 95 % limit of the level"`
	LevelVerdict      string   `json:"level_verdict" parquet:"level_verdict" doc:"above, below or not_shown: whether the cell as a whole beats the line"`
	P                 *float64 `json:"p" parquet:"p,optional" decimals:"6,up" doc:"p value of a flat curve, sign flips of pitchers"`
	Q                 *float64 `json:"q" parquet:"q,optional" decimals:"6,up" doc:"p after control of false discoveries by families of variable and outcome (Benjamini and Bogomolov), among all pitches or within the split"`
	FamilyQ           *float64 `json:"family_q" parquet:"family_q,optional" decimals:"6,up" since:"1.3" doc:"q of the whole family of the row's variable and outcome: where it is above the limit no row of the family is rejected; null where q is"`
	Verdict           string   `json:"verdict" parquet:"verdict" doc:"found, always_beats, never_beats, edge_unresolved, inconclusive or too_few"`
	Everywhere        bool     `json:"everywhere" parquet:"everywhere" doc:"whether always or never, which is tested over the central nine tenths of the pitches and leaves open a stretch narrower than a tenth of them, holds out to the ends of what was observed"`
	Trend             string   `json:"trend" parquet:"trend" doc:"rising, falling, turning or flat: the advantage along the variable"`
	Lambda            *float64 `json:"lambda" parquet:"lambda,optional" decimals:"6" doc:"smoothing parameter chosen by REML"`
	LambdaLo          *float64 `json:"lambda_lo" parquet:"lambda_lo,optional" decimals:"6" doc:"5th percentile of the smoothing parameter over replicates"`
	LambdaHi          *float64 `json:"lambda_hi" parquet:"lambda_hi,optional" decimals:"6" doc:"95th percentile of the smoothing parameter over replicates"`
	Settle            string   `json:"settle" parquet:"settle" doc:"what would settle an inconclusive or too small cell"`
	Warnings          []string `json:"warnings" parquet:"warnings,list" doc:"codes of caveats"`
}

// Zone is one row of the zones resource: a stretch of the variable where the
// outcome beats the line (sign +1) or falls behind it (−1).
type Zone struct {
	Key
	Reference  string   `json:"reference" parquet:"reference" doc:"the line compared with"`
	Zone       int64    `json:"zone" parquet:"zone" doc:"number of the zone along the variable, from 1"`
	Sign       int64    `json:"sign" parquet:"sign" doc:"+1 beats the line, -1 falls behind it"`
	LowerKind  string   `json:"lower_kind" parquet:"lower_kind" doc:"edge, open or unresolved"`
	Lower      *float64 `json:"lower" parquet:"lower,optional" unit:"variable" decimals:"4" doc:"breakpoint at the lower end (edge), else where the evidence fades"`
	LowerLo    *float64 `json:"lower_lo" parquet:"lower_lo,optional" unit:"variable" decimals:"4" doc:"lower 95 % limit of the lower breakpoint, null where it is not pinned"`
	LowerHi    *float64 `json:"lower_hi" parquet:"lower_hi,optional" unit:"variable" decimals:"4" doc:"upper 95 % limit of the lower breakpoint, null where it is not pinned"`
	UpperKind  string   `json:"upper_kind" parquet:"upper_kind" doc:"edge, open or unresolved"`
	Upper      *float64 `json:"upper" parquet:"upper,optional" unit:"variable" decimals:"4" doc:"breakpoint at the upper end (edge), else where the evidence fades"`
	UpperLo    *float64 `json:"upper_lo" parquet:"upper_lo,optional" unit:"variable" decimals:"4" doc:"lower 95 % limit of the upper breakpoint, null where it is not pinned"`
	UpperHi    *float64 `json:"upper_hi" parquet:"upper_hi,optional" unit:"variable" decimals:"4" doc:"upper 95 % limit of the upper breakpoint, null where it is not pinned"`
	CertainLo  *float64 `json:"certain_lo" parquet:"certain_lo,optional" unit:"variable" decimals:"4" doc:"lower end of the first certain stretch (see stretches), null where there is none"`
	CertainHi  *float64 `json:"certain_hi" parquet:"certain_hi,optional" unit:"variable" decimals:"4" doc:"upper end of the last certain stretch; not every place between the two is certain"`
	PossibleLo *float64 `json:"possible_lo" parquet:"possible_lo,optional" unit:"variable" decimals:"4" doc:"lower end of the possible zone, null where it has no end"`
	PossibleHi *float64 `json:"possible_hi" parquet:"possible_hi,optional" unit:"variable" decimals:"4" doc:"upper end of the possible zone, null where it has no end"`
	// LowerMinus … are the breakpoints at m − δ and m + δ.
	LowerMinus *float64 `json:"lower_minus" parquet:"lower_minus,optional" unit:"variable" decimals:"4" doc:"lower breakpoint against the line lowered by delta"`
	LowerPlus  *float64 `json:"lower_plus" parquet:"lower_plus,optional" unit:"variable" decimals:"4" doc:"lower breakpoint against the line raised by delta"`
	UpperMinus *float64 `json:"upper_minus" parquet:"upper_minus,optional" unit:"variable" decimals:"4" doc:"upper breakpoint against the line lowered by delta"`
	UpperPlus  *float64 `json:"upper_plus" parquet:"upper_plus,optional" unit:"variable" decimals:"4" doc:"upper breakpoint against the line raised by delta"`
	// LowerLargestShare … say how an edge depends on single pitchers; none is named.
	LowerLargestShare *float64 `json:"lower_largest_share" parquet:"lower_largest_share,optional" unit:"share" decimals:"5" since:"1.1" doc:"largest share of one pitcher in the events of the two bins between whose means the lower breakpoint lies; null where there is none"`
	LowerWithoutOne   *float64 `json:"lower_without_one" parquet:"lower_without_one,optional" unit:"variable" decimals:"4" since:"1.1" doc:"lower breakpoint when the one pitcher who draws it most is left out of curve and line; null where it is then gone, or there was none"`
	UpperLargestShare *float64 `json:"upper_largest_share" parquet:"upper_largest_share,optional" unit:"share" decimals:"5" since:"1.1" doc:"largest share of one pitcher in the events of the two bins between whose means the upper breakpoint lies; null where there is none"`
	UpperWithoutOne   *float64 `json:"upper_without_one" parquet:"upper_without_one,optional" unit:"variable" decimals:"4" since:"1.1" doc:"upper breakpoint when the one pitcher who draws it most is left out of curve and line; null where it is then gone, or there was none"`
	BeyondLower       string   `json:"beyond_lower" parquet:"beyond_lower" doc:"how the advantage goes on inside the zone from its lower edge: keeps_rising, holds, falls_back, cannot_tell, or empty"`
	BeyondUpper       string   `json:"beyond_upper" parquet:"beyond_upper" doc:"the same from its upper edge"`
	EventShare        float64  `json:"event_share" parquet:"event_share" unit:"share" decimals:"5" doc:"share of the cell's events inside the zone"`
	Support           *float64 `json:"support" parquet:"support,optional" unit:"share" decimals:"5" doc:"share of replicates with a matching zone; for display, not evidence"`
	Weak              bool     `json:"weak" parquet:"weak" doc:"whether an edge of the zone is weakly supported"`
	// Certain are the parts of the zone in which the outcome certainly lies on its side
	// of the line, from left to right: the stretches resource.
	Certain []Span `json:"certain" parquet:"-" doc:"where in the zone the outcome certainly lies on its side of the line"`
}

// Span is a stretch of a variable, both ends included.
type Span struct {
	Lo float64 `json:"lo"`
	Hi float64 `json:"hi"`
}

// CurvePoint is one row of the curves resource: the smooth curve on a fine grid.
type CurvePoint struct {
	Key
	Reference string  `json:"reference" parquet:"reference" doc:"the line compared with"`
	X         float64 `json:"x" parquet:"x" unit:"variable" decimals:"4" doc:"value of the variable"`
	Rate      float64 `json:"rate" parquet:"rate" unit:"outcome" decimals:"5" doc:"smooth rate"`
	Lo        float64 `json:"lo" parquet:"lo" unit:"outcome" decimals:"5" doc:"lower 95 % limit of the rate"`
	Hi        float64 `json:"hi" parquet:"hi" unit:"outcome" decimals:"5" doc:"upper 95 % limit of the rate"`
	D         float64 `json:"advantage" parquet:"advantage" unit:"outcome" decimals:"5" doc:"advantage over the line, positive is good for the pitcher"`
	T         float64 `json:"t" parquet:"t" decimals:"4" doc:"advantage over its standard error"`
}

// Bin is one row of the bins resource.
type Bin struct {
	Key
	Kind              string   `json:"kind" parquet:"kind" doc:"regular, open_low, open_high or missing"`
	Lower             *float64 `json:"lower" parquet:"lower,optional" unit:"variable" decimals:"4" doc:"lower edge, included; null where open"`
	Upper             *float64 `json:"upper" parquet:"upper,optional" unit:"variable" decimals:"4" doc:"upper edge, excluded; null where open"`
	Mean              *float64 `json:"mean" parquet:"mean,optional" unit:"variable" decimals:"4" doc:"mean value of the events"`
	Pitches           int64    `json:"pitches" parquet:"pitches" unit:"count" doc:"pitches"`
	Events            int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events"`
	Whiffs            int64    `json:"whiffs" parquet:"whiffs" unit:"count" doc:"swings and misses, foul tips apart"`
	FoulTips          int64    `json:"foul_tips" parquet:"foul_tips" unit:"count" doc:"foul tips"`
	Strikeouts        int64    `json:"strikeouts" parquet:"strikeouts" unit:"count" doc:"strikeouts"`
	Walks             int64    `json:"walks" parquet:"walks" unit:"count" doc:"walks, intentional ones apart"`
	HitByPitch        int64    `json:"hit_by_pitch" parquet:"hit_by_pitch" unit:"count" doc:"batters hit"`
	Singles           int64    `json:"singles" parquet:"singles" unit:"count" doc:"singles"`
	Doubles           int64    `json:"doubles" parquet:"doubles" unit:"count" doc:"doubles"`
	Triples           int64    `json:"triples" parquet:"triples" unit:"count" doc:"triples"`
	HomeRuns          int64    `json:"home_runs" parquet:"home_runs" unit:"count" doc:"home runs"`
	ReachedOnError    int64    `json:"reached_on_error" parquet:"reached_on_error" unit:"count" doc:"batters safe on an error"`
	SacrificeFlies    int64    `json:"sacrifice_flies" parquet:"sacrifice_flies" unit:"count" doc:"sacrifice flies"`
	OtherOuts         int64    `json:"other_outs" parquet:"other_outs" unit:"count" doc:"other counted outs"`
	Pitchers          int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with an event"`
	EffectivePitchers float64  `json:"effective_pitchers" parquet:"effective_pitchers" unit:"count" decimals:"4" doc:"(Σn)²/Σn²"`
	LargestShare      float64  `json:"largest_share" parquet:"largest_share" unit:"share" decimals:"5" doc:"share of the events thrown by one pitcher"`
	Rate              *float64 `json:"rate" parquet:"rate,optional" unit:"outcome" decimals:"5" doc:"rate; null in a thin bin"`
	Lo                *float64 `json:"lo" parquet:"lo,optional" unit:"outcome" decimals:"5" doc:"lower 95 % limit, design-effect Wilson or t"`
	Hi                *float64 `json:"hi" parquet:"hi,optional" unit:"outcome" decimals:"5" doc:"upper 95 % limit"`
	BootLo            *float64 `json:"bootstrap_lo" parquet:"bootstrap_lo,optional" unit:"outcome" decimals:"5" doc:"2.5th percentile of the cluster bootstrap"`
	BootHi            *float64 `json:"bootstrap_hi" parquet:"bootstrap_hi,optional" unit:"outcome" decimals:"5" doc:"97.5th percentile of the cluster bootstrap"`
	Thin              bool     `json:"thin" parquet:"thin" doc:"too few events or pitchers to show a rate"`
	Warnings          []string `json:"warnings" parquet:"warnings,list" doc:"codes of caveats"`
}

// Reference is one row of the references resource: a line and its interval.
type Reference struct {
	PitchType       string   `json:"pitch_type" parquet:"pitch_type" doc:"pitch type, empty for the league's"`
	Hand            string   `json:"hand" parquet:"hand" doc:"hand of the pitcher, empty for both"`
	Side            string   `json:"side" parquet:"side" doc:"side of the batter, empty for both"`
	Outcome         string   `json:"outcome" parquet:"outcome" doc:"whiff_rate or woba_against"`
	Reference       string   `json:"reference" parquet:"reference" doc:"name of the reference: its pool and median or rate. A pitcher qualifies with 25 events in that very pool (the matchup's, the hand's, the stratum's), since a rate needs so many behind it wherever it is taken"`
	Value           *float64 `json:"value" parquet:"value,optional" unit:"outcome" decimals:"5" doc:"value of the line; null where fewer than 5 pitchers qualify"`
	Lo              *float64 `json:"lo" parquet:"lo,optional" unit:"outcome" decimals:"5" doc:"lower 95 % limit"`
	Hi              *float64 `json:"hi" parquet:"hi,optional" unit:"outcome" decimals:"5" doc:"upper 95 % limit"`
	Qualified       int64    `json:"qualified" parquet:"qualified" unit:"count" doc:"qualified pitchers"`
	Pitchers        int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with an event"`
	Events          int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events"`
	RateMinusMedian *float64 `json:"rate_minus_median" parquet:"rate_minus_median,optional" unit:"outcome" decimals:"5" doc:"pooled rate less the median pitcher's"`
	Warnings        []string `json:"warnings" parquet:"warnings,list" doc:"codes of caveats"`
}

// Contrast is one row of the contrasts resource.
type Contrast struct {
	Kind      string   `json:"kind" parquet:"kind" doc:"breakpoint, level, or platoon: the level by thirds of the variable, same-handed less opposite-handed batters"`
	Pair      string   `json:"pair" parquet:"pair" doc:"which two cells, such as left_same_opposite; season_before: a season and the one before it"`
	HandA     string   `json:"hand_a" parquet:"hand_a" doc:"hand of the first cell"`
	SideA     string   `json:"side_a" parquet:"side_a" doc:"side of the first cell"`
	TypeA     string   `json:"pitch_type_a" parquet:"pitch_type_a" doc:"pitch type of the first cell"`
	HandB     string   `json:"hand_b" parquet:"hand_b" doc:"hand of the second cell"`
	SideB     string   `json:"side_b" parquet:"side_b" doc:"side of the second cell"`
	TypeB     string   `json:"pitch_type_b" parquet:"pitch_type_b" doc:"pitch type of the second cell"`
	Stratum   string   `json:"stratum" parquet:"stratum" doc:"extra split, empty for all pitches; of two seasons both, the first one first, such as season:2032/2031"`
	Variable  string   `json:"variable" parquet:"variable" doc:"quality of the pitch"`
	Outcome   string   `json:"outcome" parquet:"outcome" doc:"whiff_rate or woba_against"`
	Reference string   `json:"reference" parquet:"reference" doc:"the line the breakpoints were found against; empty for levels"`
	X         *float64 `json:"x" parquet:"x,optional" unit:"variable" decimals:"4" doc:"value of the variable, for levels; for platoon the mean of a third, null for the change of the gap from the lowest third to the highest"`
	Estimate  *float64 `json:"estimate" parquet:"estimate,optional" decimals:"5" doc:"first less second: of breakpoints in the variable's unit, of levels in the outcome, positive is better for the pitcher in the first"`
	Lo        *float64 `json:"lo" parquet:"lo,optional" decimals:"5" doc:"lower 95 % limit (pointwise for levels); null where open"`
	Hi        *float64 `json:"hi" parquet:"hi,optional" decimals:"5" doc:"upper 95 % limit"`
	Rho       *float64 `json:"rho" parquet:"rho,optional" decimals:"4" doc:"correlation over joint replicates"`
	P         *float64 `json:"p" parquet:"p,optional" decimals:"6,up" doc:"joint-replicate max-|t| p of the whole contrast"`
	Q         *float64 `json:"q" parquet:"q,optional" decimals:"6,up" doc:"p after Benjamini-Hochberg over contrasts of the kind, of like pairs and, for breakpoints, of the reference"`
	Together  int64    `json:"together" parquet:"together" unit:"count" since:"1.4" doc:"contrasts that q allows for, this one included; 0 where q is null"`
	Verdict   string   `json:"verdict" parquet:"verdict" doc:"differs, not_shown_to_differ, equal_within_delta, or not_estimable; of platoon splits, travels, or cannot_tell"`
	Note      string   `json:"note" parquet:"note" doc:"why, where not estimable or not told"`
}

// Slope is one row of the slopes resource: how much of a pattern is seen inside
// the same pitcher and how much between pitchers, in straight lines. One for every
// cell × variable × outcome over all pitches that is not too few. A slope is in the
// outcome per unit of the variable, as the outcome is counted: a falling
// wOBA-against is good for the pitcher.
type Slope struct {
	Key
	Unit              string   `json:"unit" parquet:"unit" doc:"unit of the variable"`
	Events            int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events with a known variable"`
	Pitchers          int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with such an event"`
	EffectivePitchers float64  `json:"effective_pitchers" parquet:"effective_pitchers" unit:"count" decimals:"4" doc:"(Σn)²/Σn² over pitchers"`
	BetweenShare      *float64 `json:"between_share" parquet:"between_share,optional" unit:"share" decimals:"5" doc:"share of the variable's variance that lies between pitchers; null, as all numbers below, where no slope can be taken"`
	Within            *float64 `json:"within" parquet:"within,optional" decimals:"8" doc:"slope inside pitchers: outcome per unit of the variable less the pitcher's mean"`
	WithinLo          *float64 `json:"within_lo" parquet:"within_lo,optional" decimals:"8" doc:"its lower 95 % limit, pitchers left out one at a time"`
	WithinHi          *float64 `json:"within_hi" parquet:"within_hi,optional" decimals:"8" doc:"its upper 95 % limit"`
	WithinQ           *float64 `json:"within_q" parquet:"within_q,optional" decimals:"6,up" doc:"p of no slope inside pitchers after Benjamini-Hochberg over the table"`
	Between           *float64 `json:"between" parquet:"between,optional" decimals:"8" doc:"slope between pitchers: of their means, each weighing its events"`
	BetweenLo         *float64 `json:"between_lo" parquet:"between_lo,optional" decimals:"8" doc:"its lower 95 % limit"`
	BetweenHi         *float64 `json:"between_hi" parquet:"between_hi,optional" decimals:"8" doc:"its upper 95 % limit"`
	BetweenQ          *float64 `json:"between_q" parquet:"between_q,optional" decimals:"6,up" doc:"p of no slope between pitchers after Benjamini-Hochberg over the table"`
	Difference        *float64 `json:"difference" parquet:"difference,optional" decimals:"8" doc:"slope inside less slope between pitchers"`
	DifferenceLo      *float64 `json:"difference_lo" parquet:"difference_lo,optional" decimals:"8" doc:"its lower 95 % limit"`
	DifferenceHi      *float64 `json:"difference_hi" parquet:"difference_hi,optional" decimals:"8" doc:"its upper 95 % limit"`
	DifferenceQ       *float64 `json:"difference_q" parquet:"difference_q,optional" decimals:"6,up" doc:"p of equal slopes after Benjamini-Hochberg over the table"`
	Together          int64    `json:"together" parquet:"together" unit:"count" since:"1.4" doc:"slopes that each q allows for, this one included; 0 where q is null"`
	Shown             string   `json:"shown" parquet:"shown" doc:"where a slope is shown, by its q: within, between, both, opposite (both, in opposite directions), neither (both shown to be small over one standard deviation of the variable), or cannot_tell"`
}

// Opponent is one row of the opponents resource: who was facing the pitchers of a
// cell. A batter's rate is taken over his events against pitchers of this hand from
// this side, on all pitch types with their levels held equal, without the pitcher
// concerned.
type Opponent struct {
	Hand         string   `json:"hand" parquet:"hand" doc:"hand of the pitcher"`
	Side         string   `json:"side" parquet:"side" doc:"side of the batter"`
	PitchType    string   `json:"pitch_type" parquet:"pitch_type" doc:"pitch type"`
	Outcome      string   `json:"outcome" parquet:"outcome" doc:"whiff_rate or woba_against"`
	Variable     string   `json:"variable" parquet:"variable" doc:"quality of the pitch whose bin the row is of; empty for the whole cell"`
	Lower        *float64 `json:"lower" parquet:"lower,optional" unit:"variable" decimals:"4" doc:"lower edge of the bin, included; null for the whole cell"`
	Upper        *float64 `json:"upper" parquet:"upper,optional" unit:"variable" decimals:"4" doc:"upper edge of the bin, excluded; null for the whole cell"`
	Events       int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events whose batter is known"`
	Pitchers     int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with such an event"`
	Batters      int64    `json:"batters" parquet:"batters" unit:"count" doc:"batters with such an event"`
	Rate         float64  `json:"rate" parquet:"rate" unit:"outcome" decimals:"5" doc:"rate of the cell over these events"`
	League       float64  `json:"league" parquet:"league" unit:"outcome" decimals:"5" doc:"rate of the matchup over all pitch types: the league's batters"`
	Opponents    *float64 `json:"opponents" parquet:"opponents,optional" unit:"outcome" decimals:"5" doc:"mean rate of the batters faced, event by event, on the scale of league; null, as all numbers below, where too few pitchers tell"`
	Difference   *float64 `json:"difference" parquet:"difference,optional" unit:"outcome" decimals:"5" doc:"opponents less league: above 0 these batters miss more, or hit more, than the league's"`
	DifferenceLo *float64 `json:"difference_lo" parquet:"difference_lo,optional" unit:"outcome" decimals:"5" doc:"its lower 95 % limit: pitchers are clusters, and single batters' rates are uncertain"`
	DifferenceHi *float64 `json:"difference_hi" parquet:"difference_hi,optional" unit:"outcome" decimals:"5" doc:"its upper 95 % limit"`
	Shrunk       *float64 `json:"shrunk_difference" parquet:"shrunk_difference,optional" unit:"outcome" decimals:"5" doc:"the difference with every batter's rate shrunk toward the league's batters: nearer 0 by what is not known of single batters"`
	Q            *float64 `json:"q" parquet:"q,optional" decimals:"6,up" doc:"of a bin: p of no difference after Benjamini-Hochberg over all bins; null for the whole cell"`
	Adjusted     *float64 `json:"adjusted_rate" parquet:"adjusted_rate,optional" unit:"outcome" decimals:"5" doc:"rate less difference: what it would be against the league's batters"`
	Clear        bool     `json:"clear" parquet:"clear" doc:"whether the interval leaves 0 out and the difference is .010 or more, and, for a bin, stays with 10 % false discoveries among all bins: the verdicts of a clear cell warn of opponents"`
}

// Threshold is one row of the headline view: a verdict with one of its zones
// that beats the line, or with none.
type Threshold struct {
	Key
	Reference string   `json:"reference" parquet:"reference" doc:"the line compared with"`
	Unit      string   `json:"unit" parquet:"unit" doc:"unit of the variable"`
	Verdict   string   `json:"verdict" parquet:"verdict" doc:"found, always_beats, never_beats, edge_unresolved, inconclusive or too_few"`
	Zone      int64    `json:"zone" parquet:"zone" doc:"number of the zone, 0 where there is none"`
	LowerKind string   `json:"lower_kind" parquet:"lower_kind" doc:"edge, open or unresolved"`
	Lower     *float64 `json:"lower" parquet:"lower,optional" unit:"variable" decimals:"4" doc:"breakpoint above which the outcome beats the line"`
	LowerLo   *float64 `json:"lower_lo" parquet:"lower_lo,optional" unit:"variable" decimals:"4" doc:"its lower 95 % limit"`
	LowerHi   *float64 `json:"lower_hi" parquet:"lower_hi,optional" unit:"variable" decimals:"4" doc:"its upper 95 % limit"`
	UpperKind string   `json:"upper_kind" parquet:"upper_kind" doc:"edge, open or unresolved"`
	Upper     *float64 `json:"upper" parquet:"upper,optional" unit:"variable" decimals:"4" doc:"breakpoint below which the outcome beats the line"`
	UpperLo   *float64 `json:"upper_lo" parquet:"upper_lo,optional" unit:"variable" decimals:"4" doc:"its lower 95 % limit"`
	UpperHi   *float64 `json:"upper_hi" parquet:"upper_hi,optional" unit:"variable" decimals:"4" doc:"its upper 95 % limit"`
	Line      *float64 `json:"line" parquet:"line,optional" unit:"outcome" decimals:"5" doc:"value of the reference"`
	Rate      float64  `json:"rate" parquet:"rate" unit:"outcome" decimals:"5" doc:"rate of the cell"`
	Events    int64    `json:"events" parquet:"events" unit:"count" doc:"eligible events"`
	Pitchers  int64    `json:"pitchers" parquet:"pitchers" unit:"count" doc:"pitchers with an event"`
	Q         *float64 `json:"q" parquet:"q,optional" decimals:"6,up" doc:"false-discovery-controlled p of a flat curve"`
	Warnings  []string `json:"warnings" parquet:"warnings,list" doc:"codes of caveats"`
}

// Stretch is one row of the stretches resource: a part of a zone in which the
// outcome certainly lies on the zone's side of the line. A value off every stretch is
// not certain, though it may lie between two.
type Stretch struct {
	Key
	Reference string  `json:"reference" parquet:"reference" doc:"the line compared with"`
	Zone      int64   `json:"zone" parquet:"zone" doc:"number of the zone, along the variable"`
	Sign      int64   `json:"sign" parquet:"sign" doc:"1 beats the line, -1 falls behind it"`
	Lo        float64 `json:"lo" parquet:"lo" unit:"variable" decimals:"4" doc:"lower end: at it, at the upper end and at every node between, |T| passes the 99 % limit, outside every breakpoint's limits"`
	Hi        float64 `json:"hi" parquet:"hi" unit:"variable" decimals:"4" doc:"upper end"`
}

// Tables are all resources of one published version, each in the dictionary's
// order: pitch type, variable, outcome, hand, side, stratum, reference (see Sort).
type Tables struct {
	Thresholds []Threshold
	Verdicts   []Verdict
	Zones      []Zone
	Curves     []CurvePoint
	Bins       []Bin
	Contrasts  []Contrast
	References []Reference
	Slopes     []Slope    // of schema 1.2 and later
	Opponents  []Opponent // of schema 1.2 and later
}
