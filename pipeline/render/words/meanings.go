package words

// Meaning is a word of the tables with its meaning.
type Meaning struct {
	Word    string `json:"word"`
	Meaning string `json:"meaning"`
}

// List is a column of the published tables whose words have a meaning each.
type List struct {
	Column string    `json:"column"`
	Words  []Meaning `json:"words"`
}

// Trends say how an advantage runs along a variable.
var Trends = []Meaning{
	{"rising", "the highest third of the events is shown to beat the lowest"},
	{"falling", "the highest third of the events is shown to fall behind the lowest"},
	{"turning", "the middle third is shown to differ from both others in the same direction"},
	{"flat", "none of these is shown; that does not prove that the curve is flat"},
}

// smallest is the smallest difference worth telling.
const smallest = ".020 of whiff rate, .015 of wOBA"

// Platoon are the verdicts on a quality across hands.
var Platoon = []Meaning{
	{"splits", "the gap between same-handed and opposite-handed batters is shown to change along the quality"},
	{"travels", "the quality is shown to matter against both sides, and the gap to change by no more than " + smallest},
	{"cannot_tell", "neither is shown"},
}

// AnswerWarnings are caveats that only an answer of a lookup carries.
var AnswerWarnings = []Meaning{
	{"central_range", "the answer rests on a verdict that holds over the central nine tenths of the events only, " + ExceptSliver +
		" (answers of a lookup)"},
}

// Lists are the words of the published tables other than verdicts and caveats,
// which have tables of their own.
func Lists() []List {
	var references []Meaning
	for _, l := range lines {
		for _, word := range []string{l.word + "_median", l.word + "_rate"} {
			references = append(references, Meaning{word, Line(word)})
		}
	}
	references = append(references, Meaning{"fixed", "a value given in the settings, which has no error of its own"})
	return []List{
		{"reference", references},
		{"level_verdict", []Meaning{
			{"above", "all events of the cell together are shown to beat the line"},
			{"below", "they are shown to fall behind the line"},
			{"not_shown", "neither is shown"}}},
		{"trend", Trends},
		{"lower_kind, upper_kind", []Meaning{
			{"edge", "a confirmed breakpoint: on one side of it a stretch is shown to beat the line, on the other one is shown to fall behind"},
			{"open", "the zone reaches the end of what was observed; nothing is known beyond"},
			{"unresolved", "the evidence fades before a breakpoint is confirmed"}}},
		{"beyond_lower, beyond_upper", []Meaning{
			{"keeps_rising", "from the breakpoint's limit into the zone the advantage is shown to grow, by the events there alone"},
			{"holds", "from that limit to the end of what was observed it is shown to change by no more than " + smallest},
			{"falls_back", "further into the zone it is shown to shrink, or the zone ends at another breakpoint"},
			{"cannot_tell", "none of these is shown, or the breakpoint has no limit on that side, or fewer than three bins lie beyond it"}}},
		{"kind of a bin", []Meaning{
			{"regular", "between two edges"},
			{"open_low", "the lowest values, taken together until they hold enough events and pitchers"},
			{"open_high", "the highest values, likewise"},
			{"missing", "the variable is unknown"}}},
		{"kind of a contrast", []Meaning{
			{"level", "difference of two curves at the same values"},
			{"breakpoint", "difference of two breakpoints against the same line"},
			{"platoon", "level by thirds of the variable, same-handed less opposite-handed batters, and its change along the variable"}}},
		{"verdict of a contrast", []Meaning{
			{"differs", "the two are shown to differ, allowing for all contrasts of the family"},
			{"not_shown_to_differ", "no difference is shown; that does not prove there is none"},
			{"equal_within_delta", "every interval lies within " + smallest + " of no difference"},
			{"not_estimable", "there is nothing to compare; note says why"}}},
		{"verdict of platoon", Platoon},
	}
}

// What stands under what anyone may act on.
const (
	Staff      = "Workload and mechanics belong to the coaches and the medical staff."
	NotToChase = "Velocity is nothing to chase: throwing harder than a body is ready for injures arms"
)
