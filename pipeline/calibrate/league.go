// Package calibrate plays many seasons of invented leagues, puts each through
// the whole line from pitches to published rows, and holds the rows against what
// is true of the league. Its studies are of the kind that package
// stats/calibrate runs and reports.
//
// It knows the stages and the demo leagues. It does not judge single estimators,
// which is the business of stats/calibrate.
package calibrate

import (
	"context"

	"sill/pipeline/demo"
	"sill/pipeline/estimate"
	"sill/pipeline/locate"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
	"sill/pipeline/thresholds"
)

// count plays the first season of a scenario and counts it, as a run over its
// files would. variables may be nil for all. alter, where not nil, may change
// each pitch; they come in the order in which they are thrown.
func count(ctx context.Context, s demo.Scenario, seed uint64, variables []string, alter func(*pitch.Pitch)) (*tally.Tally, error) {
	source := shape.DefaultSource()
	source.SpeedAt, source.MovementFrom, source.MovementTo = shape.AtRelease, shape.AtRelease, shape.AtPlateFront
	resolver, err := shape.NewResolver(func(string) bool { return true }, source) // the files have every column
	if err != nil {
		return nil, err
	}
	wanted := shape.Variables
	if variables != nil {
		if wanted, err = shape.Only(wanted, variables); err != nil {
			return nil, err
		}
	}
	observer := demo.NewObserver(&s, 0)
	names := tally.Names{Pitchers: observer.Pitchers, Batters: observer.Batters, Games: observer.Games}
	builder, err := tally.NewBuilder(resolver.Variables(wanted), nil, names, 1)
	if err != nil {
		return nil, err
	}
	options := demo.DefaultOptions()
	options.Seed = seed
	var batch []pitch.Pitch
	var quality shape.Quality
	err = demo.Play(ctx, s, options, func(rows []demo.Thrown) error {
		batch = batch[:0]
		var p pitch.Pitch
		for i := range rows {
			if !observer.Observe(&rows[i], &p) || resolver.Complete(&p, &quality) != "" {
				continue
			}
			if alter != nil {
				alter(&p)
			}
			batch = append(batch, p)
		}
		return builder.Add(0, batch)
	})
	if err != nil {
		return nil, err
	}
	return builder.Tally()
}

// settings are how the studies estimate and locate: as published, but for fewer
// replicates and flips, and one worker since leagues run side by side.
func settings(seed uint64) (estimate.Options, locate.Options) {
	e, l := estimate.DefaultOptions(), locate.DefaultOptions()
	e.Seed, e.Replicates = seed, 500
	l.Flips, l.MaxFlips, l.Contrasts, l.Workers = 999, 9999, false, 1
	return e, l
}

// publish turns counts into the rows of a table.
func publish(ctx context.Context, t *tally.Tally, seed uint64) (*thresholds.Tables, error) {
	e, l := settings(seed)
	est, err := estimate.New(ctx, t, e)
	if err != nil {
		return nil, err
	}
	return locate.Locate(ctx, est, l)
}
