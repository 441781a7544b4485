package demo

import (
	"slices"
	"testing"

	"sill/pipeline/pitch"
)

// TestObserver: pitches index the names of those who threw, hit and played, and
// the rows that a reader refuses are left out. (That a reader of the files gets
// just these pitches is tested in package calibrate.)
func TestObserver(t *testing.T) {
	s := Lantern()
	const pitches = 20_000
	o := NewObserver(&s, pitches)
	for _, names := range [][]string{o.Pitchers, o.Batters, o.Games} {
		if !slices.IsSorted(names) || len(slices.Compact(slices.Clone(names))) != len(names) {
			t.Fatalf("names %.3q … are not sorted and distinct", names)
		}
	}
	observed, left, untracked := 0, 0, 0
	for _, rows := range season(t, s, small(pitches)) {
		for i := range rows {
			row := &rows[i]
			var p pitch.Pitch
			if !o.Observe(row, &p) {
				left++
				continue
			}
			observed++
			if o.Pitchers[p.Pitcher] != (pitch.PitcherKey{ID: ID(row.Pitcher), Hand: row.Hand}).String() ||
				o.Batters[p.Batter] != ID(row.Batter) || o.Games[p.Game] != gameCode(&s, row.Season, row.Game) {
				t.Fatalf("%+v is taken for %s, %s, %s", row, o.Pitchers[p.Pitcher], o.Batters[p.Batter], o.Games[p.Game])
			}
			if row.Kind != Regular || row.Fielder || row.Outcome == pitch.NoPitch || row.Blemish == Conflicting || row.Blemish == TooFast {
				t.Fatalf("%+v is observed", row)
			}
			if row.Blemish == Untracked {
				untracked++
				if !pitch.IsMissing(p.Num[pitch.Velocity]) || !pitch.IsMissing(p.Num[pitch.AccelerationZ]) || pitch.IsMissing(p.Num[pitch.ZoneTop]) {
					t.Fatalf("untracked, with %v", p.Num)
				}
			}
		}
	}
	if observed < pitches*95/100 || left == 0 || untracked == 0 {
		t.Errorf("%d pitches observed, %d untracked, %d rows left out", observed, untracked, left)
	}
}
