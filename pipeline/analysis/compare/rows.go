package compare

import (
	"sill/pipeline/thresholds"
	"sill/stats"
)

// The kinds of rows.
const (
	KindThreshold = "threshold" // a breakpoint
	KindVerdict   = "verdict"   // of a cell, variable, outcome and line
	KindLine      = "line"
)

// The changes.
const (
	Moved          = "moved"        // the interval of the difference excludes 0, false discoveries controlled
	WithinError    = "within_error" // it does not: no move was shown, which does not prove that there was none
	CannotTell     = "cannot_tell"
	Appeared       = "appeared"
	Vanished       = "vanished"
	ReEstimated    = "re_estimated" // the same data: it cannot have moved
	VerdictChanged = "verdict_changed"
)

// Row is one difference. Its tags describe its columns, as those of the
// published resources do.
type Row struct {
	Kind string `json:"kind" doc:"threshold, verdict or line"`
	thresholds.Key
	Reference    string   `json:"reference" doc:"the line compared with, or the line itself"`
	Unit         string   `json:"unit" doc:"unit of the values"`
	Edge         string   `json:"edge" doc:"from: the outcome beats the line from the breakpoint up; to: up to it"`
	Change       string   `json:"change" doc:"moved, within_error, cannot_tell, appeared, vanished, re_estimated or verdict_changed"`
	From         *float64 `json:"from" doc:"earlier value"`
	FromLo       *float64 `json:"from_lo" doc:"its lower 95 % limit, null where open"`
	FromHi       *float64 `json:"from_hi" doc:"its upper 95 % limit"`
	To           *float64 `json:"to" doc:"later value"`
	ToLo         *float64 `json:"to_lo" doc:"its lower 95 % limit, null where open"`
	ToHi         *float64 `json:"to_hi" doc:"its upper 95 % limit"`
	Difference   *float64 `json:"difference" doc:"later less earlier"`
	DifferenceLo *float64 `json:"difference_lo" doc:"lower 95 % limit of the difference, null where open or not given"`
	DifferenceHi *float64 `json:"difference_hi" doc:"upper 95 % limit of the difference"`
	Rho          *float64 `json:"rho" doc:"correlation of the two values over joint draws of pitchers, 0 where they are independent or taken so, as those of both outcomes at once"`
	P            *float64 `json:"p" doc:"p of no difference, read off its interval"`
	Q            *float64 `json:"q" doc:"p after Benjamini-Hochberg over the rows of the kind and line"`
	Together     int64    `json:"together" doc:"rows that q allows for, this one included; 0 where q is null"`
	FromVerdict  string   `json:"from_verdict" doc:"earlier verdict"`
	ToVerdict    string   `json:"to_verdict" doc:"later verdict"`
	Note         string   `json:"note" doc:"why it cannot be told, or what else to know"`
}

// pair is a row with what it is judged by.
type pair struct {
	Row
	from, to stats.Interval
	df, rho  float64
	apart    bool // whether the interval of the difference excludes 0
}
