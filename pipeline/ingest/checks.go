package ingest

// Effect says what a rule does to a row.
type Effect string

// The effects.
const (
	Rejected Effect = "rejected"  // quarantined, counts toward the reject share
	SetAside Effect = "set aside" // out of scope: not used, not quarantined
	Noted    Effect = "noted"     // used, but counted
)

// Check is one rule that rows are held against.
type Check struct {
	Code    string
	Effect  Effect
	Meaning string
}

// Checks lists every rule with its stable code, in the order of reports.
var Checks = []Check{
	{"duplicate", SetAside, "the same row stands in the input more than once; one is kept"},
	{"superseded", SetAside, "another file that the profile ranks higher holds this pitch"},
	{"filtered", SetAside, "a where filter of the profile leaves the row out"},
	{"game_type", SetAside, "the kind of game is not among the profile's game_types"},
	{"excluded_pitcher", SetAside, "the profile excludes the pitcher"},
	{"pitcher_bats", SetAside, "the batter is a pitcher, and the profile leaves those out"},
	{"no_pitch", SetAside, "no pitch was thrown: an automatic ball or strike, or an event between pitches"},
	{"conflict", Rejected, "two rows have the same game, plate appearance and pitch number but different content"},
	{"missing_value", Rejected, "a required value is missing"},
	{"rejected_value", Rejected, "the profile maps the value to reject"},
	{"side_unresolved", Rejected, "a switch hitter whose side is not given"},
	{"not_a_number", Rejected, "text that is no number stands in a number column"},
	{"not_finite", Rejected, "the number is infinite"},
	{"not_whole", Rejected, "a counting number or an identity has a fraction"},
	{"not_a_date", Rejected, "text that is no date in the profile's format stands in a date column"},
	{"out_of_range", Rejected, "the number lies outside the physical range of its column"},
	{"no_flight", Rejected, "the trajectory never reaches the plate, or takes an impossible time"},
	{"untracked", Noted, "neither velocity nor trajectory: used in totals, in no bin"},
	{"nan", Noted, "a number column holds NaN, read as missing"},
	{"unknown_type", Noted, "the pitch type is missing"},
	{"no_key", Noted, "game, plate appearance or pitch number is missing, so duplicates cannot be seen"},
	{"result_without_pitch", Noted, "the plate appearance ended without a pitch; its result is given to no cell"},
	{"result_lost", Noted, "the plate appearance's last row was rejected, and its result with it"},
}

// The indices of Checks.
const (
	ruleDuplicate = iota
	ruleSuperseded
	ruleFiltered
	ruleGameType
	ruleExcludedPitcher
	rulePitcherBats
	ruleNoPitch
	ruleConflict
	ruleMissingValue
	ruleRejectedValue
	ruleSideUnresolved
	ruleNotANumber
	ruleNotFinite
	ruleNotWhole
	ruleNotADate
	ruleOutOfRange
	ruleNoFlight
	ruleUntracked
	ruleNaN
	ruleUnknownType
	ruleNoKey
	ruleResultWithoutPitch
	ruleResultLost
	ruleCount
)
