package quality

import (
	"fmt"

	"sill/pipeline/ingest"
	"sill/pipeline/locate"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/render/words"
)

// manyBunts is the share of a cell's balls in play that may have been bunts from which
// its whiff rate is warned of.
const manyBunts = .01

// bunts counts, by pitch type and matchup, the balls in play and those that may have
// been bunts without the source saying so, catcher interference aside. Counts add.
type bunts [pitch.Types][pitch.RightHand + 1][pitch.RightSide + 1]struct{ inPlay, unknown int64 }

func (b *bunts) add(batch []pitch.Pitch) {
	for i := range batch {
		p := &batch[i]
		if p.Outcome != pitch.InPlay || p.Result == pitch.CatcherInterference || p.Side > pitch.RightSide {
			continue
		}
		c := &b[p.Type][p.Hand][p.Side]
		c.inPlay++
		if outcome.BuntUnknown(p) {
			c.unknown++
		}
	}
}

func (b *bunts) join(o *bunts) {
	for t := range b {
		for h := range b[t] {
			for s := range b[t][h] {
				b[t][h][s].inPlay += o[t][h][s].inPlay
				b[t][h][s].unknown += o[t][h][s].unknown
			}
		}
	}
}

// caveats warns of the cells in which many balls in play may have been bunts.
func (b *bunts) caveats() []locate.Caveat {
	var out []locate.Caveat
	for t := range b {
		for h := range b[t] {
			for s, c := range b[t][h] {
				if pitch.Type(t) != pitch.UnknownType && c.unknown > 0 && float64(c.unknown) >= manyBunts*float64(c.inPlay) {
					out = append(out, locate.Caveat{Code: locate.WarnBunts, PitchType: pitch.Type(t).String(),
						Hand: pitch.Hand(h).String(), Side: pitch.Side(s).String(), Outcome: outcome.Metrics[outcome.Whiff].Name})
				}
			}
		}
	}
	return out
}

// buntWarnings says in how many cells many balls in play may have been bunts.
func buntWarnings(cells []locate.Caveat, unknown int64) []ingest.Warning {
	if len(cells) == 0 {
		return nil
	}
	return []ingest.Warning{{Code: locate.WarnBunts, Detail: fmt.Sprintf(
		"%d balls in play may have been bunts, at least 1 %% of them in %s: the source does not tell, map bunt in the profile", unknown, words.Plural(int64(len(cells)), "cell"))}}
}
