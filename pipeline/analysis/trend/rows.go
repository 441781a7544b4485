package trend

// Row is one quality of one pitcher's pitch type in both windows, beside one outcome
// against one side of batters. Numbers are null where there are too few data. Of
// three numbers with limits the last two are the 95 % limits.
type Row struct {
	Pitcher   string   `json:"pitcher" doc:"the pitcher's key, without his hand"`
	Hand      string   `json:"hand" doc:"hand he throws with"`
	PitchType string   `json:"pitch_type" doc:"pitch type"`
	Variable  string   `json:"variable" doc:"quality of the pitch"`
	Unit      string   `json:"unit" doc:"unit of the variable"`
	SwingsA   int64    `json:"swings_before" unit:"count" doc:"swings at the pitch in the earlier window, over which the quality is taken"`
	SwingsB   int64    `json:"swings_after" unit:"count" doc:"the same in the later window"`
	Before    *float64 `json:"before" unit:"variable" doc:"mean quality in the earlier window, shrunk"`
	BeforeLo  *float64 `json:"before_lo" unit:"variable" doc:"lower limit"`
	BeforeHi  *float64 `json:"before_hi" unit:"variable" doc:"upper limit"`
	After     *float64 `json:"after" unit:"variable" doc:"mean quality in the later window, shrunk"`
	AfterLo   *float64 `json:"after_lo" unit:"variable" doc:"lower limit"`
	AfterHi   *float64 `json:"after_hi" unit:"variable" doc:"upper limit"`
	Change    *float64 `json:"change" unit:"variable" doc:"later less earlier"`
	ChangeLo  *float64 `json:"change_lo" unit:"variable" doc:"lower limit"`
	ChangeHi  *float64 `json:"change_hi" unit:"variable" doc:"upper limit"`
	League    *float64 `json:"league_change" unit:"variable" doc:"what pitchers of his hand changed by in common on this pitch type"`
	Own       *float64 `json:"own_change" unit:"variable" doc:"his change less the league's, by which he is judged"`
	OwnLo     *float64 `json:"own_change_lo" unit:"variable" doc:"lower limit"`
	OwnHi     *float64 `json:"own_change_hi" unit:"variable" doc:"upper limit"`
	Q         *float64 `json:"q" doc:"p of no change of his own after Benjamini-Hochberg over all pitchers and pitch types of the variable"`
	Together  int64    `json:"together" unit:"count" doc:"changes that q allows for, this one included; 0 where q is null"`
	Smallest  float64  `json:"smallest" unit:"variable" doc:"smallest change of interest"`
	Verdict   string   `json:"verdict" doc:"moved, stayed (his own change is shown to be smaller than that of interest), cannot_tell, or too_few"`

	Side         string   `json:"side" doc:"side of the batters"`
	Outcome      string   `json:"outcome" doc:"whiff_rate or woba_against"`
	EventsA      int64    `json:"events_before" unit:"count" doc:"swings or counted plate appearances against that side in the earlier window"`
	EventsB      int64    `json:"events_after" unit:"count" doc:"the same in the later window"`
	RateA        *float64 `json:"outcome_before" unit:"outcome" doc:"outcome in the earlier window, shrunk"`
	RateALo      *float64 `json:"outcome_before_lo" unit:"outcome" doc:"lower limit"`
	RateAHi      *float64 `json:"outcome_before_hi" unit:"outcome" doc:"upper limit"`
	RateB        *float64 `json:"outcome_after" unit:"outcome" doc:"outcome in the later window, shrunk"`
	RateBLo      *float64 `json:"outcome_after_lo" unit:"outcome" doc:"lower limit"`
	RateBHi      *float64 `json:"outcome_after_hi" unit:"outcome" doc:"upper limit"`
	RateD        *float64 `json:"outcome_change" unit:"outcome" doc:"later less earlier"`
	RateDLo      *float64 `json:"outcome_change_lo" unit:"outcome" doc:"lower limit"`
	RateDHi      *float64 `json:"outcome_change_hi" unit:"outcome" doc:"upper limit"`
	RateOwn      *float64 `json:"outcome_own_change" unit:"outcome" doc:"that change less what pitchers of his hand changed by in common"`
	RateOwnLo    *float64 `json:"outcome_own_change_lo" unit:"outcome" doc:"lower limit"`
	RateOwnHi    *float64 `json:"outcome_own_change_hi" unit:"outcome" doc:"upper limit"`
	RateQ        *float64 `json:"outcome_q" doc:"p of no change of the outcome of his own after Benjamini-Hochberg over all pitchers, pitch types and sides"`
	RateTogether int64    `json:"outcome_together" unit:"count" doc:"changes that outcome_q allows for, this one included; 0 where it is null"`
	Went         string   `json:"outcome_verdict" doc:"rose, fell, not_shown, or too_few: the outcome against the league's"`
	Expects      string   `json:"expected_verdict" doc:"shown: the league shows that the outcome goes with the quality inside pitchers of his hand, against that side; not_shown, and then nothing is expected; or too_few"`
	ExpectQ      *float64 `json:"expected_q" doc:"p of no such slope after Benjamini-Hochberg over all matchups, pitch types, qualities and outcomes of both windows"`
	Expect       *float64 `json:"expected" unit:"outcome" doc:"his own change of quality times the league's slope inside pitchers: how such pitches of one pitcher differ; null where the slope is not shown"`
	ExpectLo     *float64 `json:"expected_lo" unit:"outcome" doc:"lower limit"`
	ExpectHi     *float64 `json:"expected_hi" unit:"outcome" doc:"upper limit"`
	Sentence     string   `json:"sentence" doc:"what happened in words"`
}

// Shift is what the league's pitchers changed by in common on one pitch type, within
// the same pitchers: all of them moving alike is likelier an instrument, the ball or
// the season than the pitchers.
type Shift struct {
	PitchType string   `json:"pitch_type" doc:"pitch type"`
	Hand      string   `json:"hand" doc:"hand of these pitchers in a sideways quality, in which a shift of the instrument cancels between hands; empty where both hands are taken together"`
	Variable  string   `json:"variable" doc:"quality of the pitch"`
	Unit      string   `json:"unit" doc:"unit of the variable"`
	Pitchers  int64    `json:"pitchers" unit:"count" doc:"pitchers with enough swings in both windows"`
	Moved     int64    `json:"moved" unit:"count" doc:"those who moved against the league"`
	Shift     *float64 `json:"shift" unit:"variable" doc:"mean change over these pitchers, each counting once"`
	ShiftLo   *float64 `json:"shift_lo" unit:"variable" doc:"lower 95 % limit"`
	ShiftHi   *float64 `json:"shift_hi" unit:"variable" doc:"upper 95 % limit"`
	Smallest  float64  `json:"smallest" unit:"variable" doc:"smallest change of interest"`
	Suspect   bool     `json:"suspect" doc:"whether the shift is as large as the smallest change of interest and no luck at .05 over all shifts that are judged: look at the instruments"`
}

// Law is what the whole league shows of one quality and one outcome on one pitch type,
// over all matchups: slopes in the outcome per unit of the quality.
type Law struct {
	PitchType string   `json:"pitch_type" doc:"pitch type"`
	Variable  string   `json:"variable" doc:"quality of the pitch"`
	Unit      string   `json:"unit" doc:"unit of the variable"`
	Outcome   string   `json:"outcome" doc:"whiff_rate or woba_against"`
	Pitchers  int64    `json:"pitchers" unit:"count" doc:"pitchers with enough events in both windows"`
	Changes   *float64 `json:"changes" doc:"slope of the change of the outcome on the change of the quality, over these pitchers"`
	ChangesLo *float64 `json:"changes_lo" doc:"lower 95 % limit, pitchers left out one at a time"`
	ChangesHi *float64 `json:"changes_hi" doc:"upper 95 % limit"`
	Within    *float64 `json:"within" doc:"slope inside pitchers and windows, from pitch to pitch"`
	WithinLo  *float64 `json:"within_lo" doc:"lower 95 % limit"`
	WithinHi  *float64 `json:"within_hi" doc:"upper 95 % limit"`
}

// Relabelled is a pitcher one of whose pitch types all but vanished while another came
// up that looks the same.
type Relabelled struct {
	Pitcher string  `json:"pitcher" doc:"the pitcher's key, without his hand"`
	Hand    string  `json:"hand" doc:"hand he throws with"`
	From    string  `json:"from" doc:"pitch type that he threw in the earlier window"`
	To      string  `json:"to" doc:"pitch type that he threw in the later one"`
	ShareA  float64 `json:"share_before" unit:"share" doc:"share of his pitches that had the first label in the earlier window"`
	ShareB  float64 `json:"share_after" unit:"share" doc:"share that had the second label in the later one"`
}
