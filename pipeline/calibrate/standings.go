package calibrate

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"sill/pipeline/analysis/grade"
	"sill/pipeline/outcome"
	"sill/pipeline/pitch"
	store "sill/pipeline/publish"
	"sill/pipeline/shape"
	"sill/pipeline/thresholds"
	"sill/stats/calibrate"
)

// standingSets is the full number of leagues whose pitchers are placed among each
// other, by design.
const standingSets = 150

// standingDesign is a small league of one pitch type in one matchup whose whiffs
// change with velocity. Pitchers differ in velocity (SD 2 mph, .8 within), in skill
// (logit SD .25) and in work, batters in skill (logit SD .2); none of these go
// together.
type standingDesign struct {
	name     string
	pitchers int
	logit    func(above float64) float64 // of a whiff, by mph above the middle
}

func (d standingDesign) String() string { return d.name }

func rises(above float64) float64       { return -1.3 + .15*above }
func bestBetween(above float64) float64 { return -.9 - .07*above*above }

var standingDesigns = []standingDesign{
	{"rising, 40 pitchers", 40, rises}, {"rising, 120 pitchers", 120, rises},
	{"best in the middle, 60 pitchers", 60, bestBetween}, {"best in the middle, 180 pitchers", 180, bestBetween},
}

const (
	standingMiddle  = 93.
	standingSkill   = .25
	standingBatter  = .2
	standingBatters = 200
)

// rate is the true whiff rate of a velocity over all pitchers and batters.
func (d standingDesign) rate(x float64) float64 {
	sd, logit := math.Hypot(standingSkill, standingBatter), d.logit(x-standingMiddle)
	return overNormal(.2, func(z float64) float64 { return logistic(logit + float64(sd*z)) })
}

// pitches throws one league's swings.
func (d standingDesign) pitches(seed uint64) []pitch.Pitch {
	rng := rand.New(rand.NewPCG(seed, 54))
	skill := skills(rng, standingBatters, standingBatter)
	var out []pitch.Pitch
	for p := range d.pitchers {
		speed, own := standingMiddle+2*rng.NormFloat64(), standingSkill*rng.NormFloat64()
		for range work(rng, 120, .9, 10, 750) {
			t := swing(p, rng.IntN(standingBatters))
			x := speed + .8*rng.NormFloat64()
			t.Num[pitch.Velocity] = x
			if rng.Float64() < logistic(d.logit(x-standingMiddle)+own+skill[t.Batter]) {
				t.Outcome = pitch.SwingingStrike
			}
			out = append(out, t)
		}
	}
	return out
}

// graded publishes a league and grades its pitchers by what is published.
func (d standingDesign) graded(ctx context.Context, list []pitch.Pitch, seed uint64) (*grade.Report, error) {
	names := numbers(d.pitchers, standingBatters)
	counts, err := counted(names, list)
	if err != nil {
		return nil, err
	}
	tables, err := publish(ctx, counts, seed)
	if err != nil {
		return nil, err
	}
	vars, err := shape.Only(shape.Variables, []string{"velocity"})
	if err != nil {
		return nil, err
	}
	var y *grade.Yardstick
	err = opened(ctx, tables, vars, func(t *thresholds.Table) error {
		y, err = grade.NewYardstick(t)
		return err
	})
	if err != nil {
		return nil, err
	}
	reader, _ := y.Read(vars, 1)
	if err := reader.Add(0, list); err != nil {
		return nil, err
	}
	p, err := reader.Population("league", names.Pitchers, outcome.Scoring{Weights: outcome.TheBook()})
	if err != nil {
		return nil, err
	}
	return grade.Grade(y, p, p), nil
}

// opened publishes tables in a folder that lasts as long as use.
func opened(ctx context.Context, tables *thresholds.Tables, vars []shape.Variable, use func(*thresholds.Table) error) error {
	dir, err := os.MkdirTemp("", "standings")
	if err != nil {
		return err
	}
	defer func() {
		_ = filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error { // published folders are read-only
			if err == nil && e.IsDir() {
				err = os.Chmod(p, 0o755)
			}
			return err
		})
		_ = os.RemoveAll(dir)
	}()
	var variables []thresholds.Variable
	for _, v := range vars {
		variables = append(variables, thresholds.Variable{Name: v.Name, Title: v.Title, Unit: v.Unit, Width: v.Width, Definition: v.Definition})
	}
	tables.Round()
	at := filepath.Join(dir, "league")
	options := store.Options{Dir: at, Created: time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)}
	version := store.Version{Tool: thresholds.Tool{Version: "study"}, Algorithm: "1", Variables: variables, Tables: tables, Quality: struct{}{}}
	if _, err := store.Commit(ctx, options, version); err != nil {
		return err
	}
	t, err := thresholds.Open(at)
	if err != nil {
		return err
	}
	return use(t)
}

// The measures of standings.
const (
	standingTold = "standing told, of pitchers with enough pitches"
	inSDHeld     = "advantage in standard deviations held"
	placeHeld    = "percentile of the advantage held"
	inSDMissed   = "advantage in standard deviations, root mean square error"
	placeMissed  = "percentile of the advantage, root mean square error"
)

// standings places the pitchers of leagues whose true curves are known.
var standings = study(standingSeeds, standingSets, standingDesigns)

func (d standingDesign) judge(ctx context.Context, _ int, seed uint64, s calibrate.Scores) error {
	list := d.pitches(seed)
	r, err := d.graded(ctx, list, seed)
	if err != nil {
		return err
	}
	// What the true curve gives each pitcher at his own pitches; the line is the same
	// for all.
	sum, n := make([]float64, d.pitchers), make([]float64, d.pitchers)
	for i := range list {
		sum[list[i].Pitcher] += d.rate(list[i].Num[pitch.Velocity])
		n[list[i].Pitcher]++
	}
	gain := map[string]float64{}
	var like []float64
	for i := range r.Qualities {
		if q := &r.Qualities[i]; q.Outcome == outcome.Metrics[outcome.Whiff].Name && q.Advantage != nil {
			p := 0
			if _, err := fmt.Sscanf(q.Pitcher, "p%d", &p); err != nil {
				return err
			}
			gain[q.Pitcher] = sum[p] / n[p]
			like = append(like, gain[q.Pitcher])
		}
	}
	slices.Sort(like)
	mean, sd := stat.MeanStdDev(like, nil)
	for i := range r.Qualities {
		q := &r.Qualities[i]
		if q.Outcome != outcome.Metrics[outcome.Whiff].Name || q.Advantage == nil {
			continue
		}
		if s.Hit(standingTold, q.InSD != nil); q.InSD == nil {
			continue
		}
		at, _ := slices.BinarySearch(like, gain[q.Pitcher])
		inSD, place := (gain[q.Pitcher]-mean)/sd, 100*(float64(at)+.5)/float64(len(like))
		s.Hit(inSDHeld, held(q.InSDLo, q.InSDHi, inSD))
		s.Hit(placeHeld, held(q.PlaceLo, q.PlaceHi, place))
		s.Value(inSDMissed, (*q.InSD-inSD)*(*q.InSD-inSD))
		s.Value(placeMissed, (*q.Place-place)*(*q.Place-place))
	}
	return nil
}

// tell averages coverage over leagues, whose pitchers share a curve, so that its error
// is that of leagues. Limits are those of the advantage by itself, at its widest, and
// so hold more than they say.
func (d standingDesign) tell(t *calibrate.Sheet) {
	t.Share(standingTold, calibrate.NoBar, "")
	t.Rates(inSDHeld, calibrate.AtLeast(.95), "")
	t.Rates(placeHeld, calibrate.AtLeast(.95), "")
	t.Root(inSDMissed, calibrate.AtMost(.25), "")
	t.Root(placeMissed, calibrate.AtMost(10), "")
}
