package thresholds

import "slices"

// Warning is a caveat that rows carry by its code.
type Warning struct {
	Code    string `json:"code"`
	Grade   string `json:"grade" doc:"reading: it changes what the row's numbers may be used for; background: it is true of them and changes no use"`
	Meaning string `json:"meaning"`
}

// The grades of warnings.
const (
	Reading    = "reading"    // changes what the row's numbers may be used for: show it beside them
	Background = "background" // is true of them and changes no use: tell it to whoever asks
)

// Reading returns those of a row's codes that change what its numbers may be used for.
// A code that the version does not grade is among them, so that all are in a version
// older than schema 1.4.
func (m *Manifest) Reading(codes []string) []string {
	return slices.DeleteFunc(slices.Clone(codes), func(code string) bool {
		return slices.ContainsFunc(m.Warnings, func(w Warning) bool { return w.Code == code && w.Grade == Background })
	})
}
