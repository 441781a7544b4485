package trend

import (
	"slices"

	"sill/pipeline/outcome"
	"sill/pipeline/tally"
)

// SeasonShift is what pitchers of two seasons in a row changed by in common.
type SeasonShift struct {
	From int64 `json:"from" doc:"earlier season"`
	To   int64 `json:"to" doc:"next season of the data"`
	Shift
}

// Relabel is how many pitchers had one pitch type in a season and another that looks
// the same in the next.
type Relabel struct {
	From     int64  `json:"from" doc:"earlier season"`
	To       int64  `json:"to" doc:"next season of the data"`
	TypeA    string `json:"pitch_type_before" doc:"pitch type that all but vanished"`
	TypeB    string `json:"pitch_type_after" doc:"pitch type that came up"`
	Pitchers int64  `json:"pitchers" unit:"count" doc:"pitchers of whom that is so"`
}

// Seasons compares the seasons of a tally, each with the next: shifts of qualities
// within the same pitchers, and pitches that got another name. Both are empty where
// there is one season.
func Seasons(t *tally.Tally) (shifts []SeasonShift, relabels []Relabel) {
	var seasons []int16
	for i := range t.Cells {
		if s := t.Cells[i].Cell.Season; !slices.Contains(seasons, s) {
			seasons = append(seasons, s)
		}
	}
	slices.Sort(seasons)
	for i := 1; i < len(seasons); i++ {
		from, to := int64(seasons[i-1]), int64(seasons[i])
		w := [2]Window{{Tally: t, Seasons: seasons[i-1 : i]}, {Tally: t, Seasons: seasons[i : i+1]}}
		vars, _ := shared(&w[0], &w[1])
		var ends [2]map[thrower]*record
		for e := range w {
			ends[e] = gather(&w[e], e, vars, &outcome.Scoring{})
		}
		pairs, _ := both(ends)
		for _, s := range sharedShifts(pairs, vars) {
			if s.Shift != nil {
				shifts = append(shifts, SeasonShift{from, to, s})
			}
		}
		for _, r := range relabelled(ends, vars) {
			k := slices.IndexFunc(relabels, func(o Relabel) bool { return o.From == from && o.TypeA == r.From && o.TypeB == r.To })
			if k < 0 {
				k = len(relabels)
				relabels = append(relabels, Relabel{From: from, To: to, TypeA: r.From, TypeB: r.To})
			}
			relabels[k].Pitchers++
		}
	}
	suspect(len(shifts), func(i int) *Shift { return &shifts[i].Shift })
	return shifts, relabels
}
