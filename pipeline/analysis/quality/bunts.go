package quality

import (
	"fmt"
	"maps"
	"slices"

	"sill/pipeline/analysis/answer"
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
// been bunts without the source saying so, catcher interference aside.
type bunts map[answer.Cell]buntCount

type buntCount struct{ inPlay, unknown int64 }

func (b bunts) add(batch []pitch.Pitch) {
	for i := range batch {
		p := &batch[i]
		if p.Outcome != pitch.InPlay || p.Result == pitch.CatcherInterference || p.Side > pitch.RightSide {
			continue
		}
		c := answer.CellOfPitch(p)
		n := b[c]
		n.inPlay++
		if outcome.BuntUnknown(p) {
			n.unknown++
		}
		b[c] = n
	}
}

func (b bunts) join(o bunts) {
	for c, n := range o {
		b[c] = buntCount{b[c].inPlay + n.inPlay, b[c].unknown + n.unknown}
	}
}

// caveats warns of the cells in which many balls in play may have been bunts.
func (b bunts) caveats() []locate.Caveat {
	var out []locate.Caveat
	for _, c := range slices.SortedFunc(maps.Keys(b), answer.Cell.Compare) {
		if n := b[c]; c.Type != pitch.UnknownType && n.unknown > 0 && float64(n.unknown) >= manyBunts*float64(n.inPlay) {
			out = append(out, locate.Caveat{Code: locate.WarnBunts, PitchType: c.Type.String(),
				Hand: c.Hand.String(), Side: c.Side.String(), Outcome: outcome.Metrics[outcome.Whiff].Name})
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
