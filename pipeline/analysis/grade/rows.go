package grade

// A report is four tables. A field's tags are its only description, as those of a
// published resource are (see thresholds.Columns). Numbers are null where there are
// too few data for one.

// Who says whose pitches a row is about.
type Who struct {
	Pitcher   string `json:"pitcher" parquet:"pitcher" doc:"the pitcher's id in the source"`
	Hand      string `json:"hand" parquet:"hand" doc:"the hand he throws with"`
	PitchType string `json:"pitch_type" parquet:"pitch_type" doc:"pitch type; empty for all together"`
}

// Arsenal is one pitch type of one pitcher against one side: how often, with what
// result, and where it went.
type Arsenal struct {
	Who
	Side           string   `json:"side" parquet:"side" doc:"side of the batter"`
	Pitches        int64    `json:"pitches" parquet:"pitches" unit:"count" doc:"pitches thrown; where pitches were read, without intentional balls and pitchouts"`
	Share          float64  `json:"share" parquet:"share" unit:"share" doc:"of his pitches to that side, as observed"`
	EarlyShare     *float64 `json:"early_share" parquet:"early_share,optional" unit:"share" doc:"of his pitches to that side with at most one ball or strike on the batter; null where the count is not known"`
	TwoStrikeShare *float64 `json:"two_strike_share" parquet:"two_strike_share,optional" unit:"share" doc:"of his pitches to that side with two strikes on the batter; null where the count is not known"`
	Swings         int64    `json:"swings" parquet:"swings" unit:"count" doc:"swings"`
	WhiffSeen      *float64 `json:"whiff_rate_seen" parquet:"whiff_rate_seen,optional" unit:"share" doc:"whiffs of the swings as they happened"`
	Whiff          *float64 `json:"whiff_rate" parquet:"whiff_rate,optional" unit:"share" doc:"expected whiff rate: his own, drawn toward that of like pitchers by how little there is of it; null below 10 swings, or 12 pitchers with as many"`
	WhiffLo        *float64 `json:"whiff_rate_lo" parquet:"whiff_rate_lo,optional" unit:"share" doc:"its lower 95 % limit"`
	WhiffHi        *float64 `json:"whiff_rate_hi" parquet:"whiff_rate_hi,optional" unit:"share" doc:"its upper 95 % limit"`
	WhiffLike      *float64 `json:"whiff_rate_of_like_pitchers" parquet:"whiff_rate_of_like_pitchers,optional" unit:"share" doc:"mean of pitchers of that hand on that type against that side"`
	WhiffRank      int64    `json:"whiff_rank" parquet:"whiff_rank" doc:"place in his arsenal against that side by expected whiff rate, 1 the best; 0 without one. A rank alone tells little: see whiff_better_than"`
	WhiffBetter    []string `json:"whiff_better_than" parquet:"whiff_better_than,list" doc:"his other pitch types that it beats by whiff rate beyond chance, Holm's correction over his arsenal against that side"`
	Appearances    int64    `json:"plate_appearances" parquet:"plate_appearances" unit:"count" doc:"counted plate appearances that it ended"`
	WOBASeen       *float64 `json:"woba_against_seen" parquet:"woba_against_seen,optional" doc:"wOBA of these as they happened"`
	WOBA           *float64 `json:"woba_against" parquet:"woba_against,optional" doc:"expected wOBA-against: his own, drawn toward that of like pitchers; null below 10 plate appearances, or 12 pitchers with as many"`
	WOBALo         *float64 `json:"woba_against_lo" parquet:"woba_against_lo,optional" doc:"its lower 95 % limit"`
	WOBAHi         *float64 `json:"woba_against_hi" parquet:"woba_against_hi,optional" doc:"its upper 95 % limit"`
	WOBALike       *float64 `json:"woba_against_of_like_pitchers" parquet:"woba_against_of_like_pitchers,optional" doc:"mean of pitchers of that hand on that type against that side"`
	WOBARank       int64    `json:"woba_rank" parquet:"woba_rank" doc:"place in his arsenal against that side by expected wOBA-against, 1 the best (lowest); 0 without one"`
	WOBABetter     []string `json:"woba_better_than" parquet:"woba_better_than,list" doc:"his other pitch types that it beats by wOBA-against beyond chance, Holm's correction"`
	Below          *float64 `json:"height_below" parquet:"height_below,optional" unit:"share" doc:"of the pitches with a known height below the batter's zone: where they went, not where they were meant to go"`
	Lower          *float64 `json:"height_lower" parquet:"height_lower,optional" unit:"share" doc:"in its lower third"`
	Middle         *float64 `json:"height_middle" parquet:"height_middle,optional" unit:"share" doc:"in its middle third"`
	Upper          *float64 `json:"height_upper" parquet:"height_upper,optional" unit:"share" doc:"in its upper third"`
	Above          *float64 `json:"height_above" parquet:"height_above,optional" unit:"share" doc:"above it"`
	OffGlove       *float64 `json:"across_off_glove" parquet:"across_off_glove,optional" unit:"share" doc:"of the pitches with a known place across: off the plate on the pitcher's glove side"`
	Glove          *float64 `json:"across_glove" parquet:"across_glove,optional" unit:"share" doc:"over the plate's third on the glove side"`
	Centre         *float64 `json:"across_middle" parquet:"across_middle,optional" unit:"share" doc:"over its middle third"`
	Arm            *float64 `json:"across_arm" parquet:"across_arm,optional" unit:"share" doc:"over its third on the arm side"`
	OffArm         *float64 `json:"across_off_arm" parquet:"across_off_arm,optional" unit:"share" doc:"off the plate on the arm side"`
}

// Quality is one variable of one pitch type of one pitcher against one side, laid
// against the yardstick's curve of one outcome.
type Quality struct {
	Who
	Side             string   `json:"side" parquet:"side" doc:"side of the batter"`
	Variable         string   `json:"variable" parquet:"variable" doc:"quality of the pitch"`
	Unit             string   `json:"unit" parquet:"unit" doc:"unit of the variable"`
	Outcome          string   `json:"outcome" parquet:"outcome" doc:"whiff_rate, woba_against, or joint: both at once, of which no advantage is expected"`
	Pitches          int64    `json:"pitches" parquet:"pitches" unit:"count" doc:"pitches whose variable is known, intentional balls and pitchouts apart"`
	Mean             *float64 `json:"mean" parquet:"mean,optional" unit:"variable" doc:"mean; null below 25 pitches, as all that follows"`
	SD               *float64 `json:"sd" parquet:"sd,optional" unit:"variable" doc:"standard deviation from pitch to pitch"`
	Percentile       *float64 `json:"percentile" parquet:"percentile,optional" doc:"percentile of the mean, 0 to 100, among the like pitchers; a higher value is not always a better one; null below 12 of them"`
	LikePitchers     int64    `json:"like_pitchers" parquet:"like_pitchers" unit:"count" doc:"like pitchers: of the yardstick's league, of that hand, with 25 such pitches and more against that side"`
	Verdict          string   `json:"verdict" parquet:"verdict" doc:"the yardstick's verdict on the variable: found, always_beats, never_beats, edge_unresolved, inconclusive, too_few, or empty where it has none"`
	CertainShare     *float64 `json:"certain_share" parquet:"certain_share,optional" unit:"share" doc:"of the pitches in a zone that certainly beats the line; null where the verdict claims no zone"`
	PossibleShare    *float64 `json:"possible_share" parquet:"possible_share,optional" unit:"share" doc:"of the pitches in a zone that possibly beats the line, the certain one included"`
	BehindShare      *float64 `json:"behind_share" parquet:"behind_share,optional" unit:"share" doc:"of the pitches in a zone that certainly falls behind the line"`
	BeyondShare      *float64 `json:"beyond_share" parquet:"beyond_share,optional" unit:"share" doc:"of the pitches beyond the values that the yardstick's league has thrown enough of: nothing is said of them"`
	Breakpoint       *float64 `json:"breakpoint" parquet:"breakpoint,optional" unit:"variable" doc:"confirmed breakpoint nearest to the mean"`
	BreakpointLo     *float64 `json:"breakpoint_lo" parquet:"breakpoint_lo,optional" unit:"variable" doc:"its lower 95 % limit; null where it is not pinned"`
	BreakpointHi     *float64 `json:"breakpoint_hi" parquet:"breakpoint_hi,optional" unit:"variable" doc:"its upper 95 % limit; null where it is not pinned"`
	Better           string   `json:"better" parquet:"better" doc:"the better side of that breakpoint: above or below, empty without one"`
	Distance         *float64 `json:"distance" parquet:"distance,optional" unit:"variable" doc:"mean less breakpoint"`
	DistanceSE       *float64 `json:"distance_se" parquet:"distance_se,optional" unit:"variable" doc:"its standard error: the mean's own, pitches taken as independent, and the breakpoint's on that side; null where that side is not pinned"`
	DistanceInErrors *float64 `json:"distance_in_errors" parquet:"distance_in_errors,optional" doc:"distance in standard errors"`
	Advantage        *float64 `json:"advantage" parquet:"advantage,optional" unit:"outcome" doc:"what the yardstick's curve expects at his own pitches over the line, positive is good for the pitcher: of this quality alone, others as they usually come with it"`
	AdvantageLo      *float64 `json:"advantage_lo" parquet:"advantage_lo,optional" unit:"outcome" doc:"its lower 95 % limit, by the curve's uncertainty and at its widest"`
	AdvantageHi      *float64 `json:"advantage_hi" parquet:"advantage_hi,optional" unit:"outcome" doc:"its upper 95 % limit"`
	InSD             *float64 `json:"advantage_in_sd" parquet:"advantage_in_sd,optional" doc:"advantage less the mean of the like pitchers', in standard deviations between them, positive is good for the pitcher; null where the outcome is not shown to change with the variable, or below 12 like pitchers"`
	InSDLo           *float64 `json:"advantage_in_sd_lo" parquet:"advantage_in_sd_lo,optional" doc:"the same of the advantage's lower 95 % limit, that of the like pitchers taken as it is"`
	InSDHi           *float64 `json:"advantage_in_sd_hi" parquet:"advantage_in_sd_hi,optional" doc:"the same of its upper 95 % limit"`
	Place            *float64 `json:"advantage_percentile" parquet:"advantage_percentile,optional" doc:"percentile of the advantage, 0 to 100, among the like pitchers', a higher one is always better; null where advantage_in_sd is"`
	PlaceLo          *float64 `json:"advantage_percentile_lo" parquet:"advantage_percentile_lo,optional" doc:"the same of the advantage's lower 95 % limit"`
	PlaceHi          *float64 `json:"advantage_percentile_hi" parquet:"advantage_percentile_hi,optional" doc:"the same of its upper 95 % limit"`
	PlacePitchers    int64    `json:"advantage_pitchers" parquet:"advantage_pitchers" unit:"count" doc:"like pitchers with an advantage of their own: at least half of their pitches lie where the curve was observed"`
	Warnings         []string `json:"warnings" parquet:"warnings,list" doc:"codes of caveats of the yardstick's verdict"`
	Sentence         string   `json:"sentence" parquet:"sentence" doc:"the row in plain words"`
}

// Platoon is how much better a pitcher does against batters of his own hand.
type Platoon struct {
	Who
	Outcome   string   `json:"outcome" parquet:"outcome" doc:"whiff_rate or woba_against"`
	Same      int64    `json:"events_same" parquet:"events_same" unit:"count" doc:"swings, or counted plate appearances, of batters of his own hand"`
	Opposite  int64    `json:"events_opposite" parquet:"events_opposite" unit:"count" doc:"the same of batters of the other hand"`
	GapSeen   *float64 `json:"gap_seen" parquet:"gap_seen,optional" unit:"outcome" doc:"same less opposite as it happened, positive where he does better against his own hand"`
	Gap       *float64 `json:"gap" parquet:"gap,optional" unit:"outcome" doc:"expected gap: his own, drawn toward that of like pitchers; null below 10 events on a side, or 12 pitchers with as many"`
	GapLo     *float64 `json:"gap_lo" parquet:"gap_lo,optional" unit:"outcome" doc:"its lower 95 % limit"`
	GapHi     *float64 `json:"gap_hi" parquet:"gap_hi,optional" unit:"outcome" doc:"its upper 95 % limit"`
	GapOfLike *float64 `json:"gap_of_like_pitchers" parquet:"gap_of_like_pitchers,optional" unit:"outcome" doc:"mean gap of pitchers of that hand"`
	Verdict   string   `json:"verdict" parquet:"verdict" doc:"same, opposite: against whom he does better; not_shown, or too_few"`
}

// Pair holds two pitch types of one pitcher against one side together.
type Pair struct {
	Pitcher string  `json:"pitcher" parquet:"pitcher" doc:"the pitcher's id in the source"`
	Hand    string  `json:"hand" parquet:"hand" doc:"the hand he throws with"`
	Side    string  `json:"side" parquet:"side" doc:"side of the batter"`
	Outcome string  `json:"outcome" parquet:"outcome" doc:"whiff_rate or woba_against"`
	TypeA   string  `json:"pitch_type_a" parquet:"pitch_type_a" doc:"the type that ranks higher"`
	TypeB   string  `json:"pitch_type_b" parquet:"pitch_type_b" doc:"the other one"`
	Gain    float64 `json:"advantage" parquet:"advantage" unit:"outcome" doc:"expected rates, first against second, positive is good for the pitcher"`
	Lo      float64 `json:"advantage_lo" parquet:"advantage_lo" unit:"outcome" doc:"its lower 95 % limit, of this pair alone"`
	Hi      float64 `json:"advantage_hi" parquet:"advantage_hi" unit:"outcome" doc:"its upper 95 % limit, of this pair alone"`
	P       float64 `json:"p" parquet:"p" doc:"two-sided p of no difference"`
	Holm    float64 `json:"p_holm" parquet:"p_holm" doc:"p after Holm's correction over the pairs of his arsenal against that side"`
	Verdict string  `json:"verdict" parquet:"verdict" doc:"a_better, or not_told_apart"`
}

// The verdicts on pairs and gaps.
const (
	ABetter      = "a_better"
	NotToldApart = "not_told_apart"
	BetterSame   = "same"
	BetterOther  = "opposite"
	NotShown     = "not_shown"
	TooFew       = "too_few"
)
