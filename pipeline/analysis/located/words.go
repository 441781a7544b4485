package located

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sill/pipeline/analysis/answer"
	"sill/pipeline/render/words"
	"sill/pipeline/shape"
)

// Report is what became of every breakpoint.
type Report struct{ Rows []Row }

// sort puts the rows in the order of every table.
func (r *Report) sort() {
	order := shape.Names(shape.Variables)
	slices.SortStableFunc(r.Rows, func(a, b Row) int {
		return cmp.Or(a.Cell.Type.Compare(b.Cell.Type),
			cmp.Compare(slices.Index(order, a.variable.Name), slices.Index(order, b.variable.Name)),
			cmp.Compare(a.Metric, b.Metric), a.Cell.Compare(b.Cell), cmp.Compare(a.edge.X, b.edge.X))
	})
}

// Only returns the report with some of its rows.
func (r *Report) Only(keep answer.Filter) *Report {
	return &Report{slices.DeleteFunc(slices.Clone(r.Rows), func(x Row) bool { return !x.Passes(keep) })}
}

// Count is how many breakpoints have a verdict.
func (r *Report) Count(verdict string) int {
	return answer.Count(r.Rows, func(x *Row) bool { return x.Verdict == verdict })
}

// Summary says the whole in a sentence.
func (r *Report) Summary() string {
	if len(r.Rows) == 0 {
		return "No breakpoint is confirmed, so there is none to ask about."
	}
	return fmt.Sprintf("%s asked about: %s.", words.Plural(int64(len(r.Rows)), "breakpoint"), answer.Counted("", verdicts, r.Count))
}

// Caution is what stands under every report.
func (r *Report) Caution() string {
	return "Location is held by weighting every stretch of the quality to the league's mix of heights (sixths of the zone, below and above it) by centre, border and outside. " +
		"That takes out where pitches went, not how they were used: counts, sequences and the pitchers themselves differ still. " +
		"Workload and mechanics belong to the coaches and the medical staff."
}

func (r *Row) shape() shape.Variable { return answer.Variable(r.variable.Name) }

func (r *Row) unit() string { return answer.Unit(r.variable.Unit) }

// Quality is the variable for people.
func (r *Row) Quality() string { return r.shape().Title }

// Title names a breakpoint: "four-seam R-v-R · velocity 94.3 mph · whiff rate".
func (r *Row) Title() string {
	v := r.shape()
	return r.Cell.Title() + " · " + v.Title + " " + words.Number(r.edge.X, v.Decimals) + r.unit() + " · " + r.Outcome().Title
}

// Breakpoint is the breakpoint as thrown: "from 94.3 mph up".
func (r *Row) Breakpoint() string {
	x := words.Number(r.edge.X, r.shape().Decimals) + r.unit()
	if r.edge.Up {
		return "from " + x + " up"
	}
	return "up to " + x
}

// InWords is the verdict for people.
func (r *Row) InWords() string { return answer.Named(verdicts, r.Verdict) }

// Filled says how much of the weight stands on empty places; empty where none is told.
func (r *Row) Filled() string {
	if math.IsNaN(r.Empty) {
		return ""
	}
	return words.Percent(r.Empty)
}

// Sentence says the verdict with its numbers.
func (r *Row) Sentence() string {
	if r.Verdict == TooFew {
		if r.Empty > maxEmpty {
			return fmt.Sprintf("Not enough data: %s of the weight stands on places where no such pitch was thrown, above %s.", words.Percent(r.Empty), words.Percent(maxEmpty))
		}
		return "Not enough data: too few pitches of a known location on one side."
	}
	numbers := fmt.Sprintf("the gain is %s as thrown and %s with location held", r.Thrown.Gain(), r.Held.Gain())
	switch r.Verdict {
	case Holds:
		return "Holds with location held: " + numbers + "."
	case Partly:
		text := fmt.Sprintf("Is partly location: %s, which is %s (%s to %s) less.", numbers, words.Rate(r.Loss.X), words.Rate(r.Loss.Lo), words.Rate(r.Loss.Hi))
		if !(r.Held.Lo > 0) {
			text += " Whether anything is left cannot be told."
		}
		return text
	case IsLocation:
		return "Is location: " + numbers + ", which leaves nothing worth telling."
	}
	if r.Held.Lo > 0 {
		return fmt.Sprintf("A gain stays with location held, but whether part of it is location cannot be told: %s, a difference of %s.", numbers, r.Loss.Gain())
	}
	return "Cannot tell: " + numbers + "."
}

// Moves says where the breakpoint lies with location held.
func (r *Row) Moves() string {
	v := r.shape()
	number := func(x float64) string { return words.Number(x, v.Decimals) }
	switch {
	case r.Verdict == TooFew:
		return ""
	case math.IsNaN(r.Moved.X):
		return "With location held the curve no longer passes the line."
	case math.IsNaN(r.Moved.Lo):
		return "With location held the curve passes the line at " + number(r.Moved.X) + r.unit() + ", which is not confirmed."
	}
	limits := number(r.Moved.Lo) + " to " + number(r.Moved.Hi)
	switch below, above := math.IsInf(r.Moved.Lo, 0), math.IsInf(r.Moved.Hi, 0); {
	case below && above:
		limits = "not pinned"
	case below:
		limits = "up to " + number(r.Moved.Hi) + ", not pinned below"
	case above:
		limits = "from " + number(r.Moved.Lo) + ", not pinned above"
	}
	at := number(r.Moved.X) + r.unit() + " (" + limits + ")"
	if math.IsNaN(r.Shift.Lo) {
		return "With location held the breakpoint lies at " + at + "; whether it moves cannot be told."
	}
	shift := words.Signed(r.Shift.X, v.Decimals) + r.unit() + " (" + words.Signed(r.Shift.Lo, v.Decimals) + " to " + words.Signed(r.Shift.Hi, v.Decimals) + ")"
	if r.Shift.Lo > 0 || r.Shift.Hi < 0 {
		return "With location held the breakpoint moves by " + shift + ", to " + at + "."
	}
	return "With location held the breakpoint lies at " + at + ", not shown to move: " + shift + "."
}
