package outcome

import "sill/pipeline/pitch"

// Swing is how a batter swung at one pitch.
type Swing uint8

// The swings.
const (
	NoSwing Swing = iota
	Contact       // foul or in play
	Miss          // swing and miss: a whiff
	Tip           // foul tip: a swing, and a whiff only if the scoring says so
)

// SwingOf returns the swing at a pitch. Bunt attempts and swings at pitchouts
// are none, nor is a ball in play that is known to have been bunted; a plate
// appearance that ended in catcher interference has no swing either, since the
// bat met the mitt.
func SwingOf(p *pitch.Pitch) Swing {
	if p.Result == pitch.CatcherInterference {
		return NoSwing
	}
	switch p.Outcome {
	case pitch.SwingingStrike:
		return Miss
	case pitch.FoulTip:
		return Tip
	case pitch.Foul:
		return Contact
	case pitch.InPlay:
		if Bunted(p) {
			return NoSwing
		}
		return Contact
	}
	return NoSwing
}

// Bunted tells whether a ball in play is known to have been bunted: the source
// says so, or the result is a sacrifice bunt or has the flag.
func Bunted(p *pitch.Pitch) bool {
	return p.Bunt == pitch.Yes || p.Result.Base() == pitch.SacrificeBunt || p.Result.Has(pitch.Bunt)
}

// BuntUnknown tells whether a ball in play may have been bunted without the
// source saying so: the warning bunts_unknown counts these. Catcher interference is
// no swing either way.
func BuntUnknown(p *pitch.Pitch) bool {
	return p.Outcome == pitch.InPlay && p.Bunt == pitch.Unknown && !Bunted(p) && p.Result != pitch.CatcherInterference
}

// Shaped tells whether a pitch was thrown to be hit, so that its shape means
// something. Intentional balls, pitchouts and what was never thrown (automatic
// balls and strikes, no pitch) enter no shape mean, bin or grade; they count in
// totals.
func Shaped(o pitch.Outcome) bool {
	switch o {
	case pitch.IntentionalBall, pitch.Pitchout, pitch.SwingingPitchout, pitch.FoulPitchout,
		pitch.InPlayPitchout, pitch.AutomaticBall, pitch.AutomaticStrike, pitch.NoPitch:
		return false
	}
	return true
}
