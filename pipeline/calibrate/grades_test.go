package calibrate

import (
	"testing"

	"sill/pipeline/analysis/grade"
	"sill/pipeline/demo"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/stats/calibrate"
)

// TestGrades grades 12 leagues a design; of fewer leagues all may hold by chance.
func TestGrades(t *testing.T) {
	small(t, grades, gradeSets, 12, 12, 87, 0)
}

// The Lantern League, whose pitchers differ in talent, qualities, work and in whom they
// face, plays a very long season: rates graded by its beginning hold the true ones, which
// the league knows pitch by pitch, over all that comes after.
func TestGradesOfLantern(t *testing.T) {
	const beginning, settled = 100_000, 150
	s, o := demo.Lantern(), demo.DefaultOptions()
	if o.Pitches = 1_200_000; testing.Short() {
		o.Pitches = 600_000
	}
	observer := demo.NewObserver(&s, o.Pitches)
	type cell struct{ pitcher, kind, side string }
	truth := map[cell]*[2][2]float64{}
	nothing := &grade.Yardstick{Name: "none"}
	reader, _ := nothing.Read(nil, 1)
	var batch []pitch.Pitch
	thrown := 0
	err := demo.Play(t.Context(), s, o, func(rows []demo.Thrown) error {
		batch = batch[:0]
		thrown += len(rows)
		for i := range rows {
			var p pitch.Pitch
			x := &rows[i]
			if !observer.Observe(x, &p) {
				continue
			}
			if thrown < beginning {
				batch = append(batch, p)
				continue
			}
			k := cell{demo.ID(x.Pitcher), x.Type.String(), x.Side.String()}
			if truth[k] == nil {
				truth[k] = &[2][2]float64{}
			}
			for m, of := range [2][2]float64{{x.SwingChance, x.WhiffChance}, {x.EndChance, x.EndValue}} {
				if of[0] > 0 {
					truth[k][m][0] += of[0]
					truth[k][m][1] += of[0] * of[1]
				}
			}
		}
		return reader.Add(0, batch)
	})
	if err != nil {
		t.Fatal(err)
	}
	p, err := reader.Population("lantern", observer.Pitchers, outcome.Scoring{Weights: outcome.TheBook()})
	if err != nil {
		t.Fatal(err)
	}
	var held [2][2]calibrate.Share // by outcome and events: below 40, or more
	for _, a := range grade.Grade(nothing, p, p).Arsenal {
		at := truth[cell{a.Pitcher, a.PitchType, a.Side}]
		for m, of := range []struct {
			n      int64
			lo, hi *float64
		}{{a.Swings, a.WhiffLo, a.WhiffHi}, {a.Appearances, a.WOBALo, a.WOBAHi}} {
			if of.lo == nil || at == nil || at[m][0] < settled {
				continue // a true rate is known by some hundred events
			}
			size := 0
			if of.n >= 40 {
				size = 1
			}
			rate := at[m][1] / at[m][0]
			held[m][size].Add(*of.lo <= rate && rate <= *of.hi)
		}
	}
	for m, metric := range outcome.Metrics {
		for size, name := range []string{"few", "many"} {
			h := held[m][size]
			t.Logf("%s, %s events: %.3f of %d held", metric.Title, name, h.Rate(), h.Of)
			if h.Of < 10 || h.Rate() < .92-4*h.SE(.92) {
				t.Errorf("%s, %s events: %.3f of %d held", metric.Title, name, h.Rate(), h.Of)
			}
		}
	}
}
