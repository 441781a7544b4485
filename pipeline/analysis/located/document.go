package located

import "sill/pipeline/analysis/answer"

// Body is a report as JSON.
type Body struct {
	Summary     string       `json:"summary" doc:"the whole in a sentence"`
	Caution     string       `json:"caution" doc:"what stands under every report"`
	Breakpoints []Breakpoint `json:"breakpoints"`
}

// Breakpoint is one confirmed breakpoint.
type Breakpoint struct {
	PitchType string   `json:"pitch_type" doc:"pitch type"`
	Hand      string   `json:"hand" doc:"hand of the pitcher"`
	Side      string   `json:"side" doc:"side of the batter"`
	Variable  string   `json:"variable" doc:"quality of the pitch"`
	Unit      string   `json:"unit" doc:"unit of the variable"`
	Outcome   string   `json:"outcome" doc:"whiff_rate or woba_against"`
	X         float64  `json:"breakpoint" doc:"breakpoint as thrown"`
	Lo        *float64 `json:"breakpoint_lo" doc:"its lower 95 % limit; null where it is not pinned"`
	Hi        *float64 `json:"breakpoint_hi" doc:"its upper 95 % limit; null where it is not pinned"`
	Above     bool     `json:"better_above" doc:"whether the pitch is better above it"`
	Verdict   string   `json:"verdict" doc:"holds, partly, is_location, cannot_tell or too_few"`
	Sentence  string   `json:"sentence" doc:"the verdict in a sentence"`
	Gain      *float64 `json:"gain" doc:"better side against the other, as thrown; null where too few tell"`
	GainLo    *float64 `json:"gain_lo" doc:"its lower 95 % limit"`
	GainHi    *float64 `json:"gain_hi" doc:"its upper 95 % limit"`
	Empty     *float64 `json:"empty_share" doc:"share of the weight of the gain with location held that stands on places where no such pitch was thrown, filled by what quality and place add up to; of the two sides the larger; above .25 nothing is said of location"`
	Held      *float64 `json:"gain_held" doc:"the same with location held"`
	HeldLo    *float64 `json:"gain_held_lo" doc:"its lower 95 % limit"`
	HeldHi    *float64 `json:"gain_held_hi" doc:"its upper 95 % limit"`
	Loss      *float64 `json:"location" doc:"the first less the second: what is location"`
	LossLo    *float64 `json:"location_lo" doc:"its lower 95 % limit"`
	LossHi    *float64 `json:"location_hi" doc:"its upper 95 % limit"`
	Moved     *float64 `json:"moved" doc:"breakpoint with location held; null where the curve no longer passes the line"`
	MovedLo   *float64 `json:"moved_lo" doc:"its lower 95 % limit; null where it is not pinned or cannot be told"`
	MovedHi   *float64 `json:"moved_hi" doc:"its upper 95 % limit; null likewise"`
	Shift     *float64 `json:"shift" doc:"moved less the breakpoint as thrown, both through the pitches of a known location"`
	ShiftLo   *float64 `json:"shift_lo" doc:"its lower 95 % limit"`
	ShiftHi   *float64 `json:"shift_hi" doc:"its upper 95 % limit"`
}

// Body returns the report as it is written.
func (r *Report) Body() Body {
	b := Body{Summary: r.Summary(), Caution: r.Caution(), Breakpoints: []Breakpoint{}}
	for i := range r.Rows {
		x := &r.Rows[i]
		p := Breakpoint{PitchType: x.Cell.Type.String(), Hand: x.Cell.Hand.String(), Side: x.Cell.Side.String(),
			Variable: x.variable.Name, Unit: x.variable.Unit, Outcome: x.Outcome().Name, X: x.edge.X, Lo: answer.Null(x.edge.Lo),
			Hi: answer.Null(x.edge.Hi), Above: x.edge.Up, Verdict: x.Verdict, Sentence: x.Sentence(), Empty: answer.Null(x.Empty)}
		p.Gain, p.GainLo, p.GainHi = x.Thrown.Columns()
		p.Held, p.HeldLo, p.HeldHi = x.Held.Columns()
		p.Loss, p.LossLo, p.LossHi = x.Loss.Columns()
		p.Moved, p.MovedLo, p.MovedHi = x.Moved.Columns()
		p.Shift, p.ShiftLo, p.ShiftHi = x.Shift.Columns()
		b.Breakpoints = append(b.Breakpoints, p)
	}
	return b
}
