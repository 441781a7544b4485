package main

import (
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/render/words"
	"sill/pipeline/thresholds"
)

// wordList is a column of the published tables whose words have a meaning each.
type wordList struct {
	Column string           `json:"column"`
	Words  []vocabularyWord `json:"words"`
}

// trends say how an advantage runs along a variable.
var trends = []vocabularyWord{
	{locate.Rising, "the highest third of the events is shown to beat the lowest"},
	{locate.Falling, "the highest third of the events is shown to fall behind the lowest"},
	{locate.Turning, "the middle third is shown to differ from both others in the same direction"},
	{locate.Flat, "none of these is shown; that does not prove that the curve is flat"},
}

// publishedWords lists the words of the published tables other than verdicts and
// caveats, which have sections of their own.
func publishedWords() []wordList {
	lines := []vocabularyWord{}
	for _, name := range []string{estimate.TypeMedian, estimate.TypeRate, estimate.HandMedian, estimate.HandRate, estimate.MatchupMedian,
		estimate.MatchupRate, estimate.LeagueMedian, estimate.LeagueRate, estimate.StratumMedian, estimate.StratumRate} {
		lines = append(lines, vocabularyWord{name, referenceTitle(name)})
	}
	lines = append(lines, vocabularyWord{estimate.Fixed, "a value given in the settings, which has no error of its own"})
	return []wordList{
		{"reference", lines},
		{"level_verdict", []vocabularyWord{
			{locate.Above, "all events of the cell together are shown to beat the line"},
			{locate.Below, "they are shown to fall behind the line"},
			{locate.NotShown, "neither is shown"}}},
		{"trend", trends},
		{"lower_kind, upper_kind", []vocabularyWord{
			{"edge", "a confirmed breakpoint: on one side of it a stretch is shown to beat the line, on the other one is shown to fall behind"},
			{"open", "the zone reaches the end of what was observed; nothing is known beyond"},
			{"unresolved", "the evidence fades before a breakpoint is confirmed"}}},
		{"beyond_lower, beyond_upper", []vocabularyWord{
			{"keeps_rising", "from the breakpoint's limit into the zone the advantage is shown to grow, by the events there alone"},
			{"holds", "from that limit to the end of what was observed it is shown to change by no more than delta"},
			{"falls_back", "further into the zone it is shown to shrink, or the zone ends at another breakpoint"},
			{"cannot_tell", "none of these is shown, or the breakpoint has no limit on that side, or fewer than three bins lie beyond it"}}},
		{"kind of a bin", []vocabularyWord{
			{estimate.Regular, "between two edges"},
			{estimate.OpenLow, "the lowest values, taken together until they hold enough events and pitchers"},
			{estimate.OpenHigh, "the highest values, likewise"},
			{estimate.Missing, "the variable is unknown"}}},
		{"kind of a contrast", []vocabularyWord{
			{locate.KindLevel, "difference of two curves at the same values"},
			{locate.KindBreakpoint, "difference of two breakpoints against the same line"},
			{locate.KindPlatoon, "level by thirds of the variable, same-handed less opposite-handed batters, and its change along the variable"}}},
		{"verdict of a contrast", []vocabularyWord{
			{locate.Differs, "the two are shown to differ, allowing for all contrasts of the family"},
			{locate.NotDiffering, "no difference is shown; that does not prove there is none"},
			{locate.EqualWithin, "every interval lies within delta of no difference"},
			{locate.NotEstimable, "there is nothing to compare; note says why"}}},
		{"verdict of platoon", platoonWords},
	}
}

// answerWarnings are caveats that only an answer of a lookup carries.
var answerWarnings = []meaning{
	{thresholds.CentralRange, "the answer rests on a verdict that holds over the central nine tenths of the events only, " + words.ExceptSliver + " (answers of a lookup)"},
}
