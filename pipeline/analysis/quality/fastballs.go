package quality

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/tally"
	"sill/stats"
)

// SlowFastball is a pitcher whose fastball is so much slower than the league's that
// he is likelier a position player.
type SlowFastball struct {
	Pitcher   string  `json:"pitcher"` // key: identity and hand
	PitchType string  `json:"pitch_type"`
	Pitches   int64   `json:"pitches"`
	Mean      float64 `json:"mean"`   // mph, to half a bin of velocity
	League    float64 `json:"league"` // mph, the median pitcher
	SD        float64 `json:"sd"`     // mph, of pitchers
	Below     float64 `json:"below"`  // how many SD
}

// What is far below, and who counts. Below: common practice, no source. The fewest
// pitches keep one changeup under a wrong name from marking its pitcher.
const (
	farBelow         = 4     // SD
	fewestFastballs  = 5     // of a pitcher who is judged
	manyFastballs    = 50    // of a pitcher by whom others are judged
	fewestPitchers   = 20    // by whom others are judged
	normalMADs       = .6745 // median distance from the median of a normal variable, in SD
	slowFastballCode = "slow_fastballs"
)

// slowFastballs lists the pitchers whose fastball lies more than four SD below the
// league's, by type and pitcher. The league is the median of pitchers who throw many
// of the type, each counting once, and the SD is that of a normal with their median
// distance from it (Hampel 1974, JASA 69:383): the ones looked for move neither.
func slowFastballs(t *tally.Tally) []SlowFastball {
	out := []SlowFastball{}
	v := t.VariableIndex("velocity")
	if v < 0 {
		return out
	}
	for _, typ := range []pitch.Type{pitch.FourSeam, pitch.Sinker, pitch.Cutter} {
		n, sum := make([]int64, len(t.Pitchers)), make([]int64, len(t.Pitchers))
		for table, curve := range t.Curves(v) {
			if table.Cell.Type != typ || table.Cell.Stratum != tally.AllStrata {
				continue
			}
			for b := curve.Known(); b < len(curve.Bins); b++ {
				for _, row := range curve.Bin(b) {
					n[row.Cluster] += int64(row.Pitches)
					sum[row.Cluster] += int64(row.Pitches) * (2*int64(curve.Bins[b]) + 1)
				}
			}
		}
		mean := func(i int) float64 { return float64(float64(sum[i])/float64(2*n[i])) * t.Variables[v].Width() }
		var league []float64
		for i := range n {
			if n[i] >= manyFastballs {
				league = append(league, mean(i))
			}
		}
		if len(league) < fewestPitchers {
			continue
		}
		center := median(league)
		for i, x := range league {
			league[i] = math.Abs(x - center)
		}
		sd := median(league) / normalMADs
		for i, name := range t.Pitchers {
			if n[i] < fewestFastballs || !(center-mean(i) > farBelow*sd) || sd == 0 {
				continue
			}
			out = append(out, SlowFastball{Pitcher: name, PitchType: typ.String(), Pitches: n[i],
				Mean: mean(i), League: center, SD: sd, Below: (center - mean(i)) / sd})
		}
	}
	return out
}

// median sorts x and returns its median.
func median(x []float64) float64 {
	slices.Sort(x)
	return stats.Quantile(x, .5)
}

// slowWarning says how many are likelier position players and how to leave them out;
// nothing was left out.
func slowWarning(slow []SlowFastball) []ingest.Warning {
	if len(slow) == 0 {
		return nil
	}
	slowest := slices.MaxFunc(slow, func(a, b SlowFastball) int { return cmp.Compare(a.Below, b.Below) })
	who := map[string]bool{}
	for _, s := range slow {
		who[s.Pitcher] = true
	}
	return []ingest.Warning{{Code: slowFastballCode, Detail: fmt.Sprintf(
		"pitchers whose fastball is more than %d SD slower than the league's: %d, such as %s, %s at %.1f mph against %.1f; they count. "+
			"quality.json lists them under slow_fastballs: leave out those who are position players with exclude_pitchers in the profile, by position_players where the source marks them or by ids",
		farBelow, len(who), slowest.Pitcher, slowest.PitchType, slowest.Mean, slowest.League)}}
}
