package demo

import (
	"context"
	"testing"

	"sill/pipeline/pitch"
)

func TestPlayRatesSketch(t *testing.T) {
	o := DefaultOptions()
	o.Pitches = 200000
	var n, sw, wh, pa, k, bb, hbp, ibb, inplay, zone, games, mxInn, cpa float64
	var worth, endC, endV float64
	res := map[pitch.Result]int{}
	out := map[pitch.Outcome]int{}
	ty := map[pitch.Type]int{}
	tsw := map[pitch.Type][2]float64{}
	err := Play(context.Background(), Lantern(), o, func(rows []Thrown) error {
		if rows[0].Kind != Regular {
			return nil
		}
		games++
		for _, r := range rows {
			n++
			out[r.Outcome]++
			ty[r.Type]++
			switch r.Outcome {
			case pitch.SwingingStrike, pitch.Foul, pitch.FoulTip, pitch.InPlay:
				if !r.Bunt {
					sw++
					e := tsw[r.Type]
					e[0]++
					if r.Outcome == pitch.SwingingStrike {
						wh++
						e[1]++
					}
					tsw[r.Type] = e
				}
			}
			if r.Outcome == pitch.InPlay {
				inplay++
			}
			mxInn = max(mxInn, r.Num[pitch.Inning])
			endC += r.EndChance
			if r.EndChance > 0 {
				endV += r.EndChance * r.EndValue
			}
			if r.Result != pitch.NoResult {
				res[r.Result]++
				pa++
				switch r.Result {
				case pitch.Strikeout, pitch.StrikeoutDoublePlay:
					k++
				case pitch.Walk:
					bb++
				case pitch.HitByPitch:
					hbp++
				case pitch.IntentionalWalk:
					ibb++
				}
				w := map[pitch.Result]float64{pitch.Walk: .72, pitch.HitByPitch: .75, pitch.Single: .9, pitch.Double: 1.24, pitch.Triple: 1.56, pitch.HomeRun: 1.95, pitch.ReachedOnError: .92}
				worth += w[r.Result]
				switch r.Result {
				case pitch.IntentionalWalk, pitch.CatcherInterference, pitch.SacrificeBunt, pitch.SacrificeBuntDoublePlay, pitch.NotAppearance:
				default:
					cpa++
				}
			}
		}
		return nil
	})
	_ = zone
	t.Log(err, "games", games, "p/g", n/games, "swing", sw/n, "whiff", wh/sw, "p/pa", n/pa, "K", k/pa, "BB", bb/pa, "HBP", hbp/pa, "IBB", ibb/pa, "woba", worth/cpa, "true", endV/endC, endC/cpa, "inn", mxInn)
	for i := range pitch.Results {
		t.Log(pitch.Result(i), float64(res[pitch.Result(i)])/pa)
	}
	for i := range pitch.Outcomes {
		t.Log(pitch.Outcome(i), float64(out[pitch.Outcome(i)])/n)
	}
	for i := range pitch.Types {
		t.Log(pitch.Type(i), float64(ty[pitch.Type(i)])/n, tsw[pitch.Type(i)][1]/tsw[pitch.Type(i)][0])
	}
}
