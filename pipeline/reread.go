package pipeline

import (
	"context"

	"sill/pipeline/ingest"
	"sill/pipeline/pitch"
	"sill/pipeline/shape"
	"sill/pipeline/tally"
)

// Reading is a season that is open for questions which need its pitches again:
// rows are checked and read as Run does, and nothing is published.
type Reading struct {
	Options   Options // those of the run, handed down to the stages
	season    *ingest.Season
	resolver  *shape.Resolver
	variables []shape.Variable
	say       teller
}

// Reread opens the inputs with every variable that they can tell.
func Reread(ctx context.Context, o Options) (*Reading, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	o.Variables = nil
	o = o.shared()
	r := &Reading{Options: o, say: teller{o.Log, o.Progress}}
	var err error
	r.season, r.resolver, r.variables, _, err = open(ctx, o, r.say)
	return r, err
}

// Names returns the name lists that the pitches index.
func (r *Reading) Names() tally.Names {
	n := r.season.Names
	return tally.Names{Pitchers: n.Pitchers, Batters: n.Batters, Games: n.Games}
}

// Variables returns the variables that the source can tell, at the run's widths.
func (r *Reading) Variables() []shape.Variable { return r.variables }

// Workers returns how many goroutines read at once.
func (r *Reading) Workers() int { return r.Options.Workers }

// Each reads the pitches once.
func (r *Reading) Each(ctx context.Context, sink func(worker int, batch []pitch.Pitch) error) error {
	r.say.stage("read", "rows", r.season.Rows())
	qualities := make([]shape.Quality, r.Workers())
	_, err := r.season.Deliver(ctx, func(worker int, p *pitch.Pitch) string { return r.resolver.Complete(p, &qualities[worker]) }, pitch.CounterFunc(sink))
	return err
}

// Recount reads the inputs once and counts by the variables that derive makes of
// those the source can tell. Rows are checked and read as Run does; nothing is
// published.
func Recount(ctx context.Context, o Options, derive func([]shape.Variable) []shape.Variable) (*tally.Tally, error) {
	r, err := Reread(ctx, o)
	if err != nil {
		return nil, err
	}
	return tally.Count(ctx, r, derive(r.Variables()))
}
