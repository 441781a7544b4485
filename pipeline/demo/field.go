package demo

import (
	"math/bits"

	"sill/pipeline/pitch"
)

// inPlay plays a ball hit into the field.
func (g *game) inPlay(t *Thrown, contact []float64) pitch.Result {
	r := g.r
	switch draw(r, contact) {
	case 1:
		g.single(t)
		return pitch.Single
	case 2:
		first := g.bases & 1
		g.bases &^= 1
		g.advanceAll(t, 2, false)
		g.bases |= 2
		if first != 0 {
			if chance(r, .42) {
				t.Runs++
			} else {
				g.bases |= 4
			}
		}
		return pitch.Double
	case 3:
		g.advanceAll(t, 3, true)
		return pitch.Triple
	case 4:
		g.advanceAll(t, 4, true)
		return pitch.HomeRun
	case 5:
		g.advanceAll(t, 1, true)
		return pitch.ReachedOnError
	}
	return g.fieldedOut(t)
}

// single moves runners on a single: one from second often scores.
func (g *game) single(t *Thrown) {
	b := g.bases
	g.bases = 1
	if b&4 != 0 {
		t.Runs++
	}
	thirdTaken := false
	if b&2 != 0 {
		if chance(g.r, .6) {
			t.Runs++
		} else {
			g.bases |= 4
			thirdTaken = true
		}
	}
	if b&1 != 0 {
		if !thirdTaken && chance(g.r, .28) {
			g.bases |= 4
		} else {
			g.bases |= 2
		}
	}
}

// fieldedOut plays a ball in play that does not go for a hit.
func (g *game) fieldedOut(t *Thrown) pitch.Result {
	r := g.r
	first, third := g.bases&1 != 0, g.bases&4 != 0
	if chance(r, .45) { // on the ground
		switch u := r.Float64(); {
		case first && g.outs < 2 && u < .33:
			t.Out = 2
			g.bases &^= 1
			if g.outs == 0 {
				g.advanceRunners(t)
			}
			return pitch.Out | pitch.DoublePlay
		case first && g.bases&2 != 0 && g.outs == 0 && u < .335:
			t.Out = 3
			return pitch.Out | pitch.TriplePlay
		case first && u < .58:
			t.Out = 1
			g.bases &^= 1
			if g.outs < 2 {
				g.advanceRunners(t)
				g.bases |= 1
			}
			return pitch.FieldersChoice
		case first && g.outs < 2 && u < .60: // everybody is safe
			g.advanceForced(t)
			return pitch.FieldersChoice
		case !first && g.bases&2 != 0 && g.outs < 2 && u < .05: // the runner is caught off second
			t.Out = 1
			g.bases = g.bases&^2 | 1
			return pitch.FieldersChoice
		}
		t.Out = 1
		if g.outs < 2 && chance(r, .5) {
			g.advanceRunners(t)
		}
		return pitch.Out
	}
	t.Out = 1
	if third && g.outs < 2 && chance(r, .5) { // deep enough to score on
		g.bases &^= 4
		if g.outs < 1 && g.bases&2 != 0 && chance(r, .02) {
			g.bases &^= 2
			t.Out = 2
			t.Runs++
			return pitch.SacrificeFly | pitch.DoublePlay
		}
		t.Runs++
		return pitch.SacrificeFly
	}
	return pitch.Out
}

// advanceForced puts the batter on first and moves only who must move.
func (g *game) advanceForced(t *Thrown) {
	switch {
	case g.bases&1 == 0:
		g.bases |= 1
	case g.bases&2 == 0:
		g.bases |= 2
	case g.bases&4 == 0:
		g.bases |= 4
	default:
		t.Runs++
	}
}

// advanceRunners moves every runner one base; the batter is not among them.
func (g *game) advanceRunners(t *Thrown) { g.advanceAll(t, 1, false) }

// advanceAll moves every runner n bases, and the batter too if he reaches.
func (g *game) advanceAll(t *Thrown, n int, batterReaches bool) {
	b := g.bases << n
	if batterReaches {
		b |= 1 << (n - 1)
	}
	t.Runs += bits.OnesCount(uint(b >> 3))
	g.bases = b & 7
}

// score books the outs and runs of a row.
func (g *game) score(t *Thrown) {
	g.outs += t.Out
	g.teams[g.half].score += t.Runs
	if g.half == 1 && g.inning >= 9 && t.Result != pitch.HomeRun {
		// The game ends with the run that wins it.
		if over := g.teams[1].score - g.teams[0].score - 1; over > 0 && t.Runs > 0 {
			t.Runs -= over
			g.teams[1].score -= over
		}
	}
}

// stolen plays an attempt to steal second after a pitch and tells whether it
// made the third out.
func (g *game) stolen(t *Thrown) bool {
	if g.bases&3 != 1 || !chance(g.r, .022) {
		return false
	}
	g.bases &^= 1
	if chance(g.r, .76) {
		g.bases |= 2
		return false
	}
	t.Out++
	g.outs++
	return g.outs == 3
}
