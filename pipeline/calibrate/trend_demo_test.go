package calibrate

import (
	"math"
	"testing"

	"sill/pipeline/analysis/trend"
	"sill/pipeline/demo"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/stats"
)

// TestTrendOfDemo follows the pitchers of the demo league, who change a little from
// season to season, and holds what is said of their speed, over the swings, against
// all that they threw. The first season is also dealt into two halves, pitch by pitch:
// how whiff rates of the halves go together is what their persistence says.
func TestTrendOfDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("two seasons")
	}
	source := shape.DefaultSource()
	source.SpeedAt, source.MovementFrom, source.MovementTo = shape.AtRelease, shape.AtRelease, shape.AtPlateFront
	resolver, err := shape.NewResolver(func(string) bool { return true }, source)
	if err != nil {
		t.Fatal(err)
	}
	wanted, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		t.Fatal(err)
	}
	s := demo.Lantern()
	observer := demo.NewObserver(&s, 0)
	names := tally.Names{Pitchers: observer.Pitchers, Batters: observer.Batters, Games: observer.Games}
	var builders [4]*tally.Builder // seasons, and halves of the first
	for i := range builders {
		if builders[i], err = tally.NewBuilder(resolver.Variables(wanted), nil, names, 1); err != nil {
			t.Fatal(err)
		}
	}
	type thrower struct {
		pitcher string
		typ     string
	}
	type sum struct{ n, x float64 }
	var thrown [2]map[thrower]*sum
	thrown[0], thrown[1] = map[thrower]*sum{}, map[thrower]*sum{}
	o := demo.DefaultOptions()
	o.Seasons, o.Pitches = 2, 200_000
	deal, people := map[int32]int{}, map[int32]int64{}
	var quality shape.Quality
	err = demo.Play(t.Context(), s, o, func(rows []demo.Thrown) error {
		var batches [4][]pitch.Pitch
		var p pitch.Pitch
		for i := range rows {
			if !observer.Observe(&rows[i], &p) || resolver.Complete(&p, &quality) != "" {
				continue
			}
			season := int(p.Season) - s.FirstYear
			p.Game = -1 // the observer knows the first season's games and people
			if is, ok := people[p.Pitcher]; ok && is != rows[i].Pitcher {
				continue // he took the place of one who left
			}
			people[p.Pitcher] = rows[i].Pitcher
			batches[season] = append(batches[season], p)
			if season == 0 {
				deal[p.Pitcher]++
				half := 2 + deal[p.Pitcher]%2
				batches[half] = append(batches[half], p)
			}
			if x := p.Num[pitch.Velocity]; !pitch.IsMissing(x) {
				k := thrower{names.Pitchers[p.Pitcher], p.Type.String()}
				if thrown[season][k] == nil {
					thrown[season][k] = &sum{}
				}
				thrown[season][k].n++
				thrown[season][k].x += x
			}
		}
		for i := range batches {
			if err := builders[i].Add(0, batches[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var counts [4]*tally.Tally
	for i := range builders {
		if counts[i], err = builders[i].Tally(); err != nil {
			t.Fatal(err)
		}
	}
	scoring := outcome.Scoring{Weights: outcome.TheBook()}
	found, err := trend.Follow(trend.Window{Name: "a", Tally: counts[0]}, trend.Window{Name: "b", Tally: counts[1]}, scoring)
	if err != nil {
		t.Fatal(err)
	}
	var held, of, moved float64
	for i := range found.Rows {
		r := &found.Rows[i]
		if r.Change == nil || r.Outcome != "whiff_rate" || r.Side != "left" {
			continue
		}
		hand, _ := pitch.ParseHand(r.Hand)
		k := thrower{pitch.PitcherKey{ID: r.Pitcher, Hand: hand}.String(), r.PitchType}
		a, b := thrown[0][k], thrown[1][k]
		truth := b.x/b.n - a.x/a.n
		of++
		if *r.ChangeLo <= truth && truth <= *r.ChangeHi {
			held++
		}
		if r.Verdict == trend.Moved {
			moved++
			if math.Abs(truth) < .4 || truth*(*r.Own) < 0 {
				t.Errorf("%s %s is said to have moved by %.2f; all his pitches did by %.2f", r.Pitcher, r.PitchType, *r.Own, truth)
			}
		}
	}
	t.Logf("%.0f pitches of pitchers, %.3f held, %.0f moved", of, held/of, moved)
	if of < 300 || held/of < .95 || moved < 20 {
		t.Errorf("%.0f pitches of pitchers, %.3f held, %.0f moved", of, held/of, moved)
	}
	for _, shift := range found.Shifts {
		if shift.Suspect {
			t.Errorf("the league's instrument is suspected: %+v", shift)
		}
	}
	var rates [2]map[string][2]float64
	var half *float64
	for h := range rates {
		rates[h] = map[string][2]float64{}
		for _, c := range counts[2+h].Cells {
			if c.Cell.Type != pitch.FourSeam {
				continue
			}
			for _, row := range c.Totals {
				v := rates[h][counts[2+h].Pitchers[row.Cluster]]
				rates[h][counts[2+h].Pitchers[row.Cluster]] = [2]float64{v[0] + float64(row.Swings), v[1] + float64(row.Whiffs)}
			}
		}
	}
	for _, p := range trend.Persist(trend.Window{Tally: counts[2]}, scoring) {
		if p.PitchType == "four_seam" && p.Kind == trend.OfOutcome && p.Name == "whiff_rate" {
			half = p.Half
		}
	}
	var a, b []float64
	told, pitchers := 0.0, 0.0
	for name, x := range rates[0] {
		if y := rates[1][name]; min(x[0], y[0]) >= 30 {
			a, b = append(a, x[1]/x[0]), append(b, y[1]/y[0])
			n := (x[0] + y[0]) / 2
			told += n / (n + *half)
			pitchers++
		}
	}
	r := stats.Correlation(a, b)
	t.Logf("%.0f pitchers: half is the pitcher after %.0f swings, so halves should correlate by %.3f; they do by %.3f", pitchers, *half, told/pitchers, r)
	if math.Abs(r-told/pitchers) > .12 {
		t.Errorf("halves correlate by %.3f, told is %.3f", r, told/pitchers)
	}
}
