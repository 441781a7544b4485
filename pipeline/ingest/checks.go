package ingest

import (
	"math"
	"slices"

	"sill/pipeline/pitch"
)

// Effect says what a rule does to a row.
type Effect string

// The effects.
const (
	Rejected Effect = "rejected"  // quarantined, counts toward the reject share
	SetAside Effect = "set aside" // out of scope: not used, not quarantined
	Noted    Effect = "noted"     // used, but counted
)

// Check is one rule that rows are held against: its stable code, what it does,
// what it means, and the predicates that tell whether it is met.
type Check struct {
	Code    string
	Effect  Effect
	Meaning string

	value  func(c *pitch.Column, r reading) bool // of a source value that gives the column none
	number func(c *pitch.Column, x float64) bool // of a number in the canonical unit
	scope  func(d *decoder, row int) bool        // whether the profile leaves the row out
	row    func(r *examined) bool                // of the row, among the others
}

// Checks lists every rule in the order of reports. Of the rules that keep a row
// out the first one that it meets counts; but of those about values, the first
// column's in the dictionary.
var Checks = []Check{
	{Code: "duplicate", Effect: SetAside, Meaning: "the same row stands in the input more than once; one is kept",
		row: func(r *examined) bool { return r.status == statusDuplicate }},
	{Code: "superseded", Effect: SetAside, Meaning: "another file that the profile ranks higher holds this pitch",
		row: func(r *examined) bool { return r.status == statusSuperseded }},
	{Code: "filtered", Effect: SetAside, Meaning: "a where filter of the profile leaves the row out",
		scope: (*decoder).unwanted},
	{Code: "game_type", Effect: SetAside, Meaning: "the kind of game is not among the profile's game_types",
		scope: func(d *decoder, row int) bool { return d.otherKind(row) && !d.banishes(row) }},
	{Code: "excluded_pitcher", Effect: SetAside, Meaning: "the profile excludes the pitcher",
		scope: func(d *decoder, row int) bool {
			return d.banishes(row) || d.ban && pitch.Flag(d.slots[fielderAt].code(row)) == pitch.Yes
		}},
	{Code: "pitcher_bats", Effect: SetAside, Meaning: "the batter is a pitcher, and the profile leaves those out",
		scope: func(d *decoder, row int) bool {
			return d.benched && pitch.Flag(d.slots[battingAt].code(row)) == pitch.Yes
		}},
	{Code: "no_pitch", Effect: SetAside, Meaning: "no pitch was thrown: an automatic ball or strike, or an event between pitches",
		row: func(r *examined) bool { return r.status != statusConflict && !r.d.thrown(r.at) }},
	{Code: "conflict", Effect: Rejected, Meaning: "two rows have the same game, plate appearance and pitch number but different content",
		row: func(r *examined) bool { return r.status == statusConflict }},
	{Code: "missing_value", Effect: Rejected, Meaning: "a required value is missing",
		// A missing pitch type is noted under unknown_type.
		value: func(c *pitch.Column, r reading) bool {
			return r.state == missing && c.Required && c.Name != "pitch_type"
		},
		row: func(r *examined) bool { return r.d.fault[r.at] == 0 && r.filled().Season == 0 }},
	{Code: "rejected_value", Effect: Rejected, Meaning: "the profile maps the value to reject",
		value: func(_ *pitch.Column, r reading) bool { return r.state == rejected }},
	{Code: "side_unresolved", Effect: Rejected, Meaning: "a switch hitter whose side is not given",
		value: func(_ *pitch.Column, r reading) bool { return r.state == unresolved }},
	{Code: "not_a_number", Effect: Rejected, Meaning: "text that is no number stands in a number column",
		value: func(c *pitch.Column, r reading) bool { return r.state == unreadable && c.Kind.Number() }},
	{Code: "not_finite", Effect: Rejected, Meaning: "the number is infinite",
		number: func(_ *pitch.Column, x float64) bool { return math.IsInf(x, 0) }},
	{Code: "not_whole", Effect: Rejected, Meaning: "a counting number or an identity has a fraction",
		value: func(c *pitch.Column, r reading) bool { return r.state == unreadable && c.Kind == pitch.Text },
		number: func(c *pitch.Column, x float64) bool {
			return c.Kind == pitch.Whole && x >= c.Min && x <= c.Max && x != math.Trunc(x)
		}},
	{Code: "not_a_date", Effect: Rejected, Meaning: "text that is no date in the profile's format stands in a date column",
		value: func(c *pitch.Column, r reading) bool { return r.state == unreadable && c.Kind == pitch.Day }},
	{Code: "out_of_range", Effect: Rejected, Meaning: "the number lies outside the physical range of its column",
		number: func(c *pitch.Column, x float64) bool { return (x < c.Min || x > c.Max) && !math.IsInf(x, 0) }},
	{Code: "no_flight", Effect: Rejected, Meaning: "the trajectory never reaches the plate, or takes an impossible time",
		row: func(r *examined) bool { return r.refusal == "no_flight" }},
	{Code: "untracked", Effect: Noted, Meaning: "neither velocity nor trajectory: used in totals, in no bin",
		row: func(r *examined) bool { return r.used && r.untracked }},
	{Code: "nan", Effect: Noted, Meaning: "a number column holds NaN, read as missing",
		row: func(r *examined) bool { return r.inScope() && r.status != statusConflict && r.d.nan[r.at] }},
	{Code: "unknown_type", Effect: Noted, Meaning: "the pitch type is missing",
		row: func(r *examined) bool { return r.used && r.p.Type == pitch.UnknownType }},
	{Code: "no_key", Effect: Noted, Meaning: "game, plate appearance or pitch number is missing, so duplicates cannot be seen",
		row: func(r *examined) bool { return r.inScope() && !r.d.keyed(r.at) }},
	{Code: "result_without_pitch", Effect: Noted, Meaning: "the plate appearance ended without a pitch; its result is given to no cell",
		row: func(r *examined) bool {
			return r.inScope() && r.status != statusConflict && !r.d.thrown(r.at) && ends(r.result)
		}},
	{Code: "result_lost", Effect: Noted, Meaning: "the plate appearance's last row was rejected, and its result with it",
		row: func(r *examined) bool { return r.rejected && ends(r.result) }},
}

// The checks of numbers, of scope, those that keep a row out and those that only
// count it, as indices of Checks.
var (
	numberChecks = checksWith(func(c Check) bool { return c.number != nil })
	scopeChecks  = checksWith(func(c Check) bool { return c.scope != nil })
	outChecks    = checksWith(func(c Check) bool { return c.Effect != Noted })
	noteChecks   = checksWith(func(c Check) bool { return c.Effect == Noted })
)

func checksWith(has func(Check) bool) (out []uint8) {
	for i, c := range Checks {
		if has(c) {
			out = append(out, uint8(i))
		}
	}
	return out
}

// checkAt returns the index of a check; it panics for a code that is none.
func checkAt(code string) int {
	i := slices.IndexFunc(Checks, func(c Check) bool { return c.Code == code })
	if i < 0 {
		panic("ingest: no check " + code)
	}
	return i
}

// brokenValue returns the index of the first check that a source value which gives
// none meets, 0 for none.
func brokenValue(c *pitch.Column, r reading) uint8 {
	for i := range Checks {
		if Checks[i].value != nil && Checks[i].value(c, r) {
			return uint8(i)
		}
	}
	return 0
}

// brokenNumber returns the index of the first check that a number in canonical
// units meets, 0 for none.
func brokenNumber(c *pitch.Column, x float64) uint8 {
	for _, i := range numberChecks {
		if Checks[i].number(c, x) {
			return i
		}
	}
	return 0
}

// examined is one row under the checks.
type examined struct {
	d       *decoder
	st      *deliverState
	at      int          // row of the batch
	status  uint8        // see Season.status
	result  pitch.Result // that stands on the row
	p       *pitch.Pitch // valid once filled
	ready   bool         // p is filled
	refusal string       // by prepare
	// untracked says that neither velocity nor trajectory was given, rejected and
	// used what became of the row.
	untracked, rejected, used bool
}

// inScope tells whether the row is one that neither other rows nor the profile
// set aside.
func (r *examined) inScope() bool {
	return r.status != statusDuplicate && r.status != statusSuperseded && r.d.filtered[r.at] == 0
}

// meets tells whether the row meets a check.
func (r *examined) meets(check uint8) bool {
	switch c := &Checks[check]; {
	case c.scope != nil && r.d.filtered[r.at] == check, (c.value != nil || c.number != nil) && r.d.fault[r.at] == check:
		return true
	default:
		return c.row != nil && c.row(r)
	}
}

// verdict returns the first check that keeps the row out, −1 for none.
func (r *examined) verdict() int {
	if i := slices.IndexFunc(outChecks, r.meets); i >= 0 {
		return int(outChecks[i])
	}
	return -1
}

// ends tells whether a plate appearance of the batter's ended so.
func ends(r pitch.Result) bool { return r != pitch.NoResult && r != pitch.NotAppearance }
